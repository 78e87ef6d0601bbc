package outlook

import "math"

// Horizon is the last day a forecast tells apart; beyond it is "over a year".
const Horizon = 400

// Forecast is the distribution of the days that are left: back today is 0 days.
type Forecast struct {
	cumulated []float64 // chance to be back within so many days
}

// Forecast works out the days that are left. The error says what of the question cannot be, or wraps
// ErrNoPrior.
func (p Pace) Forecast(a Ask) (Forecast, error) {
	if err := p.model.check(a); err != nil {
		return Forecast{}, err
	}
	tasks := p.model.tasks(a)
	// The pace enters every term as p^size (1 − p)^days, so that the stages are added up once for all
	// paces: chance of k days = ways[k] · p^(all sizes) · (1 − p)^(all days spent + k) ÷ survivals.
	var size, days float64
	ways := []float64{1}
	for _, t := range tasks {
		ways = convolve(ways, t.ways())
		size, days = size+t.size, days+t.days
	}
	at := math.Log(p.model.course[a.Course].Odds)
	chance := make([]float64, len(ways))
	for i, x := range p.x {
		logP, logQ := logs(x - at)
		log := math.Log(p.w[i]) + size*logP + days*logQ
		for _, t := range tasks {
			t.logOdds = at
			log -= t.logSurvival(x)
		}
		weight, q := math.Exp(log), math.Exp(logQ)
		if math.IsNaN(weight) || math.IsInf(weight, 0) {
			continue // nobody would have been in a stage for so long at this pace
		}
		for k := range chance {
			chance[k] += ways[k] * weight
			weight *= q
		}
	}
	f := Forecast{cumulated: make([]float64, Horizon+1)}
	sum := 0.0
	for k := range f.cumulated {
		if k < len(chance) {
			sum += chance[k]
		}
		f.cumulated[k] = min(sum, 1)
	}
	return f, nil
}

// tasks are what is still to be done: the stages that days were put into, one by one, and all others
// as one.
func (m Model) tasks(a Ask) []unfinished {
	var out []unfinished
	rest := 0.0
	for i := a.Rank; i < len(m.stages); i++ {
		size := m.size(a.Course, a.Grade, m.stages[i])
		switch {
		case size <= 0:
		case i < len(a.Spent) && a.Spent[i] > 0:
			out = append(out, unfinished{size: size, days: float64(a.Spent[i])})
		default:
			rest += size
		}
	}
	if rest > 0 {
		out = append(out, unfinished{size: rest})
	}
	return out
}

// ways is Γ(n + size) / (Γ(size) n!) for every n = days + k.
func (u unfinished) ways() []float64 {
	lg := func(x float64) float64 { y, _ := math.Lgamma(x); return y }
	out := make([]float64, Horizon+1)
	out[0] = math.Exp(lg(u.days+u.size) - lg(u.size) - lg(u.days+1))
	for k := 1; k <= Horizon; k++ {
		n := u.days + float64(k)
		out[k] = out[k-1] * (n - 1 + u.size) / n
	}
	return out
}

// convolve adds two numbers of days, as far as the horizon.
func convolve(a, b []float64) []float64 {
	if len(a) == 1 {
		return b
	}
	out := make([]float64, Horizon+1)
	for i, x := range a {
		for j, y := range b[:len(out)-i] {
			out[i+j] += x * y
		}
	}
	return out
}

// NotBefore is the forecast given that nobody can be back in fewer days than so many.
func (f Forecast) NotBefore(days int) Forecast {
	if days <= 0 || len(f.cumulated) == 0 {
		return f
	}
	before := f.By(days - 1)
	out := Forecast{cumulated: make([]float64, Horizon+1)}
	for k := min(days, Horizon); k <= Horizon; k++ {
		out.cumulated[k] = 1
		if before < 1 {
			out.cumulated[k] = (f.By(k) - before) / (1 - before)
		}
	}
	return out
}

// By is the chance to be back within so many days, 0–1; beyond the horizon it is that of the horizon,
// which is the least it can be.
func (f Forecast) By(days int) float64 {
	if days < 0 || len(f.cumulated) == 0 {
		return 0
	}
	return f.cumulated[min(days, Horizon)]
}

// Quantile is the first day within which they are back with a chance of at least q, 0 < q < 1; false
// where that lies over the horizon.
func (f Forecast) Quantile(q float64) (days int, ok bool) {
	for k, c := range f.cumulated {
		if c >= q {
			return k, true
		}
	}
	return Horizon, false
}

// Range is the middle part of a forecast: with 0.8 from the 10th to the 90th per cent. open says that
// its end lies over the horizon.
func (f Forecast) Range(part float64) (from, to int, open bool) {
	from, _ = f.Quantile((1 - part) / 2)
	to, ok := f.Quantile((1 + part) / 2)
	return from, to, !ok
}

// And is the forecast for both of two ankles, as if neither told anything of the other.
func (f Forecast) And(other Forecast) Forecast {
	out := Forecast{cumulated: make([]float64, Horizon+1)}
	for k := range out.cumulated {
		out.cumulated[k] = f.By(k) * other.By(k)
	}
	return out
}
