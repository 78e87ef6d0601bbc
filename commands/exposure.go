package commands

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"footing/rehab"
)

// exposureDays is how many days back exposure is counted.
const exposureDays = 28

type exposureArgs struct{ Athlete rehab.Athlete }

// ExposureCmd says how many hours the team, or an athlete, trained and played.
var ExposureCmd = New(Def[exposureArgs]{
	Name:     "exposure",
	Exact:    true,
	Summary:  "Hours of training and match in the last 28 days, of the team or of one athlete.",
	Needs:    rehab.ReadAvailability,
	Privacy:  Staff,
	Fields:   func(a *exposureArgs) []Field { return []Field{Opt(Athlete(&a.Athlete))} },
	Subject:  func(a *exposureArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"exposure", "exposure 7"},
	Run: func(ctx context.Context, env *Env, a exposureArgs) (Reply, error) {
		list, _, err := env.exposures(ctx, env.Now.AddDate(0, 0, -exposureDays), env.Now)
		if err != nil {
			return Reply{}, err
		}
		list = slices.DeleteFunc(list, func(x rehab.Exposed) bool { return x.Session.End().After(env.Now) || len(x.Minutes) == 0 })
		who, hours, count := "The team", rehab.Total(list), map[string]int{}
		if a.Athlete.ID != 0 {
			who, hours = a.Athlete.Label(), rehab.HoursOf(a.Athlete.ID, list)
			list = slices.DeleteFunc(list, func(x rehab.Exposed) bool { return x.Minutes[a.Athlete.ID] == 0 })
		}
		for _, x := range list {
			count[x.Session.What]++
		}
		return lines(
			fmt.Sprintf("%s, last %d days: training %.1f h in %s, match %.1f h in %s.", who, exposureDays, hours.Training, plural(count[rehab.Training], "session"), hours.Match, plural(count[rehab.Match], "session")),
			"Everybody who was not unavailable counts for the whole session unless you said otherwise. To read the last one: attended",
		), nil
	},
})

// exposures lists the sessions of some time with who took part, and the athletes who may be in them. More
// entries are read as if they had been recorded.
func (e *Env) exposures(ctx context.Context, from, to time.Time, more ...rehab.Entry) ([]rehab.Exposed, map[int64]rehab.Athlete, error) {
	squad, err := e.Records.SquadEntries(ctx)
	if err != nil {
		return nil, nil, err
	}
	all, err := e.Records.TeamEntries(ctx)
	if err != nil {
		return nil, nil, err
	}
	last := int64(0)
	for _, s := range squad {
		delete(all, s.Athlete)
		last = max(last, s.Seq)
	}
	for i, m := range more {
		m.First, m.Seq = e.firstSeq(m), last+int64(i)+1
		squad = append(squad, m)
	}
	var logs []rehab.Log
	people := map[int64]rehab.Athlete{}
	for _, id := range slices.Sorted(maps.Keys(all)) { // those who left too
		a, err := e.Records.Athlete(ctx, id)
		if err != nil {
			return nil, nil, err
		}
		people[id] = a
		logs = append(logs, rehab.Log{Athlete: a, Entries: all[id]})
	}
	return rehab.Exposures(squad, logs, e.setting(), from, to), people, nil
}

// sayAttended says who took part in a session, with entries that are about to be recorded.
func (e *Env) sayAttended(ctx context.Context, s rehab.Session, more ...rehab.Entry) ([]string, error) {
	list, people, err := e.exposures(ctx, s.Start, s.Start.Add(time.Nanosecond), more...)
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(list, func(x rehab.Exposed) bool { return x.Session.What == s.What })
	if i < 0 {
		return []string{"That session was moved or cancelled since: type sessions for what stands."}, nil
	}
	roster, err := e.Records.Athletes(ctx)
	if err != nil {
		return nil, err
	}
	var whole, less, out []string
	for _, id := range list[i].Athletes() {
		if m := list[i].Minutes[id]; m == s.Minutes {
			whole = append(whole, strconv.Itoa(people[id].Shirt))
		} else {
			less = append(less, fmt.Sprintf("%d %d min", people[id].Shirt, m))
		}
	}
	for _, a := range roster {
		if _, took := list[i].Minutes[a.ID]; !took {
			out = append(out, strconv.Itoa(a.Shirt))
		}
	}
	byShirt(whole)
	byShirt(less)
	hours := rehab.Total(list[i : i+1])
	said := []string{fmt.Sprintf("%s: %d took part, %.1f h together.", upper(e.saySession(s)), len(list[i].Minutes), hours.Training+hours.Match)}
	for _, l := range []struct {
		head string
		who  []string
	}{{"From start to end: ", whole}, {"For a part: ", less}, {"Out: ", out}} {
		if len(l.who) > 0 {
			said = append(said, l.head+strings.Join(l.who, ", ")+".")
		}
	}
	return said, nil
}

// byShirt sorts what begins with a shirt number.
func byShirt(list []string) {
	number := func(s string) int {
		first, _, _ := strings.Cut(s, " ")
		n, _ := strconv.Atoi(first)
		return n
	}
	slices.SortFunc(list, func(a, b string) int { return number(a) - number(b) })
}
