package bot

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"footing/commands"
	"footing/rehab"
)

// narrow leaves only their own name to whoever may not know the squad.
func (w *work) narrow() bool {
	if rehab.May(w.actor.Roles, rehab.ReadMedical) || rehab.May(w.actor.Roles, rehab.ReadAvailability) || rehab.May(w.actor.Roles, rehab.ManageRoster) {
		return false
	}
	w.lang.SetRoster(slices.DeleteFunc(slices.Clone(w.lang.Roster), func(a rehab.Athlete) bool { return a.ID != w.actor.Athlete }))
	return true
}

// alarmed reports whether an athlete's own line that was not understood names an alarm: then it is not
// sent back for its spelling but told to medical staff.
func (w *work) alarmed(l line) bool {
	return w.own(l.place) && w.actor.Athlete != 0 && commands.RedFlag(l.text, w.lang) != ""
}

// helps answers an athlete who calls for help where others read by direct message: the word gets through
// all the same.
func (w *work) helps(l *line) {
	if _, open := strings.CutPrefix(string(l.place), channelMark); !open || w.actor.Athlete == 0 || rehab.May(w.actor.Roles, rehab.ReadMedical) {
		return
	}
	if w.b.registry.Command(l.text) == commands.Wrong || commands.RedFlag(l.text, w.lang) != "" {
		l.place = DirectTo(w.in.Author)
	}
}

// unready refuses all but setting up, and help, while the team is not set up.
func (w *work) unready(call *commands.Call) error {
	if w.team.Ready || call != nil && slices.Contains([]*commands.Command{commands.SetUp, commands.Help}, call.Command) && rehab.May(w.actor.Roles, rehab.ManageTeam) {
		return nil
	}
	return &commands.Refusal{Says: saidUnready}
}

// agreed refuses what athletes send of themselves until all who must have agreed to it. Who may use a
// command as staff needs nobody's consent.
func (w *work) agreed(ctx context.Context, c *commands.Command, place Place) error {
	if c.BeforeConsent || w.actor.Athlete == 0 || !w.own(place) || w.medicalEyes(place) {
		return nil
	}
	staff := slices.DeleteFunc(slices.Clone(w.actor.Roles), func(r rehab.Role) bool { return r == rehab.AthleteRole })
	if c.Privacy != commands.OwnOnly && rehab.May(staff, c.Needs) {
		return nil
	}
	a, err := w.tx.Athlete(ctx, w.actor.Athlete)
	if err != nil {
		return err
	}
	entries, err := w.tx.Entries(ctx, a.ID)
	if err != nil {
		return err
	}
	return commands.NotAgreed(rehab.Fold(a, entries), w.team, w.in.Sent.In(w.zone))
}

// self is the athlete who writes about themselves in their own messages; staff write about anyone.
func (w *work) self(l line) rehab.Athlete {
	for _, a := range w.lang.Roster {
		if a.ID == w.actor.Athlete && w.own(l.place) && !rehab.May(w.actor.Roles, rehab.ReadMedical) {
			return a
		}
	}
	return rehab.Athlete{}
}

// may refuses what the writer's roles do not carry, and medical detail outside the medical room.
func (w *work) may(c *commands.Command, place Place) error {
	if !rehab.May(w.actor.Roles, c.Needs) {
		return &commands.Refusal{Says: fmt.Sprintf("You may not use %s here: it is for %s. Type help for what you can do.", c.Name, whoMay(c.Needs))}
	}
	ok := w.medicalEyes(place) || c.Privacy == commands.Anyone
	switch c.Privacy {
	case commands.Staff:
		ok = ok || place == StaffRoom || place == OnlyTo(w.in.Author)
	case commands.OwnOnly:
		ok = ok || w.own(place) && w.actor.Athlete != 0
	}
	switch {
	case ok:
		return nil
	case c.Privacy == commands.Staff:
		return &commands.Refusal{Says: c.Name + " is for the staff channel: use it there."}
	}
	if c.Privacy == commands.OwnOnly && !rehab.May(w.actor.Roles, rehab.ReadMedical) {
		return &commands.Refusal{Says: c.Name + " is between you and the medical staff: send it to me as a direct message."}
	}
	return &commands.Refusal{Says: c.Name + " holds medical detail: use it in the medical channel."}
}

func whoMay(c rehab.Capability) string {
	var names []string
	for _, r := range rehab.Roles {
		if rehab.May([]rehab.Role{r}, c) {
			names = append(names, string(r))
		}
	}
	return strings.Join(names, " or ")
}

// subject is the athlete a call is about; an athlete may only speak for themselves, and coaches ask
// only for availability.
func (w *work) subject(call *commands.Call) (rehab.Athlete, error) {
	a := call.Subject()
	if a.ID == 0 && call.Command.Self {
		for _, own := range w.lang.Roster {
			if own.ID == w.actor.Athlete {
				a = own
				call.SetSubject(a)
			}
		}
		if a.ID == 0 {
			return a, &commands.Refusal{Says: "Who? Start with a shirt or a name: " + call.Command.Examples[0]}
		}
	}
	whole := w.medicalEyes(w.in.Place) && rehab.May(w.actor.Roles, rehab.ReadMedical) || call.Command.Privacy == commands.MedicalOnly || call.Command.Needs == rehab.ManageRoster || call.Command.Needs == rehab.ReadAvailability
	if a.ID != 0 && a.ID != w.actor.Athlete && !whole {
		return rehab.Athlete{}, &commands.Refusal{Says: "You can only answer for yourself: leave the number out."}
	}
	return a, nil
}
