package commands

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"footing/rehab"
)

type whoArgs struct {
	Athlete  rehab.Athlete
	Activity string
}

// Who answers a coach at the side of the pitch: everyone in the fewest words, one athlete, or one
// activity.
var Who = New(Def[whoArgs]{
	Name:    "who",
	Summary: "Who is not full now; who 7 for one athlete; who contact for one activity.",
	Needs:   rehab.ReadAvailability,
	Privacy: Staff,
	Fields: func(a *whoArgs) []Field {
		return []Field{Opt(Athlete(&a.Athlete)), Opt(Rest("activity", "contact", &a.Activity))}
	},
	Subject:  func(a *whoArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"who", "who 7", "who contact"},
	Run: func(ctx context.Context, env *Env, a whoArgs) (Reply, error) {
		squad, err := readSquad(ctx, env)
		if err != nil {
			return Reply{}, err
		}
		if a.Athlete.ID != 0 {
			squad = slices.DeleteFunc(squad, func(m standingOf) bool { return m.ID != a.Athlete.ID })
		}
		switch level, asked := askedLevels[Fold(a.Activity)]; {
		case asked:
			return whoIs(env, squad, level), nil
		case a.Activity != "":
			return whoMay(env, squad, a.Activity), nil
		case a.Athlete.ID != 0:
			return lines(a.Athlete.Label() + ": " + standing(squad[0].Availability, env.Now)), nil
		}
		return whoIsNotFull(env, squad), nil
	},
})

// askedLevels are the words after who that ask for a level, not for an activity.
var askedLevels = map[string]rehab.Level{
	"out": rehab.Unavailable, "unavailable": rehab.Unavailable, "modified": rehab.Modified, "limited": rehab.Modified,
	"full": rehab.Full, "in": rehab.Full, "available": rehab.Full, "fit": rehab.Full,
}

// whoIs lists those of one level.
func whoIs(env *Env, squad []standingOf, level rehab.Level) Reply {
	list := byLevels(env, squad)[level]
	if len(list) == 0 {
		list = []string{"nobody"}
	}
	return lines(listed(upper(string(level))+", "+env.Now.Format("Mon 2 Jan"), list)...)
}

func whoIsNotFull(env *Env, squad []standingOf) Reply {
	byLevel := byLevels(env, squad)
	reply := lines(fmt.Sprintf("%s: %d of %d full.", env.Now.Format("Mon 2 Jan"), len(byLevel[rehab.Full]), len(squad)))
	for _, level := range []rehab.Level{rehab.Unavailable, rehab.Modified} {
		reply.Lines = append(reply.Lines, listed(upper(string(level)), byLevel[level])...)
	}
	return reply
}

// byLevels says of each athlete what keeps them from full work, by level.
func byLevels(env *Env, squad []standingOf) map[rehab.Level][]string {
	byLevel := map[rehab.Level][]string{}
	for _, m := range squad {
		says := m.Label() + until(m.Until, env.Now)
		if limits := cannot(m.Cannot, otherEnds(m.Availability), env.Now); m.Level == rehab.Modified {
			says += rehab.Prefixed(" – no ", strings.TrimPrefix(limits, " Cannot: "))
		}
		byLevel[m.Level] = append(byLevel[m.Level], says)
	}
	return byLevel
}

// whoMay sorts the squad by whether they may do an activity. An ankle's stage lists what may be done:
// what it does not name, or a limit names in part, is asked of medical staff, never guessed.
func whoMay(env *Env, squad []standingOf, activity string) Reply {
	var may, not, ask []string
	for _, m := range squad {
		no := named(m.Cannot, activity)
		yes := named(m.Can, activity)
		switch {
		case m.Level == rehab.Full:
			may = append(may, m.Label())
		case m.Level == rehab.Unavailable:
			not = append(not, m.Label()+until(m.Until, env.Now))
		case no != "":
			not = append(not, m.Label()+until(m.Ends[no], env.Now))
		case yes != "":
			may = append(may, m.Label()+" ("+yes+")")
		case len(m.Can) > 0, slices.ContainsFunc(m.Cannot, func(what string) bool { return overlap(stems(what), stems(activity)) }):
			ask = append(ask, m.Label())
		default:
			// Tackling is contact to whoever plays; the words do not say so.
			ask = append(ask, m.Label()+" (no "+strings.Join(m.Cannot, ", ")+")")
		}
	}
	if len(may) == 0 {
		may = []string{"nobody without asking"}
	}
	reply := lines(fmt.Sprintf("%s, %s.", upper(activity), env.Now.Format("Mon 2 Jan")))
	reply.Lines = append(reply.Lines, listed("May", may)...)
	reply.Lines = append(reply.Lines, listed("May not", not)...)
	reply.Lines = append(reply.Lines, listed("Ask the medical staff about", ask)...)
	return reply
}

func listed(what string, list []string) []string {
	if len(list) == 0 {
		return nil
	}
	return []string{what + ": " + strings.Join(list, "; ") + "."}
}

// named finds the thing in a list that an activity names: all words of the one are in the other, so
// that contact is part of contact drills and the other way round.
func named(list []string, activity string) string {
	asked := stems(activity)
	i := slices.IndexFunc(list, func(what string) bool {
		has := stems(what)
		return within(asked, has) || within(has, asked)
	})
	if i < 0 {
		return ""
	}
	return list[i]
}

func within(part, whole []string) bool {
	return len(part) > 0 && !slices.ContainsFunc(part, func(w string) bool { return !slices.Contains(whole, w) })
}

func overlap(a, b []string) bool {
	return slices.ContainsFunc(a, func(w string) bool { return slices.Contains(b, w) })
}

// stems are the words of an activity without their endings: run, runs and running are one.
func stems(activity string) []string {
	var out []string
	for _, w := range words(activity) {
		for _, end := range []string{"ing", "es", "s", "e"} {
			if cut, ok := strings.CutSuffix(w, end); ok && len(cut) > 2 {
				w = cut
				break
			}
		}
		if n := len(w); n > 2 && w[n-1] == w[n-2] {
			w = w[:n-1]
		}
		out = append(out, w)
	}
	return out
}
