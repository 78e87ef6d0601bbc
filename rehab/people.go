package rehab

import (
	"slices"
	"strconv"
	"time"
)

// Team is one chat server.
type Team struct {
	ID       int64
	Key      string // the chat side's id for it
	Name     string
	Zone     string // IANA name
	ReportAt string // local wall time of the morning report, "07:30"
	Protocol string // hash of the protocol new episodes get
	// StrictMinors turns every screen of an under-18 into "image or examine again".
	StrictMinors bool
	Created      time.Time

	Sport      string // one of Sports, or empty
	Rooms      Rooms
	SetUpBy    string    // the chat side's key of whoever set it up
	Ready      bool      // it was set up
	Gone       time.Time // the bot was removed from the server; zero while it is there
	ReportFrom time.Time // since when report time and zone are as they stand: no earlier report is due
	RoomFault  string    // why the medical channel is not private, in words for its readers; empty when it is
}

// Rooms are a team's channels and the chat side's roles that stand for staff, by its ids.
type Rooms struct {
	MedicalRoles []string
	CoachRoles   []string
	Medical      string // channel
	Staff        string // channel
}

// Athlete is a member of the squad, or the row that stands for the squad as a whole: shirt 0.
type Athlete struct {
	ID       int64   `json:"-"`
	Shirt    int     `json:"shirt,omitempty"` // 1–999, unique in the team while active; 0 for the squad
	Name     string  `json:"name,omitempty"`
	Nick     string  `json:"nick,omitempty"`
	Position string  `json:"position,omitempty"`
	Sex      string  `json:"sex,omitempty"`  // "female", "male" or empty when not given
	Born     string  `json:"born,omitempty"` // "2001-04-30", "2001", or empty when not given
	Leg      float64 `json:"leg,omitempty"`  // leg length in cm, 0 when not measured
	Active   bool    `json:"-"`
}

// Label is how an athlete is named in a message: shirt, then name.
func (a Athlete) Label() string {
	if a.Shirt == 0 {
		return "the squad"
	}
	return strconv.Itoa(a.Shirt) + " " + a.Name
}

// rowFields are the parts of the roster's row that can be changed, in the order they are said.
var rowFields = []struct {
	name string
	same func(a, b Athlete) bool
	copy func(to *Athlete, from Athlete)
}{
	{"shirt", func(a, b Athlete) bool { return a.Shirt == b.Shirt }, func(to *Athlete, from Athlete) { to.Shirt = from.Shirt }},
	{"name", func(a, b Athlete) bool { return a.Name == b.Name }, func(to *Athlete, from Athlete) { to.Name = from.Name }},
	{"nick", func(a, b Athlete) bool { return a.Nick == b.Nick }, func(to *Athlete, from Athlete) { to.Nick = from.Nick }},
	{"position", func(a, b Athlete) bool { return a.Position == b.Position }, func(to *Athlete, from Athlete) { to.Position = from.Position }},
	{"sex", func(a, b Athlete) bool { return a.Sex == b.Sex }, func(to *Athlete, from Athlete) { to.Sex = from.Sex }},
	{"born", func(a, b Athlete) bool { return a.Born == b.Born }, func(to *Athlete, from Athlete) { to.Born = from.Born }},
	{"leg", func(a, b Athlete) bool { return a.Leg == b.Leg }, func(to *Athlete, from Athlete) { to.Leg = from.Leg }},
}

// Differs names the fields of the roster's row in which two athletes differ.
func (a Athlete) Differs(b Athlete) []string {
	var out []string
	for _, f := range rowFields {
		if !f.same(a, b) {
			out = append(out, f.name)
		}
	}
	return out
}

// With is the athlete with the named fields as another has them.
func (a Athlete) With(fields []string, from Athlete) Athlete {
	for _, f := range rowFields {
		if slices.Contains(fields, f.name) {
			f.copy(&a, from)
		}
	}
	return a
}

// AgeOn gives the youngest age in whole years the athlete can have on a day, and whether anything
// is known at all. With only a birth year the birthday is taken as not yet reached, so that a rule
// for minors errs towards caution.
func (a Athlete) AgeOn(day time.Time) (years int, known bool) {
	if born, err := time.Parse(time.DateOnly, a.Born); err == nil {
		years = day.Year() - born.Year()
		if day.Month() < born.Month() || day.Month() == born.Month() && day.Day() < born.Day() {
			years--
		}
		return years, true
	}
	if year, err := strconv.Atoi(a.Born); err == nil {
		return day.Year() - year - 1, true
	}
	return 0, false
}

// Role is what a person is to a team. The zero value is nobody.
type Role string

// The roles. Medical and coach are chosen when the team is set up; an athlete is a linked account.
const (
	Medical     Role = "medical"
	Coach       Role = "coach"
	AthleteRole Role = "athlete"
	Owner       Role = "owner"
)

// Roles lists every role, in the order the permission matrix prints them.
var Roles = []Role{Medical, Coach, AthleteRole, Owner}

// Capability is one thing a person may be allowed to do. The zero value is refused at start-up, so
// that a command without one cannot exist.
type Capability string

// The capabilities.
const (
	LogMedical       Capability = "log-medical"       // record clinical facts
	ReadMedical      Capability = "read-medical"      // see clinical facts
	Decide           Capability = "decide"            // move an athlete between stages, lift a hold
	ReportSelf       Capability = "report-self"       // an athlete's own answers
	ReadAvailability Capability = "read-availability" // who can do what, no medical detail
	ReadRoster       Capability = "read-roster"       // who is in the squad
	ManageRoster     Capability = "manage-roster"     // add and change athletes
	ReadCalendar     Capability = "read-calendar"     // when the team trains and plays
	ManageCalendar   Capability = "manage-calendar"   // put sessions into the calendar, move and cancel them
	LogAttendance    Capability = "log-attendance"    // who took part in a session, and how long
	TakeBack         Capability = "take-back"         // undo what one recorded oneself, as far as one may still record it
	ManageTeam       Capability = "manage-team"       // roles, channels, zone and report time
	Ask              Capability = "ask"               // help
	Claim            Capability = "claim"             // say which athlete one is; open to everybody on the team's server, for nothing follows until medical staff confirm it
)

var allowed = map[Role][]Capability{
	Medical:     {LogMedical, ReadMedical, Decide, ReportSelf, TakeBack, ReadAvailability, ReadRoster, ManageRoster, ReadCalendar, ManageCalendar, LogAttendance, Ask},
	Coach:       {TakeBack, ReadAvailability, ReadRoster, ReadCalendar, ManageCalendar, LogAttendance, Ask},
	AthleteRole: {ReportSelf, TakeBack, ReadCalendar, Ask},
	Owner:       {TakeBack, ReadRoster, ManageRoster, ReadCalendar, ManageCalendar, ManageTeam, Ask},
}

// forAll is what nobody needs a role for.
var forAll = []Capability{Claim}

// Capabilities lists every capability, in the order declared above.
func Capabilities() []Capability {
	return []Capability{LogMedical, ReadMedical, Decide, ReportSelf, ReadAvailability, ReadRoster, ManageRoster, ReadCalendar, ManageCalendar, LogAttendance, TakeBack, ManageTeam, Ask, Claim}
}

// May tells whether any of the roles carries the capability. What is not listed is refused.
func May(roles []Role, c Capability) bool {
	return slices.Contains(forAll, c) || slices.ContainsFunc(roles, func(r Role) bool { return slices.Contains(allowed[r], c) })
}

// Member is the person who sent a message, as the team knows them.
type Member struct {
	ID      int64
	Key     string // the chat side's id
	Name    string // what they are called in the chat, as last seen; may be empty
	Roles   []Role // as read with this message
	Athlete int64  // the linked athlete's id, 0 when none
	Closed  bool   // the account refuses direct messages
}
