package bot

import (
	"slices"

	"footing/commands"
	"footing/rehab"
)

// Taking a record away needs the same right as making it: an edit, an undo or a line taken out is judged
// by the roles its author has now, entry by entry.
const (
	saidNotYours   = "Only medical staff can take that record back. It stands."
	saidAlarm      = "Medical staff were told of that answer; only they can take it back. If it was a slip, tell them."
	saidSet        = "Settings are not taken back: set them again with setup. They stand."
	saidDecided    = "An edit does not change a decision or the end of a hold: it only mends the reason. Undo it, or decide anew. It stands."
	saidNoUndo     = "Accounts and consent are not taken back with the message: type link, unlink, consent, withdraw or guardian. It stands."
	saidOthersOnIt = "Other records rest on that sprain: take those back first, or correct the sprain by editing its line. It stands."
)

// mayTake says why some records may not be taken back by whoever writes, nil when they may.
func (w *work) mayTake(entries []rehab.Entry) error {
	for _, e := range entries {
		needs := rehab.LogMedical
		switch b := e.Body.(type) {
		case rehab.Joined, rehab.Changed, rehab.Departed:
			needs = rehab.ManageRoster
		case rehab.Linked, rehab.Consented:
			return &commands.Refusal{Says: saidNoUndo}
		case rehab.Configured:
			return &commands.Refusal{Says: saidSet}
		case rehab.Scheduled, rehab.Moved, rehab.Cancelled, rehab.Imported:
			needs = rehab.ManageCalendar
		case rehab.Attended:
			needs = rehab.LogAttendance
		case rehab.Preferred:
			needs = rehab.ManageRoster
			if e.Athlete == w.actor.Athlete {
				needs = rehab.ReportSelf
			}
		case rehab.Responded:
			if e.Author == w.actor.ID && e.Athlete == w.actor.Athlete {
				needs = rehab.ReportSelf
				if len(b.Alarms) > 0 && !rehab.May(w.actor.Roles, rehab.LogMedical) {
					return &commands.Refusal{Says: saidAlarm}
				}
			}
		case rehab.Trained, rehab.Tested, rehab.Planned, rehab.Worked:
			if e.Author == w.actor.ID && e.Athlete == w.actor.Athlete {
				needs = rehab.ReportSelf
			}
		}
		if !rehab.May(w.actor.Roles, needs) {
			return &commands.Refusal{Says: saidNotYours}
		}
	}
	return nil
}

// mayRestate says why an edited line's old records may not give way to its new ones. A decision and
// the end of a hold rest on what was seen at the time, and others' records may rest on a sprain.
func (w *work) mayRestate(old, now []rehab.Entry, others []rehab.Entry) error {
	if err := w.mayTake(old); err != nil {
		return err
	}
	for _, o := range old {
		again := slices.ContainsFunc(now, func(n rehab.Entry) bool {
			return n.Athlete == o.Athlete && n.Episode == o.Episode && n.Body.Kind() == o.Body.Kind()
		})
		switch b := o.Body.(type) {
		case rehab.Decided, rehab.Lifted:
			if !again {
				return &commands.Refusal{Says: saidDecided}
			}
		case rehab.Sprained:
			if !again && !b.Again && restsOn(o, others) {
				return &commands.Refusal{Says: saidOthersOnIt}
			}
		}
	}
	return nil
}

// restsOn reports whether records of other lines belong to the episode a sprain opened.
func restsOn(sprain rehab.Entry, all []rehab.Entry) bool {
	return slices.ContainsFunc(all, func(e rehab.Entry) bool {
		return e.Episode == sprain.Episode && e.Athlete == sprain.Athlete && e.Body.Kind() != rehab.KindPlanned && (e.Source != sprain.Source || e.Line != sprain.Line)
	})
}
