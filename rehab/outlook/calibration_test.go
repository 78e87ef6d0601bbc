package outlook

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// Whether forecasts hold what they say. Days are whole, so a range of them cannot hold exactly 80 per
// cent; the randomised probability integral transform does (Smith 1985 J Forecast 4:283, from memory):
// a place drawn between the chances of the day before and of the day it was must be uniform.

// tally is the places of many forecasts.
type tally struct {
	places []float64
	days   float64 // width of the 80 per cent ranges, in all
}

func (t *tally) add(r *rand.Rand, f Forecast, left int) {
	t.places = append(t.places, f.By(left-1)+r.Float64()*(f.By(left)-f.By(left-1)))
	from, to, _ := f.Range(0.8)
	t.days += float64(to - from)
}

func (t *tally) within(part float64) float64 {
	n := 0
	for _, u := range t.places {
		if math.Abs(u-0.5) <= part/2 {
			n++
		}
	}
	return float64(n) / float64(len(t.places))
}

func (t *tally) row(what string) string {
	tenths := make([]int, 10)
	for _, u := range t.places {
		tenths[min(int(u*10), 9)]++
	}
	for i, n := range tenths {
		tenths[i] = n * 100 / len(t.places)
	}
	return fmt.Sprintf("%-44s n %5d  80%%: %.3f  50%%: %.3f  width %4.1f d  tenths %v", what, len(t.places), t.within(0.8), t.within(0.5), t.days/float64(len(t.places)), tenths)
}

// world is how the truth of a simulation comes about.
type world struct {
	name     string
	draw     family
	setBacks float64 // per day, in the club's record and in what is foretold
	frailty  float64
	times    float64 // of the usual pace; 0 draws the club's pace from the prior
}

// judge makes clubs of a world and foretells some episodes of each, once before and once after the
// club's record of so many. Set-backs to come are foreseen by nobody: foretold says whether the truth
// has them.
func judge(t *testing.T, w world, clubs, of, record int, foretold bool) (before, after tally) {
	m := model(t)
	r := rand.New(rand.NewPCG(20, uint64(w.times*100)+uint64(record)))
	for range clubs {
		p := m.a / (m.a + m.b)
		if w.times > 0 {
			p = paced(p, w.times)
		} else {
			p = distuv.Beta{Alpha: m.a, Beta: m.b, Src: r}.Rand()
		}
		past := history(r, record, m, p, w.draw, w.setBacks, w.frailty)
		for n := 0; n < of; {
			to := w.setBacks
			if !foretold {
				to = 0
			}
			now, rank, left, out := suffer(r, m, p, w.draw, to, w.frailty).until(m, r.IntN(7))
			if !out {
				continue
			}
			n++
			before.add(r, forecast(t, Learn(m, []Episode{now}), m.Left(now, rank)), left)
			if record > 0 {
				after.add(r, forecast(t, Learn(m, append(slices.Clone(past), now)), m.Left(now, rank)), left)
			}
		}
	}
	return before, after
}

func TestCalibration(t *testing.T) {
	if raced || testing.Short() {
		t.Skip("thousands of forecasts: make calibration")
	}
	t.Run("as the prior", func(t *testing.T) {
		t.Parallel()
		got, _ := judge(t, world{draw: draw}, 4000, 1, 0, false)
		t.Log(got.row("clubs as the prior has them, no record"))
		if c := got.within(0.8); c < 0.77 || c > 0.83 {
			t.Errorf("80 per cent ranges hold %.3f", c)
		}
		if c := got.within(0.5); c < 0.47 || c > 0.53 {
			t.Errorf("50 per cent ranges hold %.3f", c)
		}
	})
	for _, times := range []float64{0.5, 0.7, 1.5, 2} {
		t.Run(fmt.Sprint("pace ", times), func(t *testing.T) {
			t.Parallel()
			w := world{draw: draw, setBacks: 0.01, times: times}
			before, after := judge(t, w, 240, 6, 40, false)
			t.Log(before.row(fmt.Sprintf("times × %g, before the club's record", times)))
			t.Log(after.row(fmt.Sprintf("times × %g, after 40 episodes", times)))
			if c := after.within(0.8); c < 0.74 || c > 0.86 {
				t.Errorf("80 per cent ranges hold %.3f", c)
			}
			if b, a := math.Abs(before.within(0.8)-0.8), math.Abs(after.within(0.8)-0.8); a >= b {
				t.Errorf("the record does not help: off by %.3f before, %.3f after", b, a)
			}
		})
	}
	// What the model does not know of, told as it is; the bounds only catch a break.
	for _, w := range []world{
		{name: "log-normal stage times", draw: lognormal}, {name: "Weibull stage times, shape 0.7", draw: weibull},
		{name: "athletes differ, log odds sd 0.4", draw: draw, frailty: 0.4}, {name: "set-backs to come, 1 in 100 days", draw: draw, setBacks: 0.01},
		{name: "set-backs to come, 1 in 25 days", draw: draw, setBacks: 0.04},
	} {
		t.Run(w.name, func(t *testing.T) {
			t.Parallel()
			before, after := judge(t, w, 200, 5, 40, true)
			t.Log(before.row(w.name + ", before"))
			t.Log(after.row(w.name + ", after 40"))
			if c := after.within(0.8); c < 0.6 || c > 0.95 {
				t.Errorf("80 per cent ranges hold %.3f", c)
			}
		})
	}
}
