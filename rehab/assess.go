package rehab

import (
	"cmp"
	"strings"
	"time"
)

// Setting is what an assessment needs besides the state: the protocols by hash, the team's rule for
// minors, and the instant, which carries the team's zone as its location.
type Setting struct {
	Book         func(hash string) *Protocol
	Protocol     *Protocol // the team's own, for whoever has no episode and to offer to open ones; nil to leave both out
	StrictMinors bool
	NoContact    bool // the sport has no contact: no full-contact session is asked for
	Now          time.Time
}

// Assessment is an athlete at one instant.
type Assessment struct {
	State State
	Views []View       // one per episode, by number
	Ankle Availability // what the ankles alone leave
	Availability
	Prevention []Block          // of the ankles that are not under treatment
	Offered    map[int][]string // by episode: what the team's own protocol would change in one that follows another
}

// Availability is what coaches are told: never a diagnosis, a cause or a value.
type Availability struct {
	Level  Level
	Can    []string
	Cannot []string
	Until  string            `json:",omitempty"` // last local day of the level, "" when nobody has said
	Ends   map[string]string `json:",omitempty"` // last local day of what cannot be done, by its words, where one was said
	stage  int
	Out    int // days lost so far: today − first day out, the onset day not counted (IOC 2020)
}

// View is one episode at one instant.
type View struct {
	Episode
	P           *Protocol
	Screening   Screening
	Course      Course
	Stage       Stage
	Rank        int // of the stage, 0 first
	Since       time.Time
	Next        *Stage // nil at the end
	Gate        []Result
	GateDefined bool
	Morning     Morning   // the latest
	Mornings    []Morning // since the last sprain, oldest first
	Day         int       // days since the sprain
	Grade       int       // 1–3 as last told, 0 when not
	Reexamine   time.Time // local day to examine again, once the swelling has gone; zero when it has come, or was done
	Open        bool
	Playing     Playing // on, without a course, after a mild sprain

	athlete Athlete
	strict  bool // the team's rule for minors
}

// Assess reads the state at an instant against the protocol each episode follows.
func Assess(st State, s Setting) Assessment {
	a := Assessment{State: st, Ankle: Availability{Level: Full}}
	for _, ep := range st.Episodes {
		v := assessEpisode(st, ep, s)
		a.Views = append(a.Views, v)
		if v.Open {
			a.Ankle = worst(a.Ankle, v.availability(s.Now))
			a.offer(v, s)
		}
	}
	a.Availability = a.Ankle
	for _, r := range st.Current(s.Now) {
		a.Availability = a.With(r)
	}
	if at := st.Alert; !at.IsZero() && DaysBetween(at, s.Now, s.Now.Location()) <= alertDays {
		a.Availability = a.With(Restriction{Restricted: Restricted{Level: Unavailable, Cannot: []string{untilSeen}}, From: at})
	}
	a.Prevention = a.Blocks(s.Protocol, s.Now)
	if a.Level != Full {
		a.Out = daysOut(a.spells(s.Now), localDay(s.Now, s.Now.Location()))
	}
	return a
}

// offer compares an open episode under its own protocol and under the team's.
func (a *Assessment) offer(v View, s Setting) {
	if s.Protocol == nil || s.Protocol.Hash == v.P.Hash {
		return
	}
	if a.Offered == nil {
		a.Offered = map[int][]string{}
	}
	a.Offered[v.Number], _ = WouldChange(a.State, v, s.Protocol, s)
}

// untilSeen is what coaches read of an athlete who said that something is wrong. It tells nothing of what.
const untilSeen = "train before medical staff have seen them"

// Open lists the episodes under treatment.
func (a Assessment) Open() []View {
	var out []View
	for _, v := range a.Views {
		if v.Open {
			out = append(out, v)
		}
	}
	return out
}

// OpenOn finds the episode under treatment on a side; with None, the only open one.
func (a Assessment) OpenOn(side Side) (View, bool) {
	open := a.Open()
	if side == None {
		if len(open) == 1 {
			return open[0], true
		}
		return View{}, false
	}
	for _, v := range open {
		if v.Side == side {
			return v, true
		}
	}
	return View{}, false
}

func assessEpisode(st State, ep Episode, s Setting) View {
	p := s.Book(ep.Protocol)
	ep.At = ep.At.In(s.Now.Location())
	v := View{Episode: ep, P: p, Day: DaysBetween(ep.At, s.Now, s.Now.Location()), athlete: st.Athlete, strict: s.StrictMinors}
	v.Grade = ep.Sprain.Grade
	each(ep, func(_ Entry, b Sprained) {
		if b.Grade > 0 {
			v.Grade = b.Grade
		}
	})
	v.Screening = Screen(st, ep, p, s.StrictMinors, s.Now)
	if due := p.Limits.ReexamineDay; v.healing(s.Now) < due && !(&concerns{v: v, now: s.Now}).examinedFrom(due-1) {
		v.Reexamine = v.Screening.reset.In(s.Now.Location()).AddDate(0, 0, due)
	}
	v.Course = p.Courses[0]
	if c, ok := p.Course(v.Screening.Course); ok {
		v.Course = c
	}
	key, since := stageOf(ep, p)
	v.Stage, v.Rank = p.Stage(key)
	v.Since = since.In(s.Now.Location())
	v.Open = v.Rank < len(p.Stages)-1
	if v.Open && v.Rank >= 0 {
		v.Next = &p.Stages[v.Rank+1]
	}
	v.Mornings = Mornings(ep, p, v.Rank > 0, v.Screening.reset, s.Now)
	if n := len(v.Mornings); n > 0 {
		v.Morning = v.Mornings[n-1]
	}
	if v.Rank == 0 {
		v.Playing = v.playing(s.Now)
		v.Open = v.Open && !v.over(s.Now)
	}
	gate, ok := p.Gate(v.Stage.Key)
	v.GateDefined = ok && v.Course.Guided
	if v.GateDefined {
		v.Gate = gateReader{st: st, ep: ep, p: p, v: &v, now: s.Now, since: setBack(ep, v.Screening.reset), contact: !s.NoContact}.read(gate)
	}
	return v
}

// healing is the days since the last injury of the ankle: a new one heals from its own day.
func (v View) healing(now time.Time) int {
	return DaysBetween(v.Screening.reset, now, now.Location())
}

// stageOf is the stage that the last move led to, and when.
func stageOf(ep Episode, p *Protocol) (key string, since time.Time) {
	since = ep.At
	for _, m := range moves(ep, p) {
		key, since = m.to, m.at
	}
	return key, since
}

// move is a change of stage.
type move struct {
	to string
	at time.Time
}

// moves follows the decisions in the order they were logged. A new sprain, a giving way, or a hold that is lifted
// onto a graver course than the ankle was on puts it back to the first stage; once it was returned, a giving way is
// for medical staff to judge.
func moves(ep Episode, p *Protocol) []move {
	var out []move
	key, course := "", p.Courses[0].Key
	for _, e := range ep.Entries {
		switch b := e.Body.(type) {
		case Lifted:
			if key != "" && len(b.Rules) > 0 && b.Course != course && b.Course != p.Courses[0].Key {
				key = ""
				out = append(out, move{key, e.At})
			}
			course = b.Course
		case Decided:
			if b.To != key && b.Action != Stay {
				key = b.To
				out = append(out, move{key, e.At})
			}
		case Sprained:
			if b.Again {
				key = ""
				out = append(out, move{key, e.At})
			}
		case Responded:
			if p.resets(b.Alarms) && !p.last(key) {
				key = ""
				out = append(out, move{key, e.At})
			}
		}
	}
	return out
}

// setBack is when results were last made stale: by a new injury, or by a step back.
func setBack(ep Episode, reset time.Time) time.Time {
	since := reset
	each(ep, func(e Entry, b Decided) {
		if b.Action == StepBack && e.At.After(since) {
			since = e.At
		}
	})
	return since
}

func (v View) availability(now time.Time) Availability {
	a := Availability{Level: v.Stage.Availability, Can: v.Stage.Can, Cannot: v.Stage.Cannot, stage: v.Rank}
	if first := v.P.Stages[0]; v.Screening.Held(v.P) || !v.Screening.Cleared {
		a.Level, a.Can, a.Cannot, a.stage = first.Availability, first.Can, first.Cannot, 0
	}
	if today := v.ForToday(now); today < v.Rank && a.stage > today {
		s := v.P.Stages[today]
		a.Level, a.Can, a.Cannot, a.stage = s.Availability, s.Can, s.Cannot, today
	}
	if v.Playing.On {
		a = Availability{Level: Full, stage: len(v.P.Stages)}
	}
	return a
}

// ForToday is the rank of the stage whose work the ankle may do today: its own, or after a worse
// morning that stands the latest one up to it in which nothing leaves the ground.
func (v View) ForToday(now time.Time) int {
	if !v.WorseStands(now) || v.Rank <= 0 {
		return v.Rank
	}
	for rank := v.Rank; rank > 0; rank-- {
		if !v.P.Stages[rank].Contacts {
			return rank
		}
	}
	return 0
}

// worst keeps the tighter of two availabilities. Stages are nested, so of two modified ones the
// earlier stage allows less.
func worst(a, b Availability) Availability {
	if cmp.Or(cmp.Compare(b.Level.strictness(), a.Level.strictness()), cmp.Compare(b.stage, a.stage)) < 0 {
		return b
	}
	return a
}

// WhyNotCleared says in a few words what keeps the screen from passing.
func (v View) WhyNotCleared() string {
	s := v.Screening
	switch {
	case !s.Examined():
		return "not done"
	case len(s.Missing) > 0:
		return "not complete: " + strings.Join(MissingNames(s.Missing), ", ") + " not examined"
	case len(s.Hits) > 0 && !s.Cleared:
		return "not reliable: " + s.Hits[0].Says
	}
	return "complete"
}

// MissingNames lists the parts of an examination by name, with what is open of a part half done.
func MissingNames(qs []Question) []string {
	var out []string
	for _, q := range qs {
		says := q.Name
		if len(q.Open) > 0 {
			says += " (" + strings.ReplaceAll(strings.Join(q.Open, ", "), "-", " ") + ")"
		}
		out = append(out, says)
	}
	return out
}

// Unmet lists the criteria that do not stand as met; Locked those no reason overrides.
func (v View) Unmet() (unmet, locked []Result) {
	for _, r := range v.Gate {
		if r.Status == Met {
			continue
		}
		unmet = append(unmet, r)
		if r.Criterion.Lock {
			locked = append(locked, r)
		}
	}
	return unmet, locked
}

// Evidence is the gate as it stands, in the form a decision keeps.
func (v View) Evidence() []Seen {
	var out []Seen
	for _, r := range v.Gate {
		out = append(out, Seen{Criterion: r.Criterion.Key, Status: r.Status, Says: r.Says, Seqs: r.Seqs})
	}
	return out
}
