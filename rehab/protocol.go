package rehab

import "slices"

// Protocol is the clinical content: stages, screen, tests, gates and the response rule. It is data,
// loaded from a file by package protocol, replaceable per team, and every threshold in it names its
// source. Values are starting points for licensed clinicians, who own every decision.
type Protocol struct {
	Hash      string     `toml:"-"` // identifies the exact file
	Name      string     `toml:"name"`
	Caution   string     `toml:"caution"` // the one plain line on every health-facing card
	Stages    []Stage    `toml:"stage"`
	Courses   []Course   `toml:"course"`
	Findings  []Finding  `toml:"finding"`
	Groups    []Group    `toml:"group"`
	Questions []Question `toml:"question"`
	Rules     []Rule     `toml:"rule"`
	Outcomes  []Outcome  `toml:"outcome"`
	Tests     []Test     `toml:"test"`
	Gates     []Gate     `toml:"gate"`
	Response  Response   `toml:"response"`
	Alarms    []Alarm    `toml:"alarm"`
	Floors    []Floor    `toml:"healing_floor"`
	PlayOn    PlayOn     `toml:"play_on"`
	Drills    []Drill    `toml:"drill"`
	Limits    Limits     `toml:"limits"`
	Planning  Planning   `toml:"planning"`

	Prevention Prevention `toml:"prevention"`
	Prior      Prior      `toml:"outlook"`
}

// Stage is a step of the course, in the order of the file.
type Stage struct {
	Key          string   `toml:"key"`
	Name         string   `toml:"name"`
	Aim          string   `toml:"aim"`
	Availability Level    `toml:"availability"`
	Can          []string `toml:"can"`      // in coaching words
	Cannot       []string `toml:"cannot"`   // in coaching words
	Next         string   `toml:"next"`     // what to measure or do first, for the reply
	Contacts     bool     `toml:"contacts"` // the feet leave the ground
}

// Course is the kind of injury an episode is treated as.
type Course struct {
	Key   string   `toml:"key"`
	Name  string   `toml:"name"`
	Words []string `toml:"words"`
	// Guided says whether gates and drills are proposed; otherwise availability and referral only.
	Guided bool `toml:"guided"`
}

// Finding is something the screen looks for. It is answered yes or no; Yes and No are the phrases
// that say so, and Needs marks one that must be given an answer (its bare name says neither).
type Finding struct {
	Key   string   `toml:"key"`
	Name  string   `toml:"name"`
	Yes   []string `toml:"yes"`
	No    []string `toml:"no"`
	Needs bool     `toml:"needs_answer"`
	// Signed marks what is done to the athlete and written with its sign: "squeeze -". Behind any other
	// finding a dash may be a pause.
	Signed  bool `toml:"signed"`
	Derived bool `toml:"derived"` // answered by a phrase only, never typed by itself
	// Well marks what is good news when it is there: "walks". In "walks no squeeze" the no is the squeeze's.
	Well bool `toml:"well"`
}

// Group is a phrase that answers several findings at once.
type Group struct {
	Phrase string   `toml:"phrase"`
	Words  []string `toml:"words"`
	Yes    []string `toml:"yes"`
	No     []string `toml:"no"`
	Says   string   `toml:"says"` // what the reply lists as confirmed, empty when obvious
}

// Question is a part of the examination that must be answered before a screen is complete: every
// finding of All, and one of each pair in Any when that is given.
type Question struct {
	Key    string   `toml:"key"`
	Name   string   `toml:"name"`
	All    []string `toml:"all"`
	Any    []string `toml:"any"`
	OnlyIf []string `toml:"only_if"` // facts any of which makes the question necessary
	Type   string   `toml:"type"`    // what to type to answer it
	Source string   `toml:"source"`
	Open   []string `toml:"-"` // of a question answered in part: the findings still not looked for
}

// Rule is one line of the screen: when every term of All and one of Any hold, its outcome follows.
// A term is a finding answered yes, "not " and a finding answered no, or a fact about the athlete
// ("under-18", "under-16", "strict-minors").
type Rule struct {
	Key       string   `toml:"key"`
	Outcome   string   `toml:"outcome"`
	All       []string `toml:"all"`
	Any       []string `toml:"any"`
	Examined  []string `toml:"examined"`   // findings whose first answer counts as the examination for over_days
	OverDays  int      `toml:"over_days"`  // only when examined more than this many days after injury
	FromHours int      `toml:"from_hours"` // only once this many hours have passed since injury
	Series    []string `toml:"series"`
	Fallback  bool     `toml:"fallback"` // its series count only when no other rule names one
	Recheck   bool     `toml:"recheck"`  // no pass to load on, though nothing holds
	Says      string   `toml:"says"`
	Source    string   `toml:"source"`
}

// Outcome is what a rule leads to. Outcomes are listed most urgent first.
type Outcome struct {
	Key    string `toml:"key"`
	Says   string `toml:"says"`   // first line of the reply; "{series}" and "{why}" are filled in
	After  string `toml:"after"`  // says it instead once the screen is complete
	Course string `toml:"course"` // an ankle on this course is known to have it: it holds no more
	Holds  bool   `toml:"holds"`  // no drills, no loading tests, unavailable until a clinician lifts it
	Bars   bool   `toml:"bars"`   // the screen cannot pass while it stands
	Alone  bool   `toml:"alone"`  // nothing else is offered in the reply
}

// Test is one thing measured.
type Test struct {
	Key         string   `toml:"key"`
	Name        string   `toml:"name"`
	Words       []string `toml:"words"`
	Unit        string   `toml:"unit"`
	Sides       string   `toml:"sides"`  // "both", "injured" or "none"
	Better      string   `toml:"better"` // "more" or "less"; empty for words
	Choices     []string `toml:"choices"`
	Loads       bool     `toml:"loads"` // not done while held
	Whole       bool     `toml:"whole"` // counted, never with decimals
	Take        string   `toml:"take"`  // which of a day's values counts: "best", "mean" or "last"
	Min         float64  `toml:"min"`   // below is impossible
	Max         float64  `toml:"max"`   // above is impossible
	UsualMin    float64  `toml:"usual_min"`
	UsualMax    float64  `toml:"usual_max"`
	Cap         float64  `toml:"cap"` // the test is stopped here; 0 for none
	SEM         float64  `toml:"sem"` // standard error of measurement, in the unit
	MDC         float64  `toml:"mdc"` // as printed by the source, where it is not worked out from SEM
	MDCSource   string   `toml:"mdc_source"`
	Floor       float64  `toml:"floor"`        // absolute level that stands in for a comparator
	FloorFemale float64  `toml:"floor_female"` // where it differs; the other is used when the sex is not known
	FloorFrom   string   `toml:"floor_source"`
	ValidDays   int      `toml:"valid_days"`

	Baseline bool     `toml:"baseline"`  // part of the pre-season tests
	WithPain bool     `toml:"with_pain"` // pain 0–10 while doing it is recorded beside the value
	Maskable bool     `toml:"maskable"`  // an analgesic in the last 24 h makes it tell nothing
	Of       []string `toml:"of"`        // worked out from these tests: the sum, in per cent of 3 × leg length
	Parts    []Test   `toml:"-"`         // the tests of Of, filled in by the loader
	Named    []Named  `toml:"named"`     // words that stand for a value or a choice
	Items    Items    `toml:"items"`     // a questionnaire's item scores, where they may be typed instead
	Ratio    bool     `toml:"ratio"`     // height in cm and contact time in ms give height ÷ time in m/s
	Warn     Warning  `toml:"warn"`

	Quality       string `toml:"quality"`        // one of Qualities: what a shortfall in it asks to train; empty for none
	Contacts      int    `toml:"contacts"`       // ground contacts of one trial
	CountContacts bool   `toml:"count_contacts"` // its value is the number of contacts

	Kit     string `toml:"kit"`
	Instead string `toml:"instead"` // what may be used where the kit is missing
	Source  string `toml:"source"`  // of validity and range
}

// Named is what some words answer: a value ("full" for 100 %) or, for a test answered in words, one of
// its choices.
type Named struct {
	Words  []string `toml:"words"` // after the test's name
	Alone  []string `toml:"alone"` // without it: "no limp"
	Value  float64  `toml:"value"`
	Choice string   `toml:"choice"`
}

// Items scores a questionnaire: sum ÷ (highest × answered) × 100, valid from Needed answers on. The
// questionnaire's text is never stored.
type Items struct {
	Count   int    `toml:"count"`
	Highest int    `toml:"highest"`
	Needed  int    `toml:"needed"`
	Source  string `toml:"source"`
}

// Warning is said when a value lies at or below a level, unless a sprain is too recent for it to mean
// anything.
type Warning struct {
	AtMost     float64 `toml:"at_most"`
	Says       string  `toml:"says"`
	NotForDays int     `toml:"not_for_days"` // after a sprain
	Source     string  `toml:"source"`
}

// Floor is the least number of days from injury to the first landing, by course and grade. It warns
// and asks for a reason; it never locks.
type Floor struct {
	Course string `toml:"course"`
	Grade  int    `toml:"grade"` // 0 when the grade is not known
	Days   int    `toml:"days"`
	Source string `toml:"source"`
}

// PlayOn is what an athlete must show, in one sitting, to play on at once after a sprain.
type PlayOn struct {
	Checks  []Check `toml:"check"`
	MaxPain int     `toml:"max_pain"`
	Source  string  `toml:"source"`
}

// Check is one of them.
type Check struct {
	Key   string   `toml:"key"`
	Name  string   `toml:"name"`
	Words []string `toml:"words"`
	After bool     `toml:"after"` // asked again after the match
}

// Values works out a questionnaire's per cent from item scores; answered may be fewer than all. ok
// is false with fewer answers than the scoring allows.
func (it Items) Values(scores []int) (percent float64, ok bool) {
	sum := 0
	for _, s := range scores {
		sum += s
	}
	if len(scores) < it.Needed || it.Highest == 0 {
		return 0, false
	}
	return float64(sum) / float64(it.Highest*len(scores)) * 100, true
}

// Floor is the least number of days from injury to first landing for a course and grade.
func (p *Protocol) Floor(course string, grade int) (Floor, bool) {
	for _, f := range p.Floors {
		if f.Course == course && f.Grade == grade {
			return f, true
		}
	}
	return Floor{}, false
}

// FloorFor is the absolute level that stands in for a comparator for an athlete.
func (t Test) FloorFor(a Athlete) float64 {
	if a.Sex == "female" && t.FloorFemale > 0 {
		return t.FloorFemale
	}
	return t.Floor
}

// Gate is the step from one stage to the next.
type Gate struct {
	From     string      `toml:"from"`
	To       string      `toml:"to"`
	Criteria []Criterion `toml:"criterion"`
}

// Criterion is one condition of a gate: a fact about the episode, or a test read in one way and
// compared with a threshold. Alternatives, when given, also meet it.
type Criterion struct {
	Key         string   `toml:"key"`
	Fact        string   `toml:"fact"`
	Test        string   `toml:"test"`
	Measure     string   `toml:"measure"`       // one of Measures
	Finding     string   `toml:"finding"`       // a screen term that must hold: "not squeeze"
	Then        string   `toml:"then"`          // "morning": and the morning after it was not worse
	Courses     []string `toml:"courses"`       // only on these courses; all when empty
	Domain      string   `toml:"domain"`        // PAASS domain it belongs to
	IfUsed      bool     `toml:"if_used"`       // asked only where it was ever measured
	BothAtLeast float64  `toml:"both_at_least"` // for "close": the level both sides must reach
	AtLeast     *float64 `toml:"at_least"`
	AtMost      *float64 `toml:"at_most"`
	OneOf       []string `toml:"one_of"`
	Lock        bool     `toml:"lock"` // no reason overrides it
	Source      string   `toml:"source"`
	// Or lists other readings of the same thing that meet the criterion.
	Or []Criterion `toml:"or"`
}

// Response is the 24-hour rule: when a morning counts as worse.
type Response struct {
	RiseFromYesterday int    `toml:"rise_from_yesterday"`
	RiseFromLowest    int    `toml:"rise_from_lowest"`
	LowestDays        int    `toml:"lowest_days"`
	HighPain          int    `toml:"high_pain"`        // at or above is worse once out of the first stage
	GoodHours         int    `toml:"good_hours"`       // how long a morning's answer counts as the last one
	DrillsFine        int    `toml:"drills_fine"`      // pain in drills up to this is fine
	DrillsTolerated   int    `toml:"drills_tolerated"` // up to this is tolerated and counts for nothing; above is too much
	DrillsSource      string `toml:"drills_source"`
	Source            string `toml:"source"`
}

// Alarm is an answer that medical staff are told of at once.
type Alarm struct {
	Key   string   `toml:"key"`
	Name  string   `toml:"name"`
	Words []string `toml:"words"`
	// Resets means a giving way or the like: new screen, hold and first stage.
	Resets bool   `toml:"resets"`
	Source string `toml:"source"`
}

// Limits are the few numbers that belong to no rule or gate.
type Limits struct {
	BaselineDays  int      `toml:"baseline_days"` // how long a pre-season baseline serves as comparator
	ReexamineDay  int      `toml:"reexamine_day"` // day of the delayed examination
	UndoHours     int      `toml:"undo_hours"`
	GradeDay      int      `toml:"grade_day"`          // before this day a grade is provisional
	SteadyDays    int      `toml:"steady_days"`        // no giving way in these many days before return
	NoGainDays    int      `toml:"no_gain_days"`       // in one stage this long: review
	LongWeeks     int      `toml:"long_weeks"`         // painful or giving way still: refer
	UnknownRun    int      `toml:"unknown_run"`        // mornings without an answer, running: clinic list
	MissedDays    int      `toml:"missed_days"`        // days without drills: clinic list
	UnlikelyTimes int      `toml:"unlikely_mdc_times"` // a change of more than this many MDC is asked about
	Training      int      `toml:"training_minutes"`   // a session takes when nothing else is said
	Match         int      `toml:"match_minutes"`      // the same of a match
	ContactSports []string `toml:"contact_sports"`     // in these a full-contact session is asked for before the return
	Source        string   `toml:"source"`
}

// Level is how much of the team's work an athlete may do.
type Level string

// The levels, from most to least.
const (
	Full        Level = "full"
	Modified    Level = "modified"
	Unavailable Level = "unavailable"
)

// Stage finds a stage by key; the empty key is the first stage.
func (p *Protocol) Stage(key string) (Stage, int) {
	if key == "" {
		return p.Stages[0], 0
	}
	for i, s := range p.Stages {
		if s.Key == key {
			return s, i
		}
	}
	return Stage{Key: key, Name: key, Availability: Unavailable}, -1
}

// last reports whether a stage is the last one: back in matches.
func (p *Protocol) last(key string) bool { return key == p.Stages[len(p.Stages)-1].Key }

// Test finds a test by key.
func (p *Protocol) Test(key string) (Test, bool) { return find(p.Tests, key) }

// Finding finds a finding by key.
func (p *Protocol) Finding(key string) (Finding, bool) { return find(p.Findings, key) }

// Course finds a course by key.
func (p *Protocol) Course(key string) (Course, bool) { return find(p.Courses, key) }

// Alarm finds an alarm by key.
func (p *Protocol) Alarm(key string) (Alarm, bool) { return find(p.Alarms, key) }

// resets reports whether any of some alarms means a giving way: new screen, hold and first stage.
func (p *Protocol) resets(alarms []string) bool {
	return slices.ContainsFunc(alarms, func(key string) bool { a, ok := p.Alarm(key); return ok && a.Resets })
}

// Outcome finds an outcome and its rank, 0 being the most urgent.
func (p *Protocol) Outcome(key string) (Outcome, int) {
	for i, o := range p.Outcomes {
		if o.Key == key {
			return o, i
		}
	}
	return Outcome{Key: key, Says: key, Holds: true}, len(p.Outcomes)
}

// Gate finds the gate out of a stage.
func (p *Protocol) Gate(from string) (Gate, bool) {
	for _, g := range p.Gates {
		if g.From == from {
			return g, true
		}
	}
	return Gate{}, false
}

type keyed interface{ key() string }

func (t Test) key() string    { return t.Key }
func (f Finding) key() string { return f.Key }
func (c Course) key() string  { return c.Key }
func (a Alarm) key() string   { return a.Key }

func find[T keyed](list []T, key string) (T, bool) {
	for _, v := range list {
		if v.key() == key {
			return v, true
		}
	}
	var zero T
	return zero, false
}
