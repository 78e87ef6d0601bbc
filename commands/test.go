package commands

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"footing/rehab"
)

type testArgs struct {
	Athlete rehab.Athlete
	Side    rehab.Side
	Tests   []Measured
	Squad   []Scored
	At      time.Time
	Note    string

	squad bool // one of a squad line: what cannot be asked is refused
}

// Test records measurements; with no ankle under treatment they are a baseline.
var Test = New(Def[testArgs]{
	Name:    "test",
	Also:    []string{"tests", "measure"},
	Summary: "Record tests as they are measured.",
	Needs:   rehab.LogMedical,
	Privacy: MedicalOnly,
	Fields: func(a *testArgs) []Field {
		tests := Opt(Tests(&a.Tests))
		values := tests.check
		tests.check = func() error {
			if a.Athlete.ID == 0 && len(a.Tests) > 0 {
				return refuse("Who? Start with a shirt or a name: test 7 knee-to-wall L 9.5 R 12")
			}
			return values()
		}
		return []Field{Squad(&a.Squad), Opt(Athlete(&a.Athlete)), Opt(Side(&a.Side)), tests, WhenAmongValues(&a.At), Note(&a.Note)}
	},
	Subject: func(a *testArgs) *rehab.Athlete { return &a.Athlete },
	Others: func(a *testArgs) []rehab.Athlete {
		var out []rehab.Athlete
		for _, s := range a.Squad {
			out = append(out, s.Athlete)
		}
		return out
	},
	Examples: []string{
		"test 7 knee-to-wall L 9.5 R 12, calf-raise 18/27, balance 30/60+",
		"test 7 gait limp, pain-walking 2",
		"test 7 calf-raise not-done safety",
		"test knee-to-wall l/r: 7 9/12, 12 10/11",
	},
	Run: logTests,
})

func logTests(ctx context.Context, env *Env, a testArgs) (Reply, error) {
	switch {
	case len(a.Squad) > 0 && (a.Athlete.ID != 0 || len(a.Tests) > 0):
		return Reply{}, refuse("One test for the squad, or several tests for one athlete: not both in one line.")
	case len(a.Squad) > 0:
		return logSquad(ctx, env, a)
	case a.Athlete.ID == 0:
		return Reply{}, refuse("Who? Start with a shirt or a name: test 7 knee-to-wall L 9.5 R 12")
	case len(a.Tests) == 0:
		return Reply{}, refuse("test: what tests? For example: test %d knee-to-wall L 9.5 R 12", a.Athlete.Shirt)
	}
	state, err := env.Assess(ctx, a.Athlete)
	if err != nil {
		return Reply{}, err
	}
	sided, err := placeSides(env, state, a)
	if err != nil {
		return Reply{}, err
	}
	at := env.at(a.At)
	var entries []rehab.Entry
	var unlikely []string
	for _, body := range sided {
		v, open := episodeFor(state, body.Side, at)
		if ep, under := state.OpenOn(rehab.None); under && at.Before(ep.At) && rehab.DaysBetween(at, ep.At, env.Now.Location()) == 0 {
			return Reply{}, refuse("%s is before the sprain (%s) on the same day. Give the test's time, or mend the sprain's. Nothing was saved.", day(at), day(ep.At))
		}
		t, _ := env.Lang.Protocol.Test(body.Test)
		if open && t.Loads && v.Screening.Held(v.P) && body.Absent == "" {
			return Reply{}, refuse("%s is held (%s): no tests that load it. Nothing was saved.", name(a.Athlete, v), v.Screening.Holds(v.P)[0].Says)
		}
		if why := doubt(env, state.State, t, body, at); why != "" {
			unlikely = append(unlikely, why)
		}
		entries = append(entries, rehab.Entry{Athlete: a.Athlete.ID, Episode: v.Number, At: at, Body: body})
	}
	if len(unlikely) > 0 && !env.Confirmed {
		return Reply{}, &Refusal{
			Says:    "Unlikely: " + strings.Join(unlikely, "; ") + ". Right? Nothing of this line is saved until you say so.",
			Buttons: []Button{{Label: "Yes, save it", Line: env.Call.Text(), Confirmed: true}},
		}
	}
	if a.Note != "" {
		entries = append(entries, rehab.Entry{Athlete: a.Athlete.ID, Episode: entries[0].Episode, At: at, Body: rehab.Noted{Text: a.Note}})
	}
	return testReply(ctx, env, a, state, sided, entries, at)
}

// episodeFor is the ankle under treatment a test belongs to: that side's, else the only one there is.
func episodeFor(state rehab.Assessment, side rehab.Side, at time.Time) (rehab.View, bool) {
	v, ok := state.OpenOn(side)
	if !ok {
		v, ok = state.OpenOn(rehab.None)
	}
	if !ok || at.Before(v.At) {
		return rehab.View{}, false
	}
	return v, true
}

// placeSides turns what was typed into one test per side. A pair means injured and other only when
// exactly one ankle is under treatment; a side that is needed and missing is asked for.
func placeSides(env *Env, state rehab.Assessment, a testArgs) ([]rehab.Tested, error) {
	var out []rehab.Tested
	only, open := state.OpenOn(rehab.None)
	for i, m := range a.Tests {
		t, _ := env.Lang.Protocol.Test(m.Test)
		body := rehab.Tested{Test: t.Key, Choice: m.Choice, Absent: m.Absent, Reason: m.Why, Pain: m.Pain, Masked: m.Masked}
		put := func(s rehab.Side, trials []rehab.Trial) {
			if len(trials) > 0 {
				b := body
				b.Side, b.Trials = s, trials
				out = append(out, b)
			}
		}
		switch {
		case t.Sides == "none":
			body.Trials = m.Bare
			out = append(out, body)
			continue
		case t.Sides == "injured" && m.Choice != "":
			if body.Side = a.Side; body.Side == rehab.None {
				if !open {
					_, err := askSide(env, t.Key+": which side?")
					return nil, err
				}
				body.Side = only.Side
			}
			out = append(out, body)
			continue
		case m.Pair != nil && !open && a.squad:
			return nil, refuse("%s: which side is which? Say l/r once: test %s l/r: %d 9/12", a.Athlete.Label(), t.Key, a.Athlete.Shirt)
		case m.Pair != nil && !open:
			return nil, askPair(env, a, i, t)
		case m.Absent != "" || len(m.Bare) > 0:
			side := a.Side
			if side == rehab.None && open && (m.Absent != "" || t.Sides == "injured") {
				side = only.Side
			}
			if side == rehab.None && a.squad {
				return nil, refuse("%s: which side? Type L or R before the value.", a.Athlete.Label())
			}
			if side == rehab.None {
				_, err := askSide(env, t.Key+": which side?")
				return nil, err
			}
			body.Side, body.Trials = side, m.Bare
			out = append(out, body)
		}
		if m.Pair != nil {
			put(only.Side, m.Pair[:1])
			put(only.Side.Other(), m.Pair[1:])
		}
		put(rehab.Left, m.Left)
		put(rehab.Right, m.Right)
	}
	return out, nil
}

// askPair asks which way round a pair was meant.
func askPair(env *Env, a testArgs, i int, t rehab.Test) error {
	m := a.Tests[i]
	way := func(label string, l, r rehab.Trial) Button {
		tests := slices.Clone(a.Tests)
		tests[i].Pair, tests[i].Left, tests[i].Right = nil, []rehab.Trial{l}, []rehab.Trial{r}
		var typedTests []string
		for _, x := range tests {
			typedTests = append(typedTests, x.text())
		}
		return Button{Label: label, Line: env.Call.TextWith("tests", strings.Join(typedTests, ", "))}
	}
	p0, p1 := typed(m.Pair[0]), typed(m.Pair[1])
	return &Refusal{
		Says:    fmt.Sprintf("%s %s/%s: which side is which?", t.Key, p0, p1),
		Buttons: []Button{way("L "+p0+" R "+p1, m.Pair[0], m.Pair[1]), way("L "+p1+" R "+p0, m.Pair[1], m.Pair[0])},
	}
}

// doubt says why a value is unlikely: outside the usual band, or too far from the last one.
func doubt(env *Env, st rehab.State, t rehab.Test, body rehab.Tested, at time.Time) string {
	v, ok := t.Counted(body.Trials)
	if !ok {
		return ""
	}
	what := join(" ", t.Key, body.Side.Short(), rehab.Number(v.Value))
	if t.UsualMax > 0 && (v.Value < t.UsualMin || v.Value > t.UsualMax) {
		return fmt.Sprintf("%s, usually %s to %s", what, rehab.Number(t.UsualMin), rehab.Number(t.UsualMax))
	}
	beyond := t.RealChangeBeyond() * float64(env.Lang.Protocol.Limits.UnlikelyTimes)
	if last, ok := previous(st, t, body.Side, at, env); ok && beyond > 0 && t.Unit != "" && math.Abs(v.Value-last.Value.Value) > beyond {
		return fmt.Sprintf("%s, was %s on %s", what, rehab.Number(last.Value.Value), last.Date.Format("Mon 2 Jan"))
	}
	return ""
}

// previous is the last measured day of a test and side before a time's own day.
func previous(st rehab.State, t rehab.Test, side rehab.Side, at time.Time, env *Env) (rehab.Day, bool) {
	days := rehab.Days(st.Readings, t, side, func(r rehab.Reading) bool { return r.At.Before(at) }, env.Now.Location())
	today := at.In(env.Now.Location()).Format(time.DateOnly)
	for i := len(days) - 1; i >= 0; i-- {
		if days[i].Measured() && days[i].Date.Format(time.DateOnly) != today {
			return days[i], true
		}
	}
	return rehab.Day{}, false
}

func testReply(ctx context.Context, env *Env, a testArgs, before rehab.Assessment, sided []rehab.Tested, entries []rehab.Entry, at time.Time) (Reply, error) {
	side := rehab.None
	if v, ok := before.OpenOn(rehab.None); ok {
		side = v.Side
	}
	reply, v, err := env.after(ctx, a.Athlete, side, entries)
	if err != nil {
		return Reply{}, err
	}
	head := a.Athlete.Label()
	switch {
	case len(before.Open()) > 1:
		head += ", both ankles"
	case v.P == nil || at.Before(v.At):
		head += ", baseline"
	default:
		head += ", " + string(v.Side)
	}
	if !a.At.IsZero() {
		head += ", " + day(at)
	}
	reply.Lines = append(reply.Lines, head+": "+strings.Join(said(env, before.State, sided, at), "; ")+"."+env.noted(a.Athlete, a.Note))
	reply.Lines = append(reply.Lines, warnings(env, before, sided, at)...)
	reply.Lines = append(reply.Lines, loaded(before, sided)...)
	if len(before.Open()) == 0 && !a.squad && slices.ContainsFunc(sided, func(b rehab.Tested) bool { return b.Side == rehab.None }) {
		reply.Lines = append(reply.Lines, fmt.Sprintf("No ankle is under treatment. Hurt? Log it first: sprain %d left", a.Athlete.Shirt))
	}
	switch held := v.P != nil && v.Screening.Held(v.P); {
	case held && a.squad: // among others', so with whose it is
		reply.Lines = append([]string{a.Athlete.Label() + ": " + screenCard(a.Athlete, v)[0]}, reply.Lines...)
		return reply, nil
	case held:
		reply.Lines = append(screenCard(a.Athlete, v)[:1], reply.Lines...)
		reply.Buttons = gateButtons(a.Athlete, v, env.Now)
		return reply, nil
	case a.squad:
		return reply, nil // the gates of a whole squad are asked for one by one
	}
	if line := gateLine(v); line != "" && v.P != nil {
		reply.Lines = append(reply.Lines, line)
		reply.Buttons = gateButtons(a.Athlete, v, env.Now)
	}
	return reply, nil
}

// said says each test back, with the change since last time where it can be judged. Both sides of
// one test stand together.
func said(env *Env, st rehab.State, sided []rehab.Tested, at time.Time) []string {
	var out []string
	for i, b := range sided {
		t, _ := env.Lang.Protocol.Test(b.Test)
		s := join(" ", b.Side.Short(), b.Choice, sayTrials(b.Trials), b.Absent, b.Reason, sayPain(b))
		now, ok := t.Counted(b.Trials)
		if last, had := previous(st, t, b.Side, at, env); ok && had && last.Choice == "" && !last.Value.Failed && !b.Masked {
			s += change(t, last, now)
		}
		if i > 0 && sided[i-1].Test == b.Test {
			out[len(out)-1] += " " + s
			continue
		}
		out = append(out, t.Key+" "+s)
	}
	return out
}

// warnings says what a value is known to mean, unless a sprain is too recent for it to mean that.
func warnings(env *Env, state rehab.Assessment, sided []rehab.Tested, at time.Time) []string {
	var out []string
	for _, b := range sided {
		t, _ := env.Lang.Protocol.Test(b.Test)
		v, ok := t.Counted(b.Trials)
		if !ok || t.Warn.Says == "" || v.Value > t.Warn.AtMost {
			continue
		}
		recent := slices.ContainsFunc(state.Views, func(ep rehab.View) bool {
			return ep.Side == b.Side && at.Sub(ep.At) < time.Duration(t.Warn.NotForDays)*24*time.Hour
		})
		if !recent {
			out = append(out, fmt.Sprintf("%s %s: %s.", t.Key, b.Side.Short(), t.Warn.Says))
		}
	}
	return out
}

// loaded says that tests loaded an ankle more than it was ready for; they are kept all the same.
func loaded(before rehab.Assessment, sided []rehab.Tested) []string {
	var out []string
	for _, v := range before.Open() {
		by := map[rehab.TooMuch][]string{}
		for _, b := range sided {
			if why := v.Loaded(b); why != "" && !slices.Contains(by[why], b.Test) {
				by[why] = append(by[why], b.Test)
			}
		}
		if tests := by[rehab.NotCleared]; len(tests) > 0 {
			out = append(out, fmt.Sprintf("NOT CLEARED (%s), and loaded by %s: kept, but no more until it is cleared.", v.Side, strings.Join(tests, ", ")))
		}
		if tests := by[rehab.AboveStage]; len(tests) > 0 {
			out = append(out, fmt.Sprintf("ABOVE %s (%s), where nothing leaves the ground: %s. Kept, but no more of it yet.", strings.ToUpper(v.Stage.Name), v.Side, strings.Join(tests, ", ")))
		}
	}
	return out
}

func sayTrials(trials []rehab.Trial) string {
	var out []string
	for _, tr := range trials {
		tr.Value = math.Round(tr.Value*100) / 100
		out = append(out, typed(tr))
	}
	return strings.Join(out, " ")
}

func sayPain(b rehab.Tested) string {
	switch {
	case b.Masked:
		return "(masked: tells nothing)"
	case b.Pain != nil:
		return fmt.Sprintf("pain %d", *b.Pain)
	}
	return ""
}

func change(t rehab.Test, last rehab.Day, now rehab.Trial) string {
	diff := now.Value - last.Value.Value
	if diff == 0 {
		return " (as on " + last.Date.Format("Mon 2 Jan") + ")"
	}
	real, judged := t.RealChange(last.Value.Value, now.Value)
	sign := "+"
	if diff < 0 {
		sign = "−"
	}
	out := fmt.Sprintf(" (%s%s since %s", sign, rehab.Number(math.Abs(diff)), last.Date.Format("Mon 2 Jan"))
	switch {
	case !judged:
		return out + ")"
	case real:
		return out + ", real change)"
	}
	return out + ", no real change)"
}
