package commands

import (
	"slices"
	"strings"

	"footing/rehab"
)

// sequence is the order in which the sides and values of one test were typed. It tells which value is
// which side's: the side stands before its values ("L 9.5 R 12") or behind each ("9.5 L 12 R", "12R
// 9.5L"); anything else is asked about.
type sequence struct {
	items   []item
	both    string // "l/r" or "r/l", for a pair
	sided   bool   // a side stands before the test's name
	unclear bool
}

// item is a side, or a value with the side glued to it if there is one.
type item struct {
	side  rehab.Side
	trial *rehab.Trial
}

func (s *sequence) side(side rehab.Side) { s.items = append(s.items, item{side: side}) }

// trial adds a value; the reader stands at it.
func (s *sequence) trial(tr rehab.Trial, r *reader) {
	own := rehab.None
	if r.glued(1) {
		own = sideOf(r.peek(1))
	}
	s.items = append(s.items, item{side: own, trial: &tr})
}

// taken reports whether the side at the reader was taken with the value it is glued to.
func (s *sequence) taken(r *reader) bool {
	return r.glued(0) && len(s.items) > 0 && s.items[len(s.items)-1].trial != nil && s.items[len(s.items)-1].side != rehab.None
}

// afterTrial reports whether a value was just read.
func (s *sequence) afterTrial() bool {
	return len(s.items) > 0 && s.items[len(s.items)-1].trial != nil
}

// minutes turns the last value into seconds.
func (s *sequence) minutes(t rehab.Test) bool {
	if !s.afterTrial() {
		return false
	}
	last := s.items[len(s.items)-1].trial
	seconds := last.Value * 60
	if last.Failed || seconds != float64(int(seconds)) {
		return false
	}
	*last = measured(seconds, t)
	return true
}

// nextTests reports whether a side that stands before another test's name belongs to that test: "left
// calf 10, right calf 25", but not "calf 10 left, ktw 9/12".
func (s *sequence) nextTests(r *reader) bool {
	before, after := r.comma(0), r.comma(1)
	switch {
	case before != after:
		return before
	case s.sided || len(s.items) == 0 || s.items[0].trial == nil || s.items[0].side != rehab.None:
		return true
	}
	s.unclear = true
	return false
}

// settle gives each value its side.
func (s *sequence) settle(m *Measured, t rehab.Test) error {
	sides := slices.ContainsFunc(s.items, func(i item) bool { return i.side != rehab.None })
	switch {
	case m.Pair != nil && len(s.items) > 0:
		return refuse("%s has a pair and other values or sides: say it once, for example %s.", t.Key, example(t))
	case m.Pair == nil && s.both != "" && len(s.items) == 2 && !sides:
		m.Pair = &[2]rehab.Trial{*s.items[0].trial, *s.items[1].trial}
	case m.Pair == nil && s.both != "":
		return s.ask(t)
	case m.Pair == nil && !sides:
		for _, i := range s.items {
			m.put(rehab.None, *i.trial)
		}
		return nil
	}
	if m.Pair != nil {
		m.inOrder(s.both)
		return nil
	}
	if s.items[0].trial != nil && s.items[0].side == rehab.None {
		return s.behind(m, t)
	}
	return s.ahead(m, t)
}

// behind reads values with the side behind each.
func (s *sequence) behind(m *Measured, t rehab.Test) error {
	if s.unclear || len(s.items)%2 != 0 {
		return s.ask(t)
	}
	for i := 0; i < len(s.items); i += 2 {
		value, side := s.items[i], s.items[i+1]
		if value.trial == nil || value.side != rehab.None || side.trial != nil {
			return s.ask(t)
		}
		m.put(side.side, *value.trial)
	}
	return nil
}

// ahead reads values behind their side, or with it glued to them.
func (s *sequence) ahead(m *Measured, t rehab.Test) error {
	side, waiting := rehab.None, false
	for _, i := range s.items {
		switch {
		case i.trial == nil && waiting:
			return s.ask(t) // two sides in a row
		case i.trial == nil:
			side, waiting = i.side, true
			continue
		case i.side != rehab.None && waiting:
			return s.ask(t)
		case i.side != rehab.None:
			m.put(i.side, *i.trial)
			side = rehab.None
		case side == rehab.None:
			return s.ask(t)
		default:
			m.put(side, *i.trial)
		}
		waiting = false
	}
	if waiting || s.unclear {
		return s.ask(t)
	}
	return nil
}

func (s *sequence) ask(t rehab.Test) error {
	return refuse("%s: which value is which side's? Type %s.", t.Key, example(t))
}

// inOrder places a pair once the order of its sides was said.
func (m *Measured) inOrder(both string) {
	if m.Pair == nil || both == "" {
		return
	}
	left, right := m.Pair[0], m.Pair[1]
	if strings.HasPrefix(both, "r") {
		left, right = right, left
	}
	m.Left, m.Right, m.Pair = []rehab.Trial{left}, []rehab.Trial{right}, nil
}

// maybeClock reports whether a value behind another may be the time: "17.40". Stopwatch times do have
// hundredths, and what is worked out from other numbers has any decimals.
func maybeClock(w string, t rehab.Test) bool {
	stopwatch := t.Unit == "s" && t.Better == "less"
	return clockLike.MatchString(w) && !stopwatch && !t.Ratio && t.Items.Count == 0
}

func oneOrTwo(raw string) error {
	return refuse("“%s”: one value or two? Put a space between two, a point into one. Nothing was saved.", raw)
}
