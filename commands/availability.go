package commands

import (
	"context"
	"fmt"
	"time"

	"footing/rehab"
)

// causes is the closed list of why an athlete is not available. Only medical staff read it.
var causes = NewWords(
	Word{"illness", []string{"ill", "sick", "sickness", "unwell", "flu", "virus", "fever"}},
	Word{"injury", []string{"injured"}},
	Word{"personal", []string{"personal reasons", "family", "bereavement"}},
	Word{"travel", []string{"travelling", "traveling"}},
	Word{"school", []string{"exam", "exams"}},
	Word{"suspension", []string{"suspended", "ban", "banned"}},
	Word{"other", []string{"other reason"}},
)

// privateCauses can be nothing but a cause: no training is called illness.
var privateCauses = []string{"illness", "injury", "personal"}

type restrictArgs struct {
	Athlete       rehab.Athlete
	Cause         string
	Limits        []string
	Until, Review string
	Note          string
}

func restriction(name, summary string, level rehab.Level, limits func(Field) Field, also, examples []string) *Command {
	return New(Def[restrictArgs]{
		Name: name, Also: also, Summary: summary,
		Needs: rehab.Decide, Privacy: MedicalOnly,
		Fields: func(a *restrictArgs) []Field {
			return []Field{
				Athlete(&a.Athlete), Opt(Choice("cause", &a.Cause, causes)), limits(Limits(&a.Limits)),
				Until(untilDay, &a.Until), Until(reviewDay, &a.Review), Note(&a.Note),
			}
		},
		Subject:  func(a *restrictArgs) *rehab.Athlete { return &a.Athlete },
		Examples: examples,
		Run: func(ctx context.Context, env *Env, a restrictArgs) (Reply, error) {
			return restrict(ctx, env, a, level, name == "modified")
		},
	})
}

func needed(f Field) Field { return f }

// The three ways to limit an athlete for any cause. Unavailable and limit only ever add; modified
// says the level, and asks when that would lift an earlier word.
var (
	UnavailableCmd = restriction("unavailable", "Not available, for any cause; coaches read the dates, never the cause.", rehab.Unavailable, Opt, nil,
		[]string{"unavailable 12 illness until fri", "unavailable 12 suspension until 2026-03-10 review mon note: hearing on Thursday"})
	ModifiedCmd = restriction("modified", "Trains with limits: say in coaching words what they cannot do.", rehab.Modified, needed, nil,
		[]string{"modified 7 no contact until fri", "modified 7 injury no contact, no sprinting review mon"})
	LimitCmd = restriction("limit", "Add limits to what was said before; lifts nothing.", rehab.Modified, needed, []string{"restrict"},
		[]string{"limit 7 no contact, no sprinting until 2026-03-10"})
)

func restrict(ctx context.Context, env *Env, a restrictArgs, level rehab.Level, sets bool) (Reply, error) {
	state, err := env.Assess(ctx, a.Athlete)
	if err != nil {
		return Reply{}, err
	}
	entry := func(b rehab.Body) rehab.Entry { return rehab.Entry{Athlete: a.Athlete.ID, At: env.Told, Body: b} }
	body := rehab.Restricted{Level: level, Cannot: a.Limits, Cause: a.Cause, Until: a.Until, Review: a.Review}
	entries := []rehab.Entry{entry(body)}
	if last, lifts := unavailableUntil(state.State.Current(env.Now)); sets && lifts {
		if !env.Confirmed {
			return Reply{}, &Refusal{
				Says:    fmt.Sprintf("%s is unavailable%s. Modified from now instead? To keep both, type limit in place of modified.", a.Athlete.Label(), until(last, env.Now)),
				Buttons: []Button{{Label: "Modified from now", Line: env.Call.Text(), Confirmed: true}},
			}
		}
		entries = []rehab.Entry{entry(rehab.Restricted{Level: rehab.Full}), entry(body)}
	}
	if a.Note != "" {
		entries = append(entries, entry(rehab.Noted{Text: a.Note}))
	}
	next, err := env.foresee(ctx, a.Athlete, entries)
	if err != nil {
		return Reply{}, err
	}
	says := string(level)
	if level == rehab.Modified && !sets {
		says = "limits added"
	}
	reply := lines(a.Athlete.Label()+": "+says+a.say(env.Now)+env.noted(a.Athlete, a.Note), "Coaches read: "+standing(next.Availability, env.Now))
	switch {
	case next.Level == rehab.Full:
		reply.Lines = append(reply.Lines, "It is over, or was ended since.") // an old line, edited
	case level == rehab.Unavailable && next.Ankle.Level != level && next.Until != a.Until:
		reply.Lines = append(reply.Lines, fmt.Sprintf("What was said before runs longer. To shorten it: available %d, then this line again.", a.Athlete.Shirt))
	case a.Until == "":
		reply.Lines = append(reply.Lines, fmt.Sprintf("It stands until you type: available %d", a.Athlete.Shirt))
	}
	reply.Entries = entries
	return reply, nil
}

// say is what was understood beside the level, with the dates it was read as.
func (a restrictArgs) say(now time.Time) string {
	why := ""
	if a.Cause != "" {
		why = " (" + a.Cause + ")"
	}
	return why + until(a.Until, now) + rehab.Prefixed(", review ", dayOf(a.Review, now)) + "." + stop(cannot(a.Limits, nil, now))
}

// unavailableUntil is the last day for which anything said keeps an athlete unavailable, "" when that
// is open; false when nothing does.
func unavailableUntil(said []rehab.Restriction) (last string, is bool) {
	av := rehab.Availability{Level: rehab.Full}
	for _, r := range said {
		av = av.With(r)
	}
	return av.Until, av.Level == rehab.Unavailable
}

type availableArgs struct {
	Athlete rehab.Athlete
	Note    string
}

// AvailableCmd ends what was said before, from now. What an ankle under treatment demands stands:
// only its own decisions change that.
var AvailableCmd = New(Def[availableArgs]{
	Name:    "available",
	Summary: "End what was said before, from now; an ankle under treatment still decides for itself.",
	Exact:   true,
	Needs:   rehab.Decide,
	Privacy: MedicalOnly,
	Fields: func(a *availableArgs) []Field {
		return []Field{Athlete(&a.Athlete), Note(&a.Note)}
	},
	Subject:  func(a *availableArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"available 12", "available 12 note: fever gone since Tuesday"},
	Run: func(ctx context.Context, env *Env, a availableArgs) (Reply, error) {
		state, err := env.Assess(ctx, a.Athlete)
		if err != nil {
			return Reply{}, err
		}
		who, demands := a.Athlete.Label(), state.Ankle.Level != rehab.Full
		alarmed := !state.State.Alert.IsZero()
		switch ends := state.State.Current(env.Now); {
		case alarmed: // medical staff who say so have seen them
		case len(ends) == 0 && demands:
			return Reply{}, refuse("%s is %s because of an ankle under treatment, and available does not change that. See: ready %d", who, state.Level, a.Athlete.Shirt)
		case len(ends) == 0:
			return Reply{}, refuse("%s is full already. Nothing to end.", who)
		}
		entries := []rehab.Entry{{Athlete: a.Athlete.ID, At: env.Told, Body: rehab.Restricted{Level: rehab.Full}}}
		if a.Note != "" {
			entries = append(entries, rehab.Entry{Athlete: a.Athlete.ID, At: env.Told, Body: rehab.Noted{Text: a.Note}})
		}
		next, err := env.foresee(ctx, a.Athlete, entries)
		if err != nil {
			return Reply{}, err
		}
		reply := lines(who + ": what was said before ends now." + env.noted(a.Athlete, a.Note))
		if alarmed {
			reply.Lines = append(reply.Lines, "Their word that something is wrong counts as seen by you.")
		}
		if demands {
			reply.Lines = append(reply.Lines, fmt.Sprintf("The ankle under treatment still decides. See: ready %d", a.Athlete.Shirt))
		}
		reply.Lines = append(reply.Lines, "Coaches read: "+standing(next.Availability, env.Now))
		reply.Entries = entries
		return reply, nil
	},
})
