package plan

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"footing/rehab"
)

// Ask is what a plan is made for.
type Ask struct {
	Minutes   int      // there are; 0 for the protocol's
	Kit       []string // that is there; nil for the protocol's
	MatchNext bool     // a match is tomorrow
}

// Plan is a choice of drills and how it came about.
type Plan struct {
	Stage   rehab.Stage // in whose work it was chosen: the ankle's own, or an earlier one after a worse morning
	Items   []Item      // in the order to do them
	Minutes int         // it takes
	Budget  int         // there were
	Kit     []string    // there was
	Notes   []string    // what bounds it: "no jumps or landings: match tomorrow"
	Relaxed []string    // bounds that could not be kept
	None    string      // why there is no plan, when there is none
}

// Item is one drill of a plan.
type Item struct {
	Drill  rehab.Drill
	Level  int // from 1
	Step   rehab.DrillLevel
	Rung   rehab.Rung // where the ladder stands; Level is lower after a worse morning or in an earlier stage
	Points int
	Why    []string
}

// Contacts is the number of ground contacts in the plan.
func (p Plan) Contacts() (n int) {
	for _, it := range p.Items {
		n += it.Step.Contacts
	}
	return n
}

// Running is the minutes of running in the plan.
func (p Plan) Running() (n int) {
	for _, it := range p.Items {
		if it.Drill.Runs {
			n += it.Step.Minutes
		}
	}
	return n
}

// Entry is the plan as it is kept once it was sent.
func (p Plan) Entry(side rehab.Side, now time.Time) rehab.Planned {
	b := rehab.Planned{
		Day: now.Format(time.DateOnly), Stage: p.Stage.Key, Side: side, Budget: p.Budget, Kit: p.Kit,
		Minutes: p.Minutes, Contacts: p.Contacts(), Running: p.Running(),
	}
	for _, it := range p.Items {
		b.Doses = append(b.Doses, rehab.Dose{Drill: it.Drill.Key, Level: it.Level})
	}
	return b
}

// For chooses the drills of an ankle for the day of now, whose location is the team's zone.
func For(a rehab.Assessment, v rehab.View, ask Ask, now time.Time) Plan {
	pl := v.P.Planning
	p := Plan{Budget: cmp.Or(ask.Minutes, pl.Minutes), Kit: ask.Kit, None: cmp.Or(rehab.NoDrills(a, v, now), rehab.NoMore(a, v, now))}
	if p.Kit == nil {
		p.Kit = pl.Kit
	}
	if p.None != "" {
		return p
	}
	p.Stage = v.P.Stages[v.ForToday(now)]
	contacts := 0
	contacts, p.Notes = allowance(a, v, p.Stage, ask, now)
	items := candidates(a, v, p, now)
	if what := forbidden(a, pl.Running, now); what != "" {
		items = slices.DeleteFunc(items, func(it Item) bool { return it.Drill.Runs })
		p.Notes = append(p.Notes, "nothing that runs: “no "+what+"” stands")
	}
	b := bounds{minutes: p.Budget, contacts: contacts, balance: true, again: pl.Weights.Again}
	opts := options(items)
	picked := choose(opts, b)
	if picked == nil {
		b.balance = false
		picked = choose(opts, b)
	}
	var longer []string
	if shortest, ok := shortest(items, contacts); picked == nil && ok {
		b.minutes = shortest
		picked, longer = choose(opts, b), []string{fmt.Sprintf("the shortest drill takes %d min", shortest)}
	}
	for _, i := range picked {
		p.Items = append(p.Items, items[i])
		p.Minutes += items[i].Step.Minutes
	}
	if !slices.ContainsFunc(p.Items, func(it Item) bool { return it.Drill.Balances() }) {
		p.Relaxed = []string{"no balance drill fits"}
	}
	p.Relaxed = append(p.Relaxed, longer...)
	if len(p.Items) == 0 {
		p.Relaxed, p.None = nil, fmt.Sprintf("No drill of %s fits what there is today.", p.Stage.Name)
	}
	return p
}

// shortest is how long the shortest drill takes that keeps the contacts.
func shortest(items []Item, contacts int) (minutes int, ok bool) {
	for _, it := range items {
		if it.Step.Contacts <= contacts && (!ok || it.Step.Minutes < minutes) {
			minutes, ok = it.Step.Minutes, true
		}
	}
	return minutes, ok
}

// candidates are the drills of the plan's stage whose kit is there, each at the level its ladder gives,
// one lower after a worse morning, in the order of choice.
func candidates(a rehab.Assessment, v rehab.View, p Plan, now time.Time) []Item {
	s := newScorer(a, v, now)
	worse, ladders := v.WorseStands(now), v.Ladders(now)
	var out []Item
	for _, d := range v.P.Drills {
		highest := v.P.Highest(d, p.Stage.Key)
		if highest == 0 || slices.ContainsFunc(d.Kit, func(k string) bool { return !slices.Contains(p.Kit, k) }) {
			continue
		}
		rung := ladders.Rung(d)
		it := Item{Drill: d, Level: min(rung.Level, highest), Rung: rung}
		if worse && !(rung.Fell && !rung.Since.Before(v.Morning.Date)) { // that morning took a level of its ladder already
			it.Level = max(1, it.Level-1)
		}
		it.Step = d.Levels[it.Level-1]
		it.Step.Minutes = max(it.Step.Minutes, v.P.Planning.LeastDrill)
		it.Points, it.Why = s.score(rung)
		out = append(out, it)
	}
	slices.SortFunc(out, func(x, y Item) int {
		return cmp.Or(
			cmp.Compare(slices.Index(rehab.Qualities, x.Drill.Quality), slices.Index(rehab.Qualities, y.Drill.Quality)),
			cmp.Compare(y.Points, x.Points), cmp.Compare(x.Drill.Key, y.Drill.Key))
	})
	return out
}

func options(items []Item) []option {
	out := make([]option, len(items))
	for i, it := range items {
		out[i] = option{
			quality: it.Drill.Quality, points: it.Points, minutes: it.Step.Minutes, contacts: it.Step.Contacts,
			balances: it.Drill.Balances(), runs: it.Drill.Runs,
		}
	}
	return out
}
