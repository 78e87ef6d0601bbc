package commands

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"footing/rehab"
)

var swellings = NewWords(
	Word{"less", []string{"swelling less", "less swelling", "less swollen", "down", "swelling down", "no swelling", "nil swelling", "swelling nil", "swelling none", "swelling gone"}},
	Word{"same", []string{"swelling same", "swelling the same", "no change", "unchanged", "same swelling"}},
	Word{"more", []string{"swelling more", "up", "swelling up", "more swelling", "more swollen"}},
)

var signs = NewWords(Word{"limp", []string{"limping"}}, Word{nothing, []string{"nothing else", "nothing more"}})

// nothing is the answer that there is no sign.
const nothing = "nothing"

type morningArgs struct {
	Athlete  rehab.Athlete
	Side     rehab.Side
	Pain     float64
	Swelling string
	Signs    []string
	At       time.Time
	Note     string
}

// Morning records how the ankle answered: the first ten steps, swelling, giving way.
var Morning = New(Def[morningArgs]{
	Name:    "morning",
	Also:    []string{"am", "this morning"},
	Summary: "How the ankle is this morning: first ten steps 0–10, swelling less, same or more.",
	Needs:   rehab.ReportSelf,
	Privacy: OwnOnly,
	Self:    true,
	Fields: func(a *morningArgs) []Field {
		pain := Opt(Pain(optional(&a.Pain), true))
		pain.check = func() error { // asked for where nothing else is said
			if a.Pain < 0 && (a.Swelling != "" || len(a.Signs) > 0 || !a.At.IsZero() || a.Note != "") {
				return refuse("morning: what pain? For example: morning 7 pain 1 same")
			}
			if slices.Contains(a.Signs, nothing) && len(a.Signs) > 1 {
				return refuse("Nothing, or %s? Say one.", strings.Join(slices.DeleteFunc(slices.Clone(a.Signs), is(nothing)), ", "))
			}
			return nil
		}
		return []Field{
			Athlete(&a.Athlete), Opt(Side(&a.Side)), pain,
			Opt(Choice("swelling", &a.Swelling, swellings)),
			Flags("signs", &a.Signs, signs, func(l *Lang) []phrase { return l.alarms }),
			When(&a.At), Note(&a.Note),
		}
	},
	Subject:  func(a *morningArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"morning 7 pain 1 same", "morning 7 pain 5 more limp"},
	Run:      logMorning,
})

func logMorning(ctx context.Context, env *Env, a morningArgs) (Reply, error) {
	before, err := env.answering(ctx, a.Athlete, a.Side)
	if err != nil {
		return Reply{}, err
	}
	v := before
	if a.Pain < 0 {
		return MorningCard(env, a.Athlete, v), nil
	}
	at := env.at(a.At)
	if at.Before(v.At) {
		return Reply{}, refuse("%s is before the sprain (%s). Say which morning.", day(at), day(v.At))
	}
	body := rehab.Responded{Pain: int(a.Pain), Swelling: a.Swelling, ByStaff: env.Medical}
	body.Limp = slices.Contains(a.Signs, "limp")
	body.Alarms = slices.DeleteFunc(slices.Clone(a.Signs), func(s string) bool { return s == "limp" || s == nothing })
	entries := []rehab.Entry{{Athlete: a.Athlete.ID, Episode: v.Number, At: at, Body: body}}
	if a.Note != "" {
		entries = append(entries, rehab.Entry{Athlete: a.Athlete.ID, Episode: v.Number, At: at, Body: rehab.Noted{Text: a.Note}})
	}
	var alarms []string
	for _, key := range body.Alarms {
		alarm, _ := v.P.Alarm(key)
		alarms = append(alarms, alarm.Name)
	}
	if !v.Open && len(alarms) > 0 { // nothing of a returned ankle is held: it stands until somebody has seen them
		entries = append(entries, rehab.Entry{Athlete: a.Athlete.ID, Episode: v.Number, At: at, Body: rehab.Noted{Text: "something is wrong: " + strings.Join(alarms, ", "), Alert: true}})
	}
	next, err := env.foresee(ctx, a.Athlete, entries)
	if err != nil {
		return Reply{}, err
	}
	reply := Reply{Entries: entries, Health: true}
	if i := slices.IndexFunc(next.Views, func(w rehab.View) bool { return w.Number == v.Number }); i >= 0 {
		v = next.Views[i]
	}
	summary := fmt.Sprintf("pain %d%s%s%s", body.Pain, rehab.Prefixed(", swelling ", body.Swelling), limp(body.Limp), rehab.Prefixed(", ", strings.Join(alarms, ", ")))
	if len(alarms) > 0 {
		reply.Alerts = []string{"ALERT: " + name(a.Athlete, v) + ", this morning: " + strings.Join(alarms, ", ") + ". See them now."}
		if !v.Open {
			reply.Alerts[0] += " " + onceBack(a.Athlete, v)
		}
	}
	asks, buttons := askMorning(env, a)
	replaced := ""
	if len(env.Replaces) == 0 {
		replaced = replaces(before, body, at.In(env.Now.Location()))
	}
	reply.Buttons = buttons
	if !env.Medical {
		reply.Lines = thanks(env, v, summary, asks, len(alarms) > 0)
		return reply, nil
	}
	verdict := "Not worse."
	if body.Swelling == "" {
		verdict = "Not worse as far as told: swelling less, same or more?"
	}
	if v.Morning.Worse {
		verdict = "WORSE: " + v.Morning.Why + ". " + afterWorse(v, env.Now)
		if !v.Open {
			verdict += " " + onceBack(a.Athlete, v)
		}
	}
	reply.Lines = []string{fmt.Sprintf("%s, %s: %s. %s%s", name(a.Athlete, v), day(at), summary, verdict, env.noted(a.Athlete, a.Note))}
	if replaced != "" {
		reply.Lines = append(reply.Lines, replaced)
	}
	if v.Screening.Held(v.P) {
		reply.Lines = append(reply.Lines, screenCard(a.Athlete, v)...)
	}
	return reply, nil
}

// thanks is what an athlete reads who told of a morning.
func thanks(env *Env, v rehab.View, summary, asks string, alarm bool) []string {
	out := []string{"Thanks: " + summary + ". Medical staff read this; coaches do not, and nobody watches overnight."}
	if asks != "" {
		out = append(out, asks)
	}
	if alarm {
		out = append(out, "Stop, do not load it. Medical staff have been told. If it gets worse, call emergency services.")
	} else if v.WorseStands(env.Now) && v.Screening.Cleared {
		out = append(out, "Worse than it should be: take it easier today, nothing that leaves the ground. Type plan for what to do.")
	}
	return out
}

// answering finds the ankle a morning is told of: one under treatment, else one back in matches whose
// prevention block runs.
func (e *Env) answering(ctx context.Context, a rehab.Athlete, side rehab.Side) (rehab.View, error) {
	state, err := e.Assess(ctx, a)
	if err != nil {
		return rehab.View{}, err
	}
	state.Prevention = slices.DeleteFunc(state.Prevention, func(b rehab.Block) bool { return b.View.Number == 0 })
	v, _, err := trainable(e, state, side)
	return v, err
}

// onceBack proposes what to do about an ankle that is worse since its return.
func onceBack(a rehab.Athlete, v rehab.View) string {
	return fmt.Sprintf("It was returned: examine it again, then seen %d: what it was. Sprained anew: sprain %d %s", a.Shirt, a.Shirt, v.Side)
}

func is(word string) func(string) bool { return func(s string) bool { return s == word } }

func limp(is bool) string {
	if is {
		return ", limp"
	}
	return ""
}

// replaces says that an answer of the same morning was worse and no longer counts, "" when none was.
func replaces(v rehab.View, now rehab.Responded, at time.Time) string {
	for _, m := range v.Mornings {
		was := m.Answer
		if m.Date.Format(time.DateOnly) == at.Format(time.DateOnly) && (was.Pain > now.Pain || was.Limp && !now.Limp || was.Swelling == "more" && now.Swelling != "more") {
			return fmt.Sprintf("It takes the place of pain %d%s%s, told earlier this morning; undo brings that back.", was.Pain, rehab.Prefixed(", swelling ", was.Swelling), limp(was.Limp))
		}
	}
	return ""
}
