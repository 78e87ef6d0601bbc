package commands

import (
	"context"
	"fmt"
	"strings"

	"footing/rehab"
)

// keptKinds are the kinds of record, as an athlete reads of them, one and many.
var keptKinds = []struct {
	kinds     []rehab.Kind
	one, many string
}{
	{[]rehab.Kind{rehab.KindSprained}, "sprain", "sprains"},
	{[]rehab.Kind{rehab.KindScreened, rehab.KindLifted, rehab.KindPlayedOn}, "examination", "examinations"},
	{[]rehab.Kind{rehab.KindTested}, "test", "tests"},
	{[]rehab.Kind{rehab.KindResponded}, "morning answer", "morning answers"},
	{[]rehab.Kind{rehab.KindPlanned, rehab.KindTrained}, "plan or drill session", "plans and drill sessions"},
	{[]rehab.Kind{rehab.KindWorked}, "session's effort", "sessions' efforts"},
	{[]rehab.Kind{rehab.KindDecided, rehab.KindAdopted}, "decision about a stage", "decisions about stages"},
	{[]rehab.Kind{rehab.KindRestricted, rehab.KindSupported}, "restriction or support", "restrictions and supports"},
	{[]rehab.Kind{rehab.KindPast}, "word about earlier injuries", "words about earlier injuries"},
	{[]rehab.Kind{rehab.KindNoted}, "note", "notes"},
	{[]rehab.Kind{rehab.KindJoined, rehab.KindChanged, rehab.KindDeparted, rehab.KindLinked}, "change of roster or account", "changes of roster or account"},
	{[]rehab.Kind{rehab.KindPreferred}, "wish about reminders", "wishes about reminders"},
	{[]rehab.Kind{rehab.KindConsented}, "word about consent", "words about consent"},
}

// MyData tells an athlete what is kept of them.
var MyData = New(Def[struct{}]{
	Name:          "my-data",
	Summary:       "What is kept about you, and who reads it.",
	BeforeConsent: true,
	Needs:         rehab.ReportSelf,
	Privacy:       OwnOnly,
	Examples:      []string{"my-data"},
	Run: func(ctx context.Context, env *Env, _ struct{}) (Reply, error) {
		me, st, err := env.oneself(ctx, "my-data")
		if err != nil {
			return Reply{}, err
		}
		entries, err := env.Records.Entries(ctx, me.ID)
		if err != nil {
			return Reply{}, err
		}
		counts := map[rehab.Kind]int{}
		for _, e := range entries {
			counts[e.Body.Kind()]++
		}
		var out []string
		for _, k := range keptKinds {
			n := 0
			for _, kind := range k.kinds {
				n += counts[kind]
			}
			switch {
			case n == 1:
				out = append(out, "1 "+k.one)
			case n > 1:
				out = append(out, fmt.Sprintf("%d %s", n, k.many))
			}
		}
		if len(out) == 0 {
			out = []string{"nothing yet"}
		}
		consent := "You have not agreed; nothing is asked or sent. Type consent to read what it is about."
		if c := st.Consent.Athlete; c.Given {
			consent = "You agreed on " + c.At.In(env.Now.Location()).Format("Mon 2 Jan 2006") + "; withdraw stops it."
		}
		return lines(
			fmt.Sprintf("Kept about you, %s: %s.", me.Label(), strings.Join(out, ", ")),
			"Medical staff read it. Coaches read what you can train, never why. To see it or have a copy, ask the medical staff.",
			consent,
		), nil
	},
})
