package commands

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"footing/rehab"
)

// HistoryCmd lists the last two weeks of an ankle.
var HistoryCmd = New(Def[readyArgs]{
	Name:    "history",
	Summary: "The last two weeks of an ankle: drills, mornings, decisions.",
	Needs:   rehab.ReadMedical,
	Privacy: MedicalOnly,
	Looks:   true,
	Fields: func(a *readyArgs) []Field {
		return []Field{Athlete(&a.Athlete), Opt(Side(&a.Side))}
	},
	Subject:  func(a *readyArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"history 7"},
	Run: func(ctx context.Context, env *Env, a readyArgs) (Reply, error) {
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
		if e.Body.Kind() == rehab.KindPlanned || rehab.DaysBetween(at, env.Now, env.Now.Location()) > 14 {
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
