package commands

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"footing/rehab"
)

type planArgs struct {
	Athlete rehab.Athlete
	Side    rehab.Side
}

// Plan shows today's drills.
var Plan = New(Def[planArgs]{
	Name:    "plan",
	Also:    []string{"drills"},
	Summary: "Today's drills, with doses.",
	Needs:   rehab.ReportSelf,
	Privacy: OwnOnly,
	Self:    true,
	Fields: func(a *planArgs) []Field {
		return []Field{Athlete(&a.Athlete), Opt(Side(&a.Side))}
	},
	Subject:  func(a *planArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"plan 7"},
	Run: func(ctx context.Context, env *Env, a planArgs) (Reply, error) {
		state, err := env.Assess(ctx, a.Athlete)
		if err != nil {
			return Reply{}, err
		}
		v, err := openOn(env, state, a.Side)
		if err != nil {
			return Reply{}, err
		}
		if why := noDrills(state.State, v); why != "" {
			return Reply{Lines: []string{why}, Health: true}, nil
		}
		reply := Reply{Health: true}
		reply.Lines = append(reply.Lines, fmt.Sprintf("%s, today:", v.Stage.Name))
		for _, d := range stageDrills(v, env.Now) {
			reply.Lines = append(reply.Lines, fmt.Sprintf("• %s: %s (%s)", upper(d.Name), d.Levels[0].Dose, d.Cue))
		}
		reply.Lines = append(reply.Lines, fmt.Sprintf("Stop at pain above %d, or if the ankle gives.", v.P.Response.DrillsTolerated))
		return reply, nil
	},
})

// noDrills says why none are proposed.
func noDrills(st rehab.State, v rehab.View) string {
	switch {
	case !st.Alert.IsZero():
		return "No drills: something is wrong with it. Do not load it until medical staff have examined it."
	case v.Screening.Held(v.P):
		return "No drills: the ankle is held. Protect it and do not load it until medical staff say so."
	case !v.Screening.Cleared:
		return "No drills yet: the ankle is not cleared. Protect it and do not load it until medical staff say so."
	case !v.Course.Guided:
		return "No drills are proposed on this course: do what medical staff tell you."
	}
	return ""
}

// planLength is how many drills fit ten minutes, for now at two minutes each.
const planLength = 5

// stageDrills are the stage's drills in the order of the catalogue. After a worse morning nothing
// leaves the ground.
func stageDrills(v rehab.View, now time.Time) []rehab.Drill {
	var out []rehab.Drill
	stage := v.P.Stages[v.ForToday(now)].Key
	for _, d := range v.P.Drills {
		if slices.Contains(d.Stages, stage) && len(out) < planLength {
			out = append(out, d)
		}
	}
	return out
}

var did = NewWords(
	Word{"all", []string{"everything", "done all"}}, Word{"some", []string{"partly", "part", "half"}}, Word{"none", []string{"skip", "skipped", "not today"}},
)

type doneArgs struct {
	Athlete rehab.Athlete
	Side    rehab.Side
	Did     string
	Pain    float64
	Drills  []string
	Why     string
	At      time.Time
}

// Done records how the drills went.
var Done = New(Def[doneArgs]{
	Name:    "done",
	Also:    []string{"did"},
	Summary: "Drills done: all, some or skip, the worst pain 0–10, and why not.",
	Needs:   rehab.ReportSelf,
	Privacy: OwnOnly,
	Self:    true,
	Fields: func(a *doneArgs) []Field {
		return []Field{
			Athlete(&a.Athlete), Opt(Side(&a.Side)), Opt(Choice("did", &a.Did, did)), Opt(Pain(optional(&a.Pain), false)),
			Flags("drills", &a.Drills, Words{}, func(l *Lang) []phrase { return l.drills }), When(&a.At), Opt(careful(Rest("why", ": why", &a.Why))),
		}
	},
	Subject:  func(a *doneArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"done 7 pain 2", "done 7 some pain 4 : no time", "done 7 skip : bus was late"},
	Run:      logDone,
})

// optional starts a number at "not given".
func optional(to *float64) *float64 {
	*to = -1
	return to
}

func logDone(ctx context.Context, env *Env, a doneArgs) (Reply, error) {
	state, err := env.Assess(ctx, a.Athlete)
	if err != nil {
		return Reply{}, err
	}
	v, err := openOn(env, state, a.Side)
	if err != nil {
		return Reply{}, err
	}
	if why := noDrills(state.State, v); why != "" {
		return Reply{}, refuse("%s Nothing was saved.", why)
	}
	at := env.at(a.At)
	if at.Before(v.At) {
		return Reply{}, refuse("%s is before the sprain (%s).", day(at), day(v.At))
	}
	for _, key := range a.Drills {
		if err := notAbove(v, key); err != nil {
			return Reply{}, err
		}
	}
	body := rehab.Trained{Did: a.Did, Drills: a.Drills, Why: a.Why, Stage: v.Stage.Key}
	switch {
	case body.Did == "" && a.Pain >= 0:
		body.Did = "all"
	case body.Did == "":
		return Reply{}, refuse("All, some or skip? For example: done %d all pain 2", a.Athlete.Shirt)
	case body.Did == "none" && a.Why == "":
		return Reply{}, refuse("Why not? For example: done %d skip : bus was late", a.Athlete.Shirt)
	case body.Did != "none" && a.Pain < 0:
		return Reply{}, refuse("How much did it hurt at worst, 0 to 10? For example: done %d %s pain 2", a.Athlete.Shirt, body.Did)
	}
	if a.Pain >= 0 {
		pain := int(a.Pain)
		body.Pain = &pain
	}
	entries := []rehab.Entry{{Athlete: a.Athlete.ID, Episode: v.Number, At: at, Body: body}}
	if body.Pain != nil && body.Did != "none" {
		entries = append(entries, rehab.Entry{Athlete: a.Athlete.ID, Episode: v.Number, At: at, Body: rehab.Tested{Test: "pain-drills", Trials: []rehab.Trial{{Value: a.Pain}}}})
	}
	reply := Reply{Entries: entries, Health: true}
	reply.Lines = []string{fmt.Sprintf("%s, %s: drills %s%s%s. %s", name(a.Athlete, v), day(at), body.Did, painWord(body.Pain), rehab.Prefixed(", ", a.Why), painMeans(v.P.Response, body.Pain))}
	return reply, nil
}

// notAbove refuses a drill of a later stage.
func notAbove(v rehab.View, key string) error {
	for _, d := range v.P.Drills {
		if d.Key != key {
			continue
		}
		if _, rank := v.P.Stage(d.Stages[0]); rank > v.Rank {
			return refuse("%s belongs to %s; this ankle is in %s. Nothing was saved. If it was done, tell the medical staff.", upper(d.Name), upper(d.Stages[0]), v.Stage.Name)
		}
	}
	return nil
}

func painWord(p *int) string {
	if p == nil {
		return ""
	}
	return fmt.Sprintf(", pain %d", *p)
}

// painMeans explains pain in drills by the protocol's bands.
func painMeans(r rehab.Response, p *int) string {
	switch {
	case p == nil:
		return ""
	case *p <= r.DrillsFine:
		return "That is fine."
	case *p <= r.DrillsTolerated:
		return "Tolerated, but it does not count as progress; nothing harder next time."
	}
	return "Too much: stop, one level down next time."
}

// HistoryCmd lists the last two weeks of an ankle.
var HistoryCmd = New(Def[planArgs]{
	Name:    "history",
	Summary: "The last two weeks of an ankle: drills, mornings, decisions.",
	Needs:   rehab.ReadMedical,
	Privacy: MedicalOnly,
	Fields: func(a *planArgs) []Field {
		return []Field{Athlete(&a.Athlete), Opt(Side(&a.Side))}
	},
	Subject:  func(a *planArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"history 7"},
	Run: func(ctx context.Context, env *Env, a planArgs) (Reply, error) {
		state, err := env.Assess(ctx, a.Athlete)
		if err != nil {
			return Reply{}, err
		}
		v, err := openOn(env, state, a.Side)
		if n := len(state.Views); err != nil && len(state.Open()) == 0 && n > 0 {
			v, err = state.Views[n-1], nil // the latest one, returned
		}
		if err != nil {
			return Reply{}, err
		}
		return lines(append([]string{fmt.Sprintf("%s, the last two weeks:", name(a.Athlete, v))}, historyLines(env, v)...)...), nil
	},
})

// historyLines gives one line per local day, latest first.
func historyLines(env *Env, v rehab.View) []string {
	byDay := map[string][]string{}
	var days []time.Time
	entries := slices.Clone(v.Entries)
	slices.SortStableFunc(entries, func(x, y rehab.Entry) int { return x.At.Compare(y.At) })
	for _, e := range entries {
		at := e.At.In(env.Now.Location())
		if rehab.DaysBetween(at, env.Now, env.Now.Location()) > 14 {
			continue
		}
		key := at.Format(time.DateOnly)
		if byDay[key] == nil {
			days = append(days, at)
		}
		byDay[key] = append(byDay[key], kindWords(env, e.Body))
	}
	var out []string
	for i := len(days) - 1; i >= 0; i-- {
		out = append(out, days[i].Format("Mon 2 Jan")+": "+strings.Join(byDay[days[i].Format(time.DateOnly)], ", "))
	}
	return out
}
