package commands

import (
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"footing/rehab"
)

// Tests is a field that takes test names, each followed by its values.
func Tests(to *[]Measured) Field {
	var lang *Lang
	return Field{
		Name: "tests", Usage: "knee-to-wall L 9.5 R 12, calf-raise 18/27, balance 30/60+", many: true,
		Kind: KindWords, offers: testOffers,
		words: func(l *Lang) []phrase {
			out := slices.Concat(l.tests, l.alone)
			for _, c := range l.choices {
				out = append(out, c...)
			}
			return out
		},
		match: func(r *reader) (int, func() error, error) {
			lang = r.lang
			before := 0
			if sideOf(r.peek(0)) != rehab.None {
				before = 1 // "left calf 10, right calf 25"
			}
			key, n := longest(r.skip(before), r.lang.tests)
			if answer, size := longest(r, r.lang.alone); size > n {
				return size, func() error { return add(to, alone(answer), r.lang) }, nil
			}
			if n == 0 {
				return 0, nil, nil
			}
			t, _ := r.lang.Protocol.Test(key)
			if before == 1 && len(t.Choices) > 0 {
				return 0, nil, nil // the side field's
			}
			m, size, err := values(r.skip(before+n), t, before == 1)
			if err != nil {
				return 0, nil, err
			}
			if before == 1 {
				if err := m.place(sideOf(r.peek(0)), t); err != nil {
					return before + n + size, func() error { return err }, nil
				}
			}
			return before + n + size, func() error { return add(to, m, r.lang) }, nil
		},
		text: func() string {
			var out []string
			for _, m := range *to {
				out = append(out, m.text())
			}
			return strings.Join(out, ", ")
		},
		check: func() error {
			for _, m := range *to {
				t, _ := lang.Protocol.Test(m.Test)
				if err := m.check(t); err != nil {
					return err
				}
			}
			return nil
		},
	}
}

var (
	pairShape  = regexp.MustCompile(`^(-?\d+(?:\.\d+)?\+?)/(-?\d+(?:\.\d+)?\+?)$`)
	valueShape = regexp.MustCompile(`^-?\d+(?:\.\d+)?\+?$`)
	clockLike  = regexp.MustCompile(`^(?:1?\d|2[0-3])\.[0-5]\d$`)
	twoInOne   = regexp.MustCompile(`,\d{2,}`) // "138,140": not a decimal comma
	dateOrTime = regexp.MustCompile(`^(?:\d{4}-\d{2}-\d{2}|\d{1,2}:\d{2})$`)
)

// alone is an answer that names no test: "no limp".
func alone(answer string) Measured {
	key, value, _ := strings.Cut(answer, "=")
	if v, err := strconv.ParseFloat(value, 64); err == nil {
		return Measured{Test: key, Bare: []rehab.Trial{{Value: v}}}
	}
	return Measured{Test: key, Choice: value}
}

// add adds a test. Of what is answered once, two answers contradict each other; of what has two sides,
// a second value without one may be the other side's.
func add(to *[]Measured, m Measured, l *Lang) error {
	t, _ := l.Protocol.Test(m.Test)
	for _, old := range *to {
		if old.Test == m.Test && len(old.Bare) > 0 && len(m.Bare) > 0 && t.Sides == "both" {
			return twoSides(t, old.Bare[0], m.Bare[0])
		}
		if old.Test != m.Test || len(t.Choices) == 0 && t.Take != "last" || t.Sides != "none" {
			continue
		}
		if reflect.DeepEqual(old, m) {
			return nil
		}
		return refuse("%s is given twice: %s and %s. Say one.", m.Test, old.text(), m.text())
	}
	*to = append(*to, m)
	return nil
}

// values reads everything that belongs to one test. It stops at the first word that is no value,
// side, unit or answer, which is then somebody else's. When a side stands before the test's name
// (sided), a side behind the values is the next test's.
func values(r *reader, t rehab.Test, sided bool) (Measured, int, error) {
	m := Measured{Test: t.Key}
	at := r.at
	order := sequence{sided: sided}
	for !r.done() {
		if _, n, err := whenAt(r, true); n > 0 || err != nil {
			break
		}
		n, err := m.extra(r, t, &order)
		if n == 0 && err == nil {
			n, err = m.value(r, t, &order)
		}
		if err != nil {
			return m, 0, err
		}
		if n == 0 {
			break
		}
		r = r.skip(n)
	}
	if err := order.settle(&m, t); err != nil {
		return m, 0, err
	}
	return m, r.at - at, nil
}

// value reads one value, side, unit or answer, and gives how many words it takes.
func (m *Measured) value(r *reader, t rehab.Test, order *sequence) (int, error) {
	w, raw := r.peek(0), r.toks[r.at].raw
	switch {
	case w == ":" || w == "is":
	case w == "of" || w == "vs" || w == "v":
		return 0, refuse("%s: type both sides, for example %s or %s 18/27.", t.Key, example(t), t.Key)
	case w == "l/r" || w == "r/l":
		order.both = w
	case sideOf(w) != rehab.None && order.taken(r):
	case sideOf(w) != rehab.None && len(t.Choices) > 0:
		return 0, nil // the side field's
	case sideOf(w) != rehab.None:
		if _, next := longest(r.skip(1), r.lang.tests); next > 0 && order.nextTests(r) {
			return 0, nil
		}
		order.side(sideOf(w))
	case (w == "x" || w == "fail" || w == "failed") && len(t.Choices) == 0:
		order.trial(rehab.Trial{Failed: true}, r)
	case r.has([]string{"not", "done"}) || r.has([]string{"not", "comparable"}):
		why, n := reason(r)
		m.Absent, m.Why = "not-"+r.peek(1), why
		return n, nil
	case len(t.Choices) > 0:
		return m.choice(r, t)
	case pairShape.MatchString(w) && !isOutOfTen(t, w):
		p := pairShape.FindStringSubmatch(w)
		if m.Pair != nil {
			return 0, refuse("%s has two pairs. Give each test once: %s 18/27.", t.Key, t.Key)
		}
		if twoInOne.MatchString(raw) {
			return 0, oneOrTwo(raw)
		}
		m.Pair = &[2]rehab.Trial{trial(p[1], t), trial(p[2], t)}
	case valueShape.MatchString(strings.TrimSuffix(w, "/10")) && !dateOrTime.MatchString(w):
		if twoInOne.MatchString(raw) {
			return 0, oneOrTwo(raw)
		}
		if order.afterTrial() && maybeClock(w, t) {
			return 0, refuse("“%s”: a value or a time? For a time type: at %s. Nothing was saved.", raw, strings.Replace(w, ".", ":", 1))
		}
		order.trial(trial(strings.TrimSuffix(w, "/10"), t), r)
	case units[w] == "min" && t.Unit == "s" && order.minutes(t):
	case units[w] != "":
		if units[w] != t.Unit {
			return 0, refuse("%s is measured in %s, not %s.", t.Key, unitName(t), w)
		}
	default:
		return 0, nil
	}
	return 1, nil
}

// choice reads the answer of a test answered in words. A comma ends it: in "cuts clean, no limp" the
// limp is the gait's.
func (m *Measured) choice(r *reader, t rehab.Test) (int, error) {
	choice, n := longest(r, r.lang.choices[t.Key])
	if m.Choice != "" && r.comma(0) {
		return 0, nil
	}
	if w := r.peek(0); n == 0 {
		fixed, ok := corrected(w, phrases("", t.Choices...))
		if !ok {
			return 0, nil
		}
		choice, n = fixed, 1
		r.mend(fixed)
	}
	if m.Choice != "" && m.Choice != choice {
		return 0, refuse("%s is given twice: %s and %s. Say one.", t.Key, m.Choice, choice)
	}
	m.Choice = choice
	return n, nil
}

// extra reads what only some tests take: pain beside the value, an analgesic, a word for a value, item
// scores of a questionnaire, a height with a contact time.
func (m *Measured) extra(r *reader, t rehab.Test, order *sequence) (int, error) {
	w := r.peek(0)
	if _, other := longest(r, r.lang.tests); t.WithPain && w == "pain" && other < 2 { // "pain-day 0" is a test of its own
		v, n, ok := number(r.skip(1), 10)
		if !ok || v < 0 || v > 10 || v != float64(int(v)) {
			return 0, refuse("pain in %s is a whole number from 0 to 10.", t.Key)
		}
		pain := int(v)
		m.Pain = &pain
		return n + 1, nil
	}
	if t.Maskable && slices.Contains([]string{"masked", "analgesic", "painkiller", "painkillers", "medicated"}, w) {
		m.Masked = true
		return 1, nil
	}
	if named, n := longest(r, r.lang.values[t.Key]); n > 0 {
		order.trial(trial(named, t), r.skip(n-1))
		return n, nil
	}
	if t.Items.Count > 0 && (w == "items" || w == "scores") {
		return m.items(r, t)
	}
	if t.Ratio && r.peek(1) == "cm" && r.peek(3) == "ms" {
		height, _, ok := number(r, 0)
		contact, _, ok2 := number(r.skip(2), 0)
		if !ok || !ok2 || contact == 0 {
			return 0, refuse("%s needs a height and a contact time: %s L 24cm 210ms.", t.Key, t.Key)
		}
		order.trial(rehab.Trial{Value: rehab.ReactiveStrength(height, contact)}, r.skip(3))
		return 4, nil
	}
	return 0, nil
}

// items scores a questionnaire's answers; - stands for one not answered.
func (m *Measured) items(r *reader, t rehab.Test) (int, error) {
	var scores []int
	n, asked := 1, 0
	for ; r.at+n < len(r.toks); n++ {
		w := r.peek(n)
		if w == "-" || w == "n/a" || w == "na" {
			asked++
			continue
		}
		v, err := strconv.Atoi(w)
		if err != nil {
			break
		}
		if v < 0 || v > t.Items.Highest {
			return 0, refuse("An item of %s goes from 0 to %d, not %d.", t.Key, t.Items.Highest, v)
		}
		scores, asked = append(scores, v), asked+1
	}
	if asked > t.Items.Count {
		return 0, refuse("%s has %d items, not %d.", t.Key, t.Items.Count, asked)
	}
	percent, ok := t.Items.Values(scores)
	if !ok {
		return 0, refuse("%s needs at least %d of its %d items answered; here are %d.", t.Key, t.Items.Needed, t.Items.Count, len(scores))
	}
	m.put(rehab.None, rehab.Trial{Value: percent})
	return n, nil
}

func isOutOfTen(t rehab.Test, w string) bool { return strings.HasSuffix(w, "/10") && t.Sides == "none" }

func sideOf(w string) rehab.Side {
	for _, p := range sideWords.phrases {
		if w == p.words[0] {
			return rehab.Side(p.meaning)
		}
	}
	return rehab.None
}

// reason takes the words after "not done" or "not comparable" up to the next test or the end.
func reason(r *reader) (string, int) {
	n := 2
	if r.peek(n) == ":" {
		n++
	}
	from := n
	for r.at+n < len(r.toks) {
		if _, isTest := longest(r.skip(n), r.lang.tests); isTest > 0 || strings.HasPrefix(r.peek(n), noteMark) {
			break
		}
		n++
	}
	var ws []string
	for i := from; i < n; i++ {
		ws = append(ws, r.peek(i))
	}
	return strings.Join(ws, " "), n
}

func trial(text string, t rehab.Test) rehab.Trial {
	v, _ := strconv.ParseFloat(strings.TrimSuffix(text, "+"), 64)
	return measured(v, t)
}

// measured is a trial of a value. Where the test is stopped at a cap, a value somewhat above it means
// the cap; far above it is a slip.
func measured(v float64, t rehab.Test) rehab.Trial {
	if t.Cap > 0 && v >= t.Cap && v <= 2*t.Cap {
		return rehab.Trial{Value: t.Cap, Capped: true}
	}
	return rehab.Trial{Value: v}
}
