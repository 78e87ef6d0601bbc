package bot

import (
	"slices"
	"strings"

	"footing/rehab"
)

// Place is where something is said.
type Place string

// The rooms of a team. A direct message is "@" and the author's key; an answer only its reader sees is
// "~" and that key; any other channel is "#" and the chat side's id of it.
const (
	MedicalRoom Place = "medical"
	StaffRoom   Place = "staff"
)

// DirectTo is the place of someone's direct messages.
func DirectTo(author string) Place { return Place("@" + author) }

// OnlyTo is the place of an answer that only its reader sees.
func OnlyTo(author string) Place { return Place("~" + author) }

// InChannel is the place of a channel that is none of the team's rooms: anyone may read there.
func InChannel(id string) Place { return Place(channelMark + id) }

const channelMark = "#"

// Direct gives the account whose direct messages a place is.
func (p Place) Direct() (account string, ok bool) { return strings.CutPrefix(string(p), "@") }

// Alone gives the account that alone sees what is said at a place.
func (p Place) Alone() (account string, ok bool) { return strings.CutPrefix(string(p), "~") }

// place is where an event happened, found by its channel when the front did not say. In a medical room
// that others can read an answer that can be for one reader alone is.
func (in Inbound) place(t rehab.Team) Place {
	switch {
	case in.Place != "":
		return in.Place
	case in.Channel != "" && in.Channel == t.Rooms.Medical && (in.Answer == "" || t.RoomFault == ""):
		return MedicalRoom
	case in.Channel != "" && in.Channel == t.Rooms.Staff:
		return StaffRoom
	case in.Answer != "":
		return OnlyTo(in.Author)
	}
	return InChannel(in.Channel)
}

// channel is the chat side's channel of a place, "" where the front finds it: direct messages.
func channel(p Place, rooms rehab.Rooms) string {
	switch p {
	case MedicalRoom:
		return rooms.Medical
	case StaffRoom:
		return rooms.Staff
	}
	id, _ := strings.CutPrefix(string(p), "#")
	if id == string(p) {
		return ""
	}
	return id
}

// openChannel is the chat side's id of the channel an event came from where that is none of the team's
// rooms and no direct message; "" otherwise.
func (w *work) openChannel() string {
	id := w.in.Channel
	if id == "" {
		id = channel(w.in.Place, w.team.Rooms)
	}
	_, direct := w.in.Place.Direct()
	if direct || w.given.Team == "" || id == w.team.Rooms.Medical || id == w.team.Rooms.Staff {
		return ""
	}
	return id
}

// guarded is what may be said in a place: in a medical room that others can read, no detail.
func guarded(p Place, t rehab.Team, kind string, m body) body {
	if p == MedicalRoom && t.RoomFault != "" {
		m.Text, m.Buttons, m.Shows = noDetail(kind, t.RoomFault), nil, ""
	}
	return m
}

// Guarded is a message to the medical room as it may be said there when a front finds, as it sends, that
// others can read the room; fault says who.
func Guarded(m Message, fault string) Message {
	m.Text, m.Buttons, m.Shows = noDetail(m.Kind, fault), nil, ""
	return m
}

func noDetail(kind, fault string) string {
	says := "What you sent was dealt with. "
	if kind != "reply" {
		says = "Something waits for medical staff. "
	}
	return says + "No detail here: " + fault + " Until that is mended use slash commands, whose answers only you see."
}

// roles are what a person is to the team, read for this event: by the chat side's roles as chosen at
// set-up, the server's owners and managers, and the athlete they are linked with.
func (in Inbound) roles(rooms rehab.Rooms) []rehab.Role {
	out := slices.Clone(in.Roles)
	has := func(list []string) bool {
		return slices.ContainsFunc(list, func(id string) bool { return slices.Contains(in.ChatRoles, id) })
	}
	if has(rooms.MedicalRoles) {
		out = append(out, rehab.Medical)
	}
	if has(rooms.CoachRoles) {
		out = append(out, rehab.Coach)
	}
	if in.Manager || in.Owns {
		out = append(out, rehab.Owner)
	}
	return out
}

// own reports whether only whoever wrote reads the answer.
func (w *work) own(p Place) bool {
	return p == DirectTo(w.in.Author) || p == OnlyTo(w.in.Author)
}

// medicalEyes reports whether only medical staff read what is said at a place. A clinician's direct
// messages are no medical room: there they are an athlete like any other.
func (w *work) medicalEyes(p Place) bool {
	return p == MedicalRoom || p == OnlyTo(w.in.Author) && rehab.May(w.actor.Roles, rehab.ReadMedical)
}
