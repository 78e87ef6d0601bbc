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
)

// Entry is one recorded fact about one athlete. Entries are appended and never changed: an edit
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
	Text string `json:"text"`
}

// Kind implements Body.
func (Joined) Kind() Kind    { return KindJoined }
func (Sprained) Kind() Kind  { return KindSprained }
func (Screened) Kind() Kind  { return KindScreened }
func (Lifted) Kind() Kind    { return KindLifted }
func (Tested) Kind() Kind    { return KindTested }
func (Responded) Kind() Kind { return KindResponded }
func (Decided) Kind() Kind   { return KindDecided }
func (Noted) Kind() Kind     { return KindNoted }
