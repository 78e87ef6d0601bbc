package plan_test

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"footing/rehab"
	"footing/rehab/plan"
	"footing/rehab/protocol"
)

const practice = "common practice"

// stages is the course, in order.
var stages = []string{"settle", "load", "control", "impact", "land", "sport", "returned"}

// moving are the stages in which feet leave the ground.
var moving = stages[3:]

// drill is one of a stage or more, with a level for each "minutes/contacts".
func drill(key, quality string, in []string, kit string, levels ...string) rehab.Drill {
	d := rehab.Drill{Key: key, Name: key, Stages: in, Quality: quality, Kit: strings.Fields(kit)}
	for _, l := range levels {
		minutes, contacts, _ := strings.Cut(l, "/")
		m, _ := strconv.Atoi(minutes)
		n, _ := strconv.Atoi(contacts)
		d.Levels = append(d.Levels, rehab.DrillLevel{Dose: l, Minutes: m, Contacts: n})
	}
	return d
}

// trial is the default protocol with a catalogue small enough to plan by hand, and tests that load.
var trial = func() *rehab.Protocol {
	p, err := protocol.Default()
	if err != nil {
		panic(err)
	}
	jog := drill("jog", rehab.Power, moving, "", "5/0")
	jog.Runs = true
	return with(p,
		drill("circles", rehab.Mobility, stages, "", "2/0"),
		drill("raises", rehab.Strength, stages[1:], "", "3/0", "3/0", "3/0"),
		drill("pulls", rehab.Strength, stages, "band", "2/0"),
		drill("stand", rehab.StaticBalance, stages, "", "2/0", "2/0", "3/0"),
		drill("reach", rehab.DynamicBalance, stages[2:], "", "3/0"),
		drill("pogo", rehab.Impact, moving, "", "2/20", "2/40", "2/50"),
		drill("stick", rehab.Landing, stages[4:], "", "3/15", "3/30"),
		jog,
	)
}()

func with(p *rehab.Protocol, drills ...rehab.Drill) *rehab.Protocol {
	out := *p
	out.Drills, out.Tests = drills, slices.Clone(p.Tests)
	out.Planning.Weights = rehab.Weights{Base: 10, Lacks: 40, Unknown: 15, Deficit: 10, Day: 4, Days: 7, Fresh: 1, Again: []int{100, 50, 25}}
	for i := range out.Tests {
		t := &out.Tests[i]
		t.Quality = map[string]string{"knee-to-wall": rehab.Mobility, "calf-raise": rehab.Strength, "balance": rehab.StaticBalance, "pogo": rehab.Impact, "hop": rehab.Landing}[t.Key]
		t.CountContacts = t.Key == "pogo"
		t.Contacts = map[string]int{"hop": 1}[t.Key]
	}
	return &out
}

// at is an hour of a day after the sprain, which was on Saturday 7 March 2026.
func at(n, hour int) time.Time { return time.Date(2026, 3, 7+n, hour, 0, 0, 0, time.UTC) }

// record is one player's record as it grows.
type record struct {
	p       *rehab.Protocol
	entries []rehab.Entry
	athlete rehab.Athlete
}

// in opens a record of a left ankle, examined and in a stage since the next day.
func in(stage string) *record {
	r := &record{p: trial, athlete: rehab.Athlete{ID: 7, Shirt: 7, Name: "Mere Tau", Born: "1999-05-20", Active: true}}
	r.log(at(0, 15), rehab.Sprained{Side: rehab.Left})
	r.log(at(0, 16), negative())
	return r.to(at(1, 10), stage)
}

func (r *record) to(when time.Time, stage string) *record {
	return r.log(when, rehab.Decided{Action: rehab.Advance, To: stage})
}

func (r *record) log(when time.Time, b rehab.Body) *record {
	n := int64(len(r.entries) + 1)
	r.entries = append(r.entries, rehab.Entry{Seq: n, Athlete: 7, Episode: 1, At: when, Logged: when, Body: b})
	return r
}

// negative is a complete examination that found nothing.
func negative() rehab.Screened {
	var b rehab.Screened
	for _, f := range trial.Findings {
		if !f.Derived {
			b.Answers = append(b.Answers, rehab.Answer{Finding: f.Key, Yes: f.Well})
		}
	}
	return b
}

func (r *record) answer(n int, worse bool) *record {
	b := rehab.Responded{Pain: 1, Swelling: "same"}
	if worse {
		b.Swelling = "more"
	}
	return r.log(at(n, 8), b)
}

func (r *record) test(n int, test string, side rehab.Side, values ...float64) *record {
	b := rehab.Tested{Test: test, Side: side}
	for _, v := range values {
		b.Trials = append(b.Trials, rehab.Trial{Value: v})
	}
	return r.log(at(n, 12), b)
}

// done records a session of an ankle with so many contacts; drills as "pogo 2".
func (r *record) done(n, pain, contacts int, drills ...string) *record {
	v := r.assess(at(n, 17)).Views[0]
	return r.log(at(n, 17), rehab.Trained{Did: "all", Side: rehab.Left, Stage: v.Stage.Key, Pain: &pain, Doses: doses(drills), Contacts: contacts})
}

func (r *record) sent(n, contacts int, drills ...string) *record {
	return r.log(at(n, 9), rehab.Planned{Day: at(n, 9).Format(time.DateOnly), Side: rehab.Left, Doses: doses(drills), Contacts: contacts})
}

func doses(drills []string) []rehab.Dose {
	var out []rehab.Dose
	for _, d := range drills {
		key, level, _ := strings.Cut(d, " ")
		n, _ := strconv.Atoi(level)
		out = append(out, rehab.Dose{Drill: key, Level: n})
	}
	return out
}

func (r *record) assess(now time.Time) rehab.Assessment {
	return rehab.Assess(rehab.Fold(r.athlete, r.entries), rehab.Setting{Book: func(string) *rehab.Protocol { return r.p }, Protocol: r.p, Now: now})
}

func (r *record) plan(now time.Time, ask plan.Ask) plan.Plan {
	a := r.assess(now)
	return plan.For(a, a.Views[0], ask, now)
}

// says is a plan in one line: "circles 1, stand 2 | 4 min, 0 contacts", its notes, what was relaxed, or why
// there is none.
func says(p plan.Plan) string {
	if p.None != "" {
		return p.None
	}
	var items []string
	for _, it := range p.Items {
		items = append(items, fmt.Sprintf("%s %d", it.Drill.Key, it.Level))
	}
	out := fmt.Sprintf("%s | %d min, %d contacts", strings.Join(items, ", "), p.Minutes, p.Contacts())
	for _, n := range p.Notes {
		out += " | " + n
	}
	for _, n := range p.Relaxed {
		out += " | not kept: " + n
	}
	return out
}

func want(t *testing.T, what, got, want, source string) {
	t.Helper()
	if got != want {
		t.Errorf("%s\n got: %s\nwant: %s\nsource: %s", what, got, want, source)
	}
}
