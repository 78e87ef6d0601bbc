package commands

import (
	"footing/rehab"
	"slices"
	"strconv"
	"strings"
)

// Measured is one test as typed: trials of each side, or of neither when no side was said.
type Measured struct {
	Test        string
	Left, Right []rehab.Trial
	Bare        []rehab.Trial   // no side said
	Pair        *[2]rehab.Trial // "18/27": injured then other, until the side is known
	Choice      string
	Absent      string // "not-done" or "not-comparable"
	Why         string
	Pain        *int // while doing it
	Masked      bool // an analgesic was taken
}

func (m *Measured) put(s rehab.Side, tr rehab.Trial) {
	switch s {
	case rehab.Left:
		m.Left = append(m.Left, tr)
	case rehab.Right:
		m.Right = append(m.Right, tr)
	default:
		m.Bare = append(m.Bare, tr)
	}
}

func (m Measured) empty() bool {
	return len(m.Left)+len(m.Right)+len(m.Bare) == 0 && m.Pair == nil && m.Choice == "" && m.Absent == ""
}

// check refuses what cannot be: no value, a side where there is none, a value outside the range.
func (m Measured) check(t rehab.Test) error {
	switch {
	case m.empty():
		return refuse("%s needs a value, for example: %s.", t.Key, example(t))
	case m.Absent != "" && m.Why == "":
		return refuse("Why was %s %s? For example: %s not-done safety.", t.Key, strings.ReplaceAll(m.Absent, "-", " "), t.Key)
	case m.Absent != "" && len(m.Left)+len(m.Right)+len(m.Bare) > 0:
		return refuse("%s has values and is %s. Say one.", t.Key, m.Absent)
	case t.Take == "last" && len(m.Bare) > 1:
		return refuse("%s is given twice: %s and %s. Say one.", t.Key, typed(m.Bare[0]), typed(m.Bare[1]))
	case t.Sides == "both" && len(m.Bare) > 1:
		return twoSides(t, m.Bare[0], m.Bare[1])
	case t.Sides == "none" && (m.Pair != nil || len(m.Left)+len(m.Right) > 0):
		return refuse("%s has no sides. Type one value: %s.", t.Key, example(t))
	}
	all := slices.Concat(m.Left, m.Right, m.Bare)
	if m.Pair != nil {
		all = append(all, m.Pair[0], m.Pair[1])
	}
	for _, tr := range all {
		if !tr.Failed && (tr.Value < t.Min || tr.Value > t.Max) {
			return refuse("%s %s cannot be: it goes from %s to %s%s.", t.Key, exact(tr.Value), rehab.Number(t.Min), rehab.Number(t.Max), rehab.Prefixed(" ", t.Unit))
		}
		if t.Whole && tr.Value != float64(int(tr.Value)) {
			return refuse("%s is counted in whole numbers, not %s.", t.Key, exact(tr.Value))
		}
	}
	return nil
}

func twoSides(t rehab.Test, a, b rehab.Trial) error {
	return refuse("%s %s %s: two sides, or several tries of one? Type %s, or the side before its tries.", t.Key, typed(a), typed(b), example(t))
}

// example is what to type for a test.
func example(t rehab.Test) string {
	switch {
	case len(t.Choices) > 0:
		return t.Key + " " + t.Choices[0]
	case t.Sides == "none" && t.Max > 10:
		return t.Key + " " + rehab.Number(min(t.Max, max(t.UsualMin, 15)))
	case t.Sides == "none":
		return t.Key + " 2"
	case t.Ratio:
		return t.Key + " L 24cm 210ms R 26cm 205ms"
	}
	mid := float64(int((max(t.UsualMin, t.Min) + t.Max) / 2))
	if t.UsualMax > 0 {
		mid = float64(int((t.UsualMin + t.UsualMax) / 2))
	}
	return t.Key + " L " + exact(mid) + " R " + exact(min(t.Max, mid+2))
}

func unitName(t rehab.Test) string {
	if t.Unit == "" {
		return "a plain number"
	}
	return t.Unit
}

func (m Measured) text() string {
	out := m.Test
	list := func(mark string, trials []rehab.Trial) {
		if len(trials) > 0 {
			out += rehab.Prefixed(" ", mark)
		}
		for i, tr := range trials {
			out += " " + typed(tr)
			if clockLike.MatchString(typed(tr)) && i > 0 {
				out += "0" // not to be taken for a time
			}
		}
	}
	list("", m.Bare)
	list("L", m.Left)
	list("R", m.Right)
	if m.Pair != nil {
		out += " " + typed(m.Pair[0]) + "/" + typed(m.Pair[1])
	}
	out += rehab.Prefixed(" ", m.Choice)
	if m.Pain != nil {
		out += " pain " + strconv.Itoa(*m.Pain)
	}
	if m.Masked {
		out += " masked"
	}
	if m.Absent != "" {
		out += " " + m.Absent + rehab.Prefixed(" ", m.Why)
	}
	return out
}

// typed is a trial as one would type it.
func typed(tr rehab.Trial) string {
	switch {
	case tr.Failed:
		return "x"
	case tr.Capped:
		return exact(tr.Value) + "+"
	}
	return exact(tr.Value)
}

// place gives the values of a test the side said before its name.
func (m *Measured) place(side rehab.Side, t rehab.Test) error {
	switch {
	case m.Pair != nil || len(m.Left)+len(m.Right) > 0:
		return refuse("%s %s, and two sides after it: say it once, for example %s.", side, t.Key, example(t))
	case t.Sides == "none":
		return refuse("%s has no sides. Type one value: %s.", t.Key, example(t))
	case side == rehab.Left:
		m.Left, m.Bare = m.Bare, nil
	default:
		m.Right, m.Bare = m.Bare, nil
	}
	return nil
}
