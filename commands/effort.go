package commands

import (
	"context"
	"fmt"
	"time"

	"footing/rehab"
)

type effortArgs struct {
	Athlete rehab.Athlete
	Effort  float64
	Minutes float64
	What    string
	At      time.Time
}

var efforts = NewWords(
	Word{"training", []string{"team training", "practice"}}, Word{"match", []string{"game"}}, Word{"drills", []string{"rehab"}},
	Word{"gym", []string{"weights"}}, Word{"other", nil},
)

var effortWords = phrases("effort", "effort", "rpe", "srpe")

// Effort records how hard a session was and how long: session RPE.
var Effort = New(Def[effortArgs]{
	Name:    "effort",
	Also:    []string{"rpe", "srpe"},
	Summary: "How hard a session was, 0–10, and its minutes.",
	Needs:   rehab.ReportSelf,
	Privacy: OwnOnly,
	Self:    true,
	Fields: func(a *effortArgs) []Field {
		return []Field{
			Athlete(&a.Athlete), Minutes("minutes", optional(&a.Minutes), 1), Effortful(optional(&a.Effort)),
			Opt(Choice("what", &a.What, efforts)), When(&a.At),
		}
	},
	Subject:  func(a *effortArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"effort 7 6 90min training", "effort 7 8/10 80min match yesterday"},
	Run:      logEffort,
})

// Effortful is 0 to 10: "6", "6/10", "rpe 6".
func Effortful(to *float64) Field {
	return keyed("effort", to, 0, 10, true, effortWords, func(r *reader) (float64, int, error) {
		if v, n, err := afterKey(r, effortWords, 0, 10); n > 0 || err != nil {
			return v, n, err
		}
		if w := r.peek(0); outOfTen.MatchString(w) || scoreOnly.MatchString(w) && units[r.peek(1)] == "" {
			v, n, _ := number(r, 10)
			return v, n, nil
		}
		return 0, 0, nil
	})
}

func logEffort(ctx context.Context, env *Env, a effortArgs) (Reply, error) {
	at := env.at(a.At)
	if err := env.askOld(at); err != nil {
		return Reply{}, err
	}
	b := rehab.Worked{What: a.What, Effort: int(a.Effort), Minutes: int(a.Minutes)}
	state, err := env.Assess(ctx, a.Athlete)
	if err != nil {
		return Reply{}, err
	}
	episode := 0
	if open := state.Open(); len(open) == 1 && !at.Before(open[0].At) {
		episode = open[0].Number
	}
	reply := lines(fmt.Sprintf("%s, %s: effort %d × %d min = %d.", a.Athlete.Label(), day(at), b.Effort, b.Minutes, b.Effort*b.Minutes))
	reply.Entries = []rehab.Entry{{Athlete: a.Athlete.ID, Episode: episode, At: at, Body: b}}
	return reply, nil
}

// Load describes what an athlete did: ground contacts and effort × minutes.
var Load = New(Def[readyArgs]{
	Name:    "load",
	Summary: "What the leg and the athlete did: ground contacts, running, effort × minutes.",
	Needs:   rehab.ReadMedical,
	Privacy: MedicalOnly,
	Fields: func(a *readyArgs) []Field {
		return []Field{Athlete(&a.Athlete), Opt(Side(&a.Side))}
	},
	Subject:  func(a *readyArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"load 7"},
	Run: func(ctx context.Context, env *Env, a readyArgs) (Reply, error) {
		state, err := env.Assess(ctx, a.Athlete)
		if err != nil {
			return Reply{}, err
		}
		side := a.Side
		if open := state.Open(); side == rehab.None && len(open) > 0 {
			side = open[0].Side
		}
		if side == rehab.None {
			side = rehab.Left
		}
		return lines(loadLines(env, a.Athlete, side, rehab.Loads(state.State, env.Protocol, side, env.Now))...), nil
	},
})

func loadLines(env *Env, a rehab.Athlete, side rehab.Side, days []rehab.DayLoad) []string {
	if len(days) == 0 {
		return []string{a.Label() + ": nothing recorded yet. Plans and done count by themselves; sessions: effort " + fmt.Sprint(a.Shirt) + " 6 90min training"}
	}
	var contacts, effort []float64
	week := rehab.DayLoad{}
	for i, d := range days {
		contacts, effort = append(contacts, float64(d.Contacts)), append(effort, float64(d.Effort))
		if i >= len(days)-7 {
			week.Contacts, week.Running, week.Effort = week.Contacts+d.Contacts, week.Running+d.Running, week.Effort+d.Effort
			week.Assumed = week.Assumed || d.Assumed
		}
	}
	today := days[len(days)-1]
	out := []string{
		fmt.Sprintf("%s %s, load to %s:", a.Label(), side.Short(), env.Now.Format("Mon 2 Jan")),
		fmt.Sprintf("Ground contacts: today %d, 7 days %d; average a day %s (7-day), %s (28-day).", today.Contacts, week.Contacts, rehab.Number(rehab.EWMA(contacts, 7)), rehab.Number(rehab.EWMA(contacts, 28))),
		fmt.Sprintf("Effort × min: today %d, 7 days %d; average a day %s (7-day), %s (28-day).", today.Effort, week.Effort, rehab.Number(rehab.EWMA(effort, 7)), rehab.Number(rehab.EWMA(effort, 28))),
		fmt.Sprintf("Running: today %d min, 7 days %d min.", today.Running, week.Running),
	}
	if week.Assumed {
		out = append(out, "A plan nobody answered counts as done.")
	}
	return append(out, "Averages are exponentially weighted. They describe; they do not forecast injury.")
}
