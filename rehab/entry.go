package rehab

import "time"

// Kind names what an entry records.
type Kind string

// The kinds of entry.
const (
	KindJoined    Kind = "joined"
	KindSprained  Kind = "sprained"
	KindScreened  Kind = "screened"
	KindLifted    Kind = "hold-lifted"
	KindTested    Kind = "tested"
	KindResponded Kind = "responded"
	KindDecided   Kind = "decided"
	KindNoted     Kind = "noted"

	KindChanged    Kind = "changed"
	KindDeparted   Kind = "departed"
	KindPast       Kind = "past"
	KindRestricted Kind = "restricted"
	KindSupported  Kind = "supported"
	KindPlayedOn   Kind = "played-on"
	KindTrained    Kind = "trained"
	KindPlanned    Kind = "planned"
	KindWorked     Kind = "worked"
	KindAdopted    Kind = "adopted"

	KindScheduled  Kind = "scheduled"
	KindMoved      Kind = "moved"
	KindCancelled  Kind = "cancelled"
	KindImported   Kind = "imported"
	KindAttended   Kind = "attended"
	KindConfigured Kind = "configured"

	KindLinked    Kind = "linked"
	KindConsented Kind = "consented"
	KindPreferred Kind = "preferred"
)

// Entry is one recorded fact about one athlete, or about the squad as a whole. Entries are appended and never changed: an edit
// supersedes them, an undo voids them, and only the live ones reach Fold.
type Entry struct {
	Seq     int64 // the athlete's own sequence, from 1 without gaps
	First   int64 // the seq this fact first had, when an edited message restated it; 0 otherwise
	Athlete int64
	Episode int       // the athlete's own count of ankles treated, from 1; 0 outside an episode
	At      time.Time // when it happened: orders the fold
	Logged  time.Time // when it was logged: governs holds and audit
	Author  int64     // member id, 0 for the bot itself
	Source  string    // the message it came from
	Line    int       // which line of that message, from 0
	Body    Body
}

// Original is the seq at which the fact was first told, before any edit.
func (e Entry) Original() int64 {
	if e.First != 0 {
		return e.First
	}
	return e.Seq
}

// Body is what an entry says. Each kind has one type.
type Body interface{ Kind() Kind }

// Joined records that an athlete came onto the roster; the roster itself is a table.
type Joined struct {
	Shirt int `json:"shirt"`
}

// Sprained opens an episode, or marks a new sprain of an ankle already under treatment.
type Sprained struct {
	Side      Side   `json:"side"`
	Mechanism string `json:"mechanism,omitempty"`
	Contact   string `json:"contact,omitempty"`
	Setting   string `json:"setting,omitempty"`
	Grade     int    `json:"grade,omitempty"` // 1–3, 0 when not given
	Again     bool   `json:"again,omitempty"` // a new sprain inside an open episode
	Protocol  string `json:"protocol"`        // hash of the protocol the episode follows
}

// Answer is one finding looked for: there, or not there.
type Answer struct {
	Finding string `json:"finding"`
	Yes     bool   `json:"yes"`
}

// Screened records findings. Silence about a finding is not an answer.
type Screened struct {
	Answers []Answer `json:"answers"`
}

// Lifted records that a clinician ended a hold, and what was holding at that moment.
type Lifted struct {
	Course string   `json:"course"`
	Reason string   `json:"reason"`
	Rules  []string `json:"rules"` // keys of the screen rules that were holding
}

// Trial is one attempt at a test. A failed trial is kept and never counts as a value.
type Trial struct {
	Value  float64 `json:"value"`
	Failed bool    `json:"failed,omitempty"`
	Capped bool    `json:"capped,omitempty"` // the test was stopped at its cap
}

// Tested records one test of one side, or of the athlete where the test has no sides.
type Tested struct {
	Test   string  `json:"test"`
	Side   Side    `json:"side,omitempty"`
	Trials []Trial `json:"trials,omitempty"`
	Choice string  `json:"choice,omitempty"` // for tests answered in words
	Absent string  `json:"absent,omitempty"` // "not-done" or "not-comparable"
	Reason string  `json:"reason,omitempty"` // why it is absent
	Pain   *int    `json:"pain,omitempty"`   // while doing it, 0–10, for tests that ask
	Masked bool    `json:"masked,omitempty"` // an analgesic was taken in the last 24 h
}

// Responded is how the ankle answered, asked the morning after.
type Responded struct {
	Pain     int      `json:"pain"`               // first ten steps, 0–10
	Swelling string   `json:"swelling,omitempty"` // less, same or more; empty when not asked
	Limp     bool     `json:"limp,omitempty"`
	Alarms   []string `json:"alarms,omitempty"` // keys of the protocol's alarms
	ByStaff  bool     `json:"by_staff,omitempty"`
}

// Action is what a clinician decided.
type Action string

// The decisions.
const (
	Advance  Action = "advance"
	Stay     Action = "stay"
	StepBack Action = "step-back"
	Return   Action = "return"
)

// Decided is a clinician's decision about an episode's stage, with the evidence they saw.
type Decided struct {
	Action   Action `json:"action"`
	From     string `json:"from"`
	To       string `json:"to"`
	Reason   string `json:"reason,omitempty"`
	Evidence []Seen `json:"evidence,omitempty"`
	Protocol string `json:"protocol"` // hash of the protocol it was judged by
}

// Seen is one criterion as it stood when a decision was taken.
type Seen struct {
	Criterion string  `json:"criterion"`
	Status    Status  `json:"status"`
	Says      string  `json:"says"`
	Seqs      []int64 `json:"seqs,omitempty"` // the entries it rested on
}

// Noted is free text for medical eyes only.
type Noted struct {
	Text  string `json:"text"`
	Alert bool   `json:"alert,omitempty"` // the athlete said that something is wrong
	Seen  bool   `json:"seen,omitempty"`  // medical staff have seen them: it answers what they said before
}

// Changed records that the roster's row of an athlete was changed; the row itself is a table.
type Changed struct {
	Fields []string `json:"fields"` // which
	Was    Athlete  `json:"was"`    // those fields as they were before, so that it can be taken back; never shown
}

// Departed records that an athlete left the roster. The record stays.
type Departed struct{}

// Past is what an athlete brought with them, for one ankle or for both.
type Past struct {
	Side    Side   `json:"side,omitempty"`
	Sprains int    `json:"sprains,omitempty"` // in the last 12 months
	Surgery bool   `json:"surgery,omitempty"`
	Lax     bool   `json:"lax,omitempty"` // general joint laxity
	Text    string `json:"text,omitempty"`
}

// Nothing reports whether it says that there was nothing.
func (p Past) Nothing() bool { return p.Sprains == 0 && !p.Surgery && !p.Lax }

// Restricted limits what an athlete may do, for any cause. Coaches read the level, the limits and
// the dates, never the cause.
type Restricted struct {
	Level  Level    `json:"level"`            // Full ends what was said before
	Cannot []string `json:"cannot,omitempty"` // in coaching words
	Cause  string   `json:"cause,omitempty"`  // illness, injury, personal, …; medical eyes only
	Until  string   `json:"until,omitempty"`  // last local day it applies, "2026-03-06"
	Review string   `json:"review,omitempty"` // local day medical staff look at it again
}

// Supported states the support plan: brace, tape or none, for what, until when.
type Supported struct {
	Support string `json:"support"`
	For     string `json:"for,omitempty"`
	Until   string `json:"until,omitempty"` // local day
}

// PlayedOn records the checks that let an athlete play on at once after a sprain, or the check after
// the match.
type PlayedOn struct {
	After  bool     `json:"after,omitempty"` // the check after the match
	Passed []string `json:"passed"`
	Missed []string `json:"missed,omitempty"`
}

// Dose is one drill at one level.
type Dose struct {
	Drill string `json:"drill"`
	Level int    `json:"level"` // from 1
}

// Planned records a plan that was sent, or shown to staff: what a later "done" means.
type Planned struct {
	Day      string   `json:"day"`           // local day it is for
	Stage    string   `json:"stage"`         // in whose work it was chosen
	Side     Side     `json:"side"`          // of the ankle it is for
	Budget   int      `json:"budget"`        // minutes there were
	Kit      []string `json:"kit,omitempty"` // that there was
	Doses    []Dose   `json:"doses"`
	Minutes  int      `json:"minutes"`         // it takes
	Contacts int      `json:"contacts"`        // ground contacts in it
	Running  int      `json:"running"`         // minutes of running in it
	Shown    bool     `json:"shown,omitempty"` // to staff only: it takes the place of none that was sent, and nobody owes it
}

// Trained records how a drill session went.
type Trained struct {
	Did      string   `json:"did"`              // all, some or none
	Drills   []string `json:"drills,omitempty"` // that were named
	Doses    []Dose   `json:"doses,omitempty"`  // what was done: of the plan, or of the drills named
	Pain     *int     `json:"pain,omitempty"`   // worst during it, 0–10
	Why      string   `json:"why,omitempty"`
	Stage    string   `json:"stage,omitempty"`
	Side     Side     `json:"side,omitempty"`     // of the ankle it was for
	Minutes  int      `json:"minutes,omitempty"`  // it took by the plan
	Contacts int      `json:"contacts,omitempty"` // ground contacts in it
	Running  int      `json:"running,omitempty"`  // minutes of running in it
	Barred   bool     `json:"barred,omitempty"`   // none were to be done, as on a held ankle: it leads no level up
}

// Worked records how hard a session was: effort 0–10 over its minutes (session RPE).
type Worked struct {
	What    string `json:"what,omitempty"` // training, match, drills, gym or other
	Effort  int    `json:"effort"`         // rating of perceived exertion, 0–10
	Minutes int    `json:"minutes"`
}

// Adopted records that a clinician took an open episode over to another protocol.
type Adopted struct {
	Protocol string `json:"protocol"` // hash of the one it follows from then on
	Was      string `json:"was"`
}

// Scheduled puts training sessions or matches into the team's calendar: one, or all of a weekly series.
// One that stands at that time already gets these minutes.
type Scheduled struct {
	Session string      `json:"session"` // Training or Match
	Start   time.Time   `json:"start"`
	Minutes int         `json:"minutes"`
	More    []time.Time `json:"more,omitempty"` // starts of the others of a series
}

// Starts lists when the sessions start.
func (b Scheduled) Starts() []time.Time { return append([]time.Time{b.Start}, b.More...) }

// Moved gives a session of the team's calendar another time.
type Moved struct {
	Session string    `json:"session"` // Training or Match
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
}

// Cancelled takes sessions out of the team's calendar.
type Cancelled struct {
	Session string      `json:"session"` // Training or Match
	Start   time.Time   `json:"start"`
	More    []time.Time `json:"more,omitempty"` // starts of the others that are cancelled with it
}

// Starts lists when the cancelled sessions would have started.
func (b Cancelled) Starts() []time.Time { return append([]time.Time{b.Start}, b.More...) }

// Filed is a session as a calendar file has it. The file's id and the slot tell it from others, however
// it is moved (RFC 5545, 3.8.4.7 and 3.8.4.4).
type Filed struct {
	UID      string    `json:"uid"`
	Slot     time.Time `json:"slot,omitzero"` // when it would start by its series' rule; zero for an event of its own
	Session  string    `json:"session,omitempty"`
	Start    time.Time `json:"start,omitzero"`
	Minutes  int       `json:"minutes,omitempty"`
	Sequence int       `json:"sequence,omitempty"` // of the file's revision, from 0
}

// Imported is what a calendar file changed in the team's calendar.
type Imported struct {
	Sessions []Filed `json:"sessions,omitempty"` // new, or now other than an earlier file said
	Gone     []Filed `json:"gone,omitempty"`     // no longer in an event that the file still has
}

// Attended corrects who took part in a session and for how long. Without a word, everybody who was on
// the roster and not unavailable took part for its whole length.
type Attended struct {
	Session string    `json:"session"` // Training or Match
	Start   time.Time `json:"start"`
	Only    bool      `json:"only,omitempty"` // nobody took part but those named
	Took    []Took    `json:"took"`
}

// WholeSession stands for the minutes of somebody who took part from the start to the end.
const WholeSession = -1

// Took is how long one athlete took part.
type Took struct {
	Athlete int64 `json:"athlete"`
	Minutes int   `json:"minutes"` // 0 for not at all, or WholeSession
}

// Configured records that settings of the team were chosen or changed; the settings themselves are a table.
type Configured struct {
	Changes []SettingChange `json:"changes"`
}

// SettingChange is one setting as it was and as it is, in the words it is set by. From is empty where
// nothing was chosen before.
type SettingChange struct {
	What string `json:"what"`
	From string `json:"from,omitempty"`
	To   string `json:"to"`
}

// Linked records that a chat account became the athlete's, or with an empty account that none is any
// longer. What an earlier account consented to does not count for the next.
type Linked struct {
	Account string `json:"account,omitempty"` // the chat side's key
}

// Consented records that consent to being asked and written to was given, refused or taken back.
type Consented struct {
	Version int   `json:"version"` // of the text that was read
	Given   bool  `json:"given"`
	By      Party `json:"by"`
}

// Kind implements Body.
func (Joined) Kind() Kind     { return KindJoined }
func (Sprained) Kind() Kind   { return KindSprained }
func (Screened) Kind() Kind   { return KindScreened }
func (Lifted) Kind() Kind     { return KindLifted }
func (Tested) Kind() Kind     { return KindTested }
func (Responded) Kind() Kind  { return KindResponded }
func (Decided) Kind() Kind    { return KindDecided }
func (Noted) Kind() Kind      { return KindNoted }
func (Changed) Kind() Kind    { return KindChanged }
func (Departed) Kind() Kind   { return KindDeparted }
func (Past) Kind() Kind       { return KindPast }
func (Restricted) Kind() Kind { return KindRestricted }
func (Supported) Kind() Kind  { return KindSupported }
func (PlayedOn) Kind() Kind   { return KindPlayedOn }
func (Trained) Kind() Kind    { return KindTrained }
func (Planned) Kind() Kind    { return KindPlanned }
func (Worked) Kind() Kind     { return KindWorked }
func (Adopted) Kind() Kind    { return KindAdopted }
func (Scheduled) Kind() Kind  { return KindScheduled }
func (Moved) Kind() Kind      { return KindMoved }
func (Cancelled) Kind() Kind  { return KindCancelled }
func (Configured) Kind() Kind { return KindConfigured }
func (Imported) Kind() Kind   { return KindImported }
func (Attended) Kind() Kind   { return KindAttended }
func (Linked) Kind() Kind     { return KindLinked }
func (Consented) Kind() Kind  { return KindConsented }
func (Preferred) Kind() Kind  { return KindPreferred }
