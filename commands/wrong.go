package commands

import (
	"context"
	"fmt"

	"footing/rehab"
)

type wrongArgs struct {
	Athlete rehab.Athlete
	What    string
}

// Wrong is how an athlete says that something is not right, in their own words. Medical staff are told
// at once; the words are theirs to read, nothing is made of them.
var Wrong = New(Def[wrongArgs]{
	Name:    "wrong",
	Also:    []string{"something is wrong", "something wrong", "somethings wrong", "help me"},
	Summary: "Something is wrong: tells medical staff at once.",
	Needs:   rehab.ReportSelf,
	Privacy: OwnOnly,
	Self:    true,
	Fields: func(a *wrongArgs) []Field {
		return []Field{Athlete(&a.Athlete), Opt(Rest("what", ": what it is", &a.What))}
	},
	Subject:  func(a *wrongArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"wrong 7", "wrong 7 : my foot went cold"},
	Run: func(ctx context.Context, env *Env, a wrongArgs) (Reply, error) {
		state, err := env.Assess(ctx, a.Athlete)
		if err != nil {
			return Reply{}, err
		}
		v, _ := state.OpenOn(rehab.None)
		reply := lines("Medical staff have been told. Stop, do not load it. If it is bad or getting worse, call emergency services: nobody watches this overnight.")
		if RedFlag(a.What, env.Lang) != "" {
			reply = lines("Medical staff have been told. Stop, do not load it. If you cannot reach them NOW, call emergency services: this cannot wait, and nobody watches this overnight.")
		}
		if a.What == "" {
			reply.Lines = append(reply.Lines, "What is it? Press one, or type: "+env.line("wrong", a.Athlete, ": what you feel"))
			reply.Buttons = env.alarmButtons(a.Athlete)
		}
		reply.Alerts = []string{"ALERT: " + a.Athlete.Label() + " says something is wrong" + rehab.Prefixed(": ", a.What) + ". See them now. " + onceSeen(state, v)}
		reply.Entries = []rehab.Entry{{Athlete: a.Athlete.ID, Episode: v.Number, At: env.Told, Body: rehab.Noted{Text: join(": ", "something is wrong", a.What), Alert: true}}}
		return reply, nil
	},
})

// onceSeen is what ends an alert: an examination of the ankle it is about, of any where it names none, or
// the word of whoever saw them.
func onceSeen(state rehab.Assessment, about rehab.View) string {
	shirt, ankle := state.State.Athlete.Shirt, ""
	switch {
	case about.Number > 0:
		ankle = fmt.Sprintf("screen %d %s and what you found, or ", shirt, about.Side)
	case len(state.Open()) > 0:
		ankle = fmt.Sprintf("screen %d left (or right) and what you found, or ", shirt)
	}
	return fmt.Sprintf("Once seen, type: %sseen %d: what it was", ankle, shirt)
}
