package rehab

import (
	"math"
	"slices"
	"time"
)

// MDC95 is the smallest change that is beyond error with 95 % confidence: 1.96 × √2 × SEM, in the
// unit of the SEM.
func MDC95(sem float64) float64 { return 1.96 * math.Sqrt2 * sem }

// RealChangeBeyond is the change, in the test's unit, that must be exceeded to be real: the figure
// its source prints, or MDC95 of its SEM. It is 0 where no error is published.
func (t Test) RealChangeBeyond() float64 {
	if t.MDC > 0 {
		return t.MDC
	}
	return MDC95(t.SEM)
}

// rounding keeps a difference of two decimal values, such as 4.4 − 3.4, from passing a threshold that
// it only touches.
const rounding = 1e-9

// RealChange tells whether now differs from before by more than error. judged is false where no
// error is published for the test.
func (t Test) RealChange(before, now float64) (real, judged bool) {
	beyond := t.RealChangeBeyond()
	return math.Abs(now-before) > beyond+rounding, beyond > 0
}

// Counted is the value that counts out of some trials: the best, the mean or the last, as the test
// says. Failed trials never count; ok is false when none is left.
func (t Test) Counted(trials []Trial) (value Trial, ok bool) {
	var sum float64
	n := 0
	for _, tr := range trials {
		if tr.Failed {
			continue
		}
		n++
		sum += tr.Value
		if n == 1 || t.Take == "last" || t.Better == "less" && tr.Value < value.Value || t.Better != "less" && tr.Value > value.Value {
			value = tr
		}
	}
	if t.Take == "mean" && n > 0 {
		value = Trial{Value: sum / float64(n)}
	}
	return value, n > 0
}

// Symmetry is the injured side in per cent of what it is compared with, 100 when equal and below
// 100 when worse: injured ÷ other for more-is-better, other ÷ injured for less-is-better. Both at
// the cap is 100. ok is false when it cannot be worked out (a zero denominator).
func (t Test) Symmetry(injured, other Trial) (percent float64, ok bool) {
	if injured.Capped && other.Capped {
		return 100, true
	}
	over, under := injured.Value, other.Value
	if t.Better == "less" {
		over, under = under, over
	}
	if under == 0 {
		return 0, false
	}
	return over / under * 100, true
}

// Deficit is how far the injured side falls short of what it is compared with, in the test's unit;
// negative when it is ahead.
func (t Test) Deficit(injured, other Trial) float64 {
	if t.Better == "less" {
		return injured.Value - other.Value
	}
	return other.Value - injured.Value
}

// Day is what a test said on one local day.
type Day struct {
	Date   time.Time // local midnight
	Value  Trial
	Choice string
	Absent string // why there is no value, when there is none
	Reason string
	Pain   *int // while doing it, for tests that ask
	Masked bool // an analgesic was in play
	Seqs   []int64
}

// Measured reports whether the day has a value or a choice.
func (d Day) Measured() bool { return d.Absent == "" && len(d.Seqs) > 0 }

// Days gathers the readings of one test and side by local day, oldest first. A day with any value
// keeps it even when another attempt that day was not done.
func Days(readings []Reading, t Test, side Side, keep func(Reading) bool, zone *time.Location) []Day {
	if len(t.Parts) > 0 {
		return composite(readings, t, side, keep, zone)
	}
	var out []Day
	var trials []Trial
	for _, r := range readings {
		if r.Test != t.Key || r.Side != side || !keep(r) {
			continue
		}
		date := localDay(r.At, zone)
		if len(out) == 0 || !out[len(out)-1].Date.Equal(date) {
			out, trials = append(out, Day{Date: date, Absent: r.Absent}), nil
		}
		d := &out[len(out)-1]
		if r.Absent != "" && d.Measured() {
			continue
		}
		if r.Absent == "" && d.Absent != "" {
			d.Absent, d.Reason, d.Seqs = "", "", nil
		}
		trials = append(trials, r.Trials...)
		d.add(r, t, trials)
	}
	return out
}

// add counts one more reading into its day; trials are all of that day so far.
func (d *Day) add(r Reading, t Test, trials []Trial) {
	value, ok := t.Counted(trials)
	if !ok && len(trials) > 0 && r.Choice == "" && r.Absent == "" {
		value = Trial{Failed: true}
	}
	d.Value, d.Choice, d.Reason, d.Masked = value, r.Choice, r.Reason, r.Masked
	if r.Pain != nil {
		d.Pain = r.Pain
	}
	d.Seqs = append(d.Seqs, r.Seq)
}

// composite is the sum of a test's parts, on the days when all of them were tried. A day on which a part
// was failed or not done has no sum, and says so: an earlier day does not stand for it.
func composite(readings []Reading, t Test, side Side, keep func(Reading) bool, zone *time.Location) []Day {
	sums := map[time.Time]*Day{}
	parts := map[time.Time]int{}
	for _, part := range t.Parts {
		for _, d := range Days(readings, part, side, keep, zone) {
			if sums[d.Date] == nil {
				sums[d.Date] = &Day{Date: d.Date}
			}
			s := sums[d.Date]
			if d.Absent != "" {
				s.Absent, s.Reason = d.Absent, part.Key+": "+d.Reason
			}
			s.Value.Failed = s.Value.Failed || d.Value.Failed
			s.Value.Value += d.Value.Value
			s.Seqs = append(s.Seqs, d.Seqs...)
			parts[d.Date]++
		}
	}
	var out []Day
	for date, s := range sums {
		if parts[date] == len(t.Parts) || s.Absent != "" || s.Value.Failed {
			out = append(out, *s)
		}
	}
	slices.SortFunc(out, func(x, y Day) int { return x.Date.Compare(y.Date) })
	return out
}

// Composite is a reach composite: the sum of three directions in per cent of 3 × leg length (common
// practice; references for the Y balance test). 0 when the leg was not measured.
func Composite(sum, leg float64) float64 {
	if leg == 0 {
		return 0
	}
	return sum / (3 * leg) * 100
}

// ReactiveStrength is a drop jump's height ÷ contact time in m/s (Healy 2018 IJSPP; the formula from
// memory, unverified). 0 when the contact was not timed.
func ReactiveStrength(heightCM, contactMS float64) float64 {
	if contactMS == 0 {
		return 0
	}
	return heightCM / 100 / (contactMS / 1000)
}

func localDay(t time.Time, zone *time.Location) time.Time {
	y, m, d := t.In(zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// DaysBetween counts local calendar days from a to b.
func DaysBetween(a, b time.Time, zone *time.Location) int {
	return int(localDay(b, zone).Sub(localDay(a, zone)).Hours() / 24)
}

// Comparator says what an injured side was compared with.
type Comparator string

// The comparator ladder, first choice first.
const (
	Baseline     Comparator = "own baseline"
	OtherSide    Comparator = "other side"
	FloorOnly    Comparator = "floor"
	NoComparator Comparator = ""
)

// Comparison is the injured side beside the best comparator there is.
type Comparison struct {
	Injured Day
	With    Day
	Used    Comparator
	Flag    string // why the other side flatters or misleads, when it may
}

// Compare finds what to hold the injured side's day against: its own baseline from before the
// sprain, else the other side, else only the floor. Flagged when the other ankle was itself sprained
// or operated on, or is under treatment.
func Compare(st State, ep Episode, t Test, injured Day, p *Protocol, zone *time.Location) Comparison {
	c := Comparison{Injured: injured}
	if d, ok := lastMeasured(baseline(st, ep, t, ep.Side, p, zone)); ok {
		c.With, c.Used = d, Baseline
		return c
	}
	return compareSides(st, ep, t, injured, zone)
}

// compareSides holds the injured side against the other as it is now, whatever it was before.
func compareSides(st State, ep Episode, t Test, injured Day, zone *time.Location) Comparison {
	c := Comparison{Injured: injured}
	since := Days(st.Readings, t, ep.Side.Other(), func(r Reading) bool { return !r.At.Before(ep.At) }, zone)
	if d, ok := lastMeasured(since); ok {
		c.With, c.Used, c.Flag = d, OtherSide, otherFlag(st, ep)
	} else if t.Floor > 0 {
		c.Used = FloorOnly
	}
	return c
}

// baseline is what was measured of a side outside any episode before the sprain, and not too long ago.
func baseline(st State, ep Episode, t Test, side Side, p *Protocol, zone *time.Location) []Day {
	return Days(st.Readings, t, side, func(r Reading) bool {
		return r.At.Before(ep.At) && r.Episode == 0 && ep.At.Sub(r.At) < time.Duration(p.Limits.BaselineDays)*24*time.Hour
	}, zone)
}

// HasBaseline reports whether an athlete has a recent baseline of a test, on both sides where it has
// sides.
func HasBaseline(st State, t Test, p *Protocol, now time.Time) bool {
	sides := []Side{Left, Right}
	if t.Sides == "none" {
		sides = []Side{None}
	}
	for _, side := range sides {
		if _, ok := lastMeasured(baseline(st, Episode{At: now.Add(time.Nanosecond)}, t, side, p, now.Location())); !ok {
			return false
		}
	}
	return true
}

func lastMeasured(days []Day) (Day, bool) {
	for i := len(days) - 1; i >= 0; i-- {
		if days[i].Measured() && !days[i].Value.Failed {
			return days[i], true
		}
	}
	return Day{}, false
}

func otherFlag(st State, ep Episode) string {
	other := ep.Side.Other()
	past := st.Past[other]
	switch {
	case slices.ContainsFunc(st.Episodes, func(o Episode) bool { return o.Side == other }):
		return "that side was sprained too"
	case past.Surgery:
		return "that side was operated on"
	case past.Sprains > 0:
		return "that side was sprained before"
	}
	return ""
}
