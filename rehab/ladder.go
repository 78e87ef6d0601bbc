package rehab

import (
	"cmp"
	"fmt"
	"slices"
	"time"
)

// Rung is where an ankle stands on a drill's ladder, and why.
type Rung struct {
	Drill Drill
	Level int       // from 1
	Since time.Time // local day since when; zero when it was never moved
	Why   string    // "two clean sessions", "pain 6", "worse morning"; empty when it was never moved
	Fell  bool      // the last move went down
	Last  time.Time // local day it was last done; zero when never
}

// Says explains the rung: "level 3 since Tue 3 Mar: two clean sessions".
func (r Rung) Says() string {
	if r.Since.IsZero() {
		return fmt.Sprintf("level %d of %d, to begin with", r.Level, len(r.Drill.Levels))
	}
	return fmt.Sprintf("level %d of %d since %s: %s", r.Level, len(r.Drill.Levels), r.Since.Format("Mon 2 Jan"), r.Why)
}

// cleanRun is how many clean sessions running lead one level up (common practice).
const cleanRun = 2

// bout is a drill on one local day: everything done of it that day is one session.
type bout struct {
	date  time.Time
	stage string
	level int  // the hardest done
	whole bool // every session of the day was done fully, and was to be done
	pain  int  // the worst
	rated bool // the pain of every session is known
}

// Rung works out the level of a drill as of an instant, as a fold of what was done since the last
// injury of the ankle. Two clean sessions running (fully done at that level, pain in the acceptable
// band, an answered morning that was not worse) lead one level up; too much pain, or a worse morning
// after it, one level down; never two on one day, and never above what the stage allows. What a step
// back takes away has to be earned again. A morning nobody answered is unknown: it ends the run, except
// in the last stage, where none is asked for.
func (v View) Rung(d Drill, now time.Time) Rung { return v.Ladders(now).Rung(d) }

// Ladders is all that the ladders of an ankle's drills rest on as of an instant, gathered once.
type Ladders struct {
	v        View
	now      time.Time
	done     []Entry // drill sessions since the last injury
	back     []Entry // steps back since then
	mornings map[time.Time]Morning
}

// Ladders gathers what the rungs of many drills need.
func (v View) Ladders(now time.Time) Ladders {
	l := Ladders{v: v, now: now, done: v.trained(now), back: v.stepsBack(now), mornings: map[time.Time]Morning{}}
	for _, m := range v.Mornings {
		l.mornings[m.Date] = m
	}
	return l
}

// Rung works out the level of one drill: see View.Rung.
func (l Ladders) Rung(d Drill) Rung {
	zone := l.now.Location()
	f := climb{Ladders: l, d: d, today: localDay(l.now, zone), rung: Rung{Drill: d, Level: 1}}
	back := l.back
	for _, b := range l.bouts(d) {
		for len(back) > 0 && !localDay(back[0].At, zone).After(b.date) {
			f.cap(back[0].Body.(Decided).To)
			back = back[1:]
		}
		f.step(b)
	}
	for _, e := range back {
		f.cap(e.Body.(Decided).To)
	}
	f.cap(l.v.Stage.Key)
	return f.rung
}

// climb is the fold of one drill's sessions.
type climb struct {
	Ladders
	d     Drill
	today time.Time
	rung  Rung
	run   int // clean sessions running
	top   int // what the stage of the day allows
}

// cap keeps the ladder to what a stage allows; what was clean above that leads nowhere.
func (f *climb) cap(stage string) {
	f.top = max(1, f.v.P.Highest(f.d, stage))
	if f.rung.Level > f.top {
		f.rung.Level, f.run = f.top, 0
	}
}

func (f *climb) step(b bout) {
	f.rung.Last = b.date
	stage := cmp.Or(b.stage, f.v.Stage.Key)
	f.cap(stage)
	r := f.v.P.Response
	morning := b.date.AddDate(0, 0, 1)
	m, answered := f.mornings[morning]
	switch {
	case b.rated && b.pain > r.DrillsTolerated:
		f.move(-1, b.date, fmt.Sprintf("pain %d", b.pain))
	case answered && m.Worse:
		f.move(-1, morning, "worse morning")
	case !b.whole || !b.rated || b.pain > r.DrillsFine || b.level < f.rung.Level:
		f.run = 0
	case answered:
		f.clean(morning)
	case morning.After(f.today):
	case stage == f.v.P.Stages[len(f.v.P.Stages)-1].Key:
		f.clean(morning)
	case morning.Before(f.today):
		f.run = 0
	}
}

func (f *climb) clean(on time.Time) {
	f.run++
	if f.run == cleanRun {
		f.move(1, on, "two clean sessions")
	}
}

// move goes a level up or down, unless the ladder ends there. Either way the count begins again. On the
// day of a move only a fall after a rise follows it: too much pain always counts.
func (f *climb) move(by int, on time.Time, why string) {
	f.run = 0
	to := f.rung.Level + by
	if to < 1 || to > f.top || on.Equal(f.rung.Since) && (by > 0 || f.rung.Fell) {
		return
	}
	f.rung.Level, f.rung.Since, f.rung.Why, f.rung.Fell = to, on, why, by < 0
}

// bouts lists the days on which a drill was done since the last injury, oldest first.
func (l Ladders) bouts(d Drill) []bout {
	var out []bout
	for _, e := range l.done {
		b := e.Body.(Trained)
		i := slices.IndexFunc(b.Doses, func(x Dose) bool { return x.Drill == d.Key })
		if i < 0 || b.Did == "none" {
			continue
		}
		date := localDay(e.At, l.now.Location())
		if n := len(out); n == 0 || !out[n-1].date.Equal(date) {
			out = append(out, bout{date: date, whole: true, rated: true})
		}
		t := &out[len(out)-1]
		t.level, t.stage = max(t.level, b.Doses[i].Level), b.Stage
		t.whole = t.whole && !b.Barred && (b.Did == "all" || slices.Contains(b.Drills, d.Key))
		t.rated = t.rated && b.Pain != nil
		if b.Pain != nil {
			t.pain = max(t.pain, *b.Pain)
		}
	}
	return out
}

// stepsBack lists the decisions since the last injury that led to an earlier stage, in the order they
// happened.
func (v View) stepsBack(now time.Time) []Entry {
	var out []Entry
	each(v.Episode, func(e Entry, b Decided) {
		if b.Action == StepBack && !e.At.Before(v.Screening.reset) && !e.At.After(now) {
			out = append(out, e)
		}
	})
	slices.SortStableFunc(out, func(x, y Entry) int { return x.At.Compare(y.At) })
	return out
}

// trained lists the drill sessions since the last injury up to an instant, in the order they happened.
func (v View) trained(now time.Time) []Entry {
	var out []Entry
	each(v.Episode, func(e Entry, _ Trained) {
		if !e.At.Before(v.Screening.reset) && !e.At.After(now) {
			out = append(out, e)
		}
	})
	slices.SortStableFunc(out, func(x, y Entry) int { return x.At.Compare(y.At) })
	return out
}
