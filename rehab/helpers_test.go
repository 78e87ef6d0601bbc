package rehab_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"footing/rehab"
	"footing/rehab/protocol"
)

// Where a check comes from, in the words of the list of published values, with how it was seen:
// [V] read in the paper, [V2] in a secondary text, [M] from memory, [C] computed.
const (
	ottawa   = "Stiell 1992 Ann Emerg Med 21:384; 1993 JAMA 269:1127; 1994 JAMA 271:827 [V2]"
	sman     = "Sman 2015 BJSM 49:323 [V]"
	midfoot  = "Wynter & Grigg 2017 [V]"
	children = "Dowling 2009 meta-analysis [V2]"
	memory   = "from memory, unverified [M]"
	practice = "common practice"
)

// negative is a complete examination that found nothing.
const negative = "tender none, walked, walks, circulation ok, squeeze -, er -, no modifiers"

// injury is when the left ankle of every player here was sprained, a Saturday afternoon.
var injury = time.Date(2026, 3, 7, 15, 0, 0, 0, time.UTC)

// ankle is the protocol file that travels in the program.
var ankle = func() *rehab.Protocol {
	p, err := protocol.Default()
	if err != nil {
		panic(err)
	}
	return p
}()

// after is so many hours after the sprain.
func after(hours float64) time.Time { return injury.Add(time.Duration(hours * float64(time.Hour))) }

// day is nine in the morning, so many days after the sprain.
func day(n int) time.Time { return time.Date(2026, 3, 7+n, 9, 0, 0, 0, time.UTC) }

// fataler is a test, or one try of a property.
type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

// chart is one player's record as it grows, and the team's rule for minors.
type chart struct {
	t       fataler
	athlete rehab.Athlete
	strict  bool
	episode int
	seq     int64
	entries []rehab.Entry
}

// sprain opens a chart with a left ankle sprain of an adult, unless a birth date says otherwise.
func sprain(t fataler, born string) *chart {
	c := &chart{t: t, athlete: rehab.Athlete{ID: 7, Shirt: 7, Name: "Mere Tau", Born: born, Active: true}, episode: 1}
	c.log(injury, rehab.Sprained{Side: rehab.Left, Protocol: ankle.Hash})
	return c
}

// log records something at the moment it happens; late records it afterwards.
func (c *chart) log(at time.Time, b rehab.Body) int64 { return c.late(at, at, b) }

func (c *chart) late(logged, at time.Time, b rehab.Body) int64 {
	c.seq++
	c.entries = append(c.entries, rehab.Entry{Seq: c.seq, Athlete: 7, Episode: c.episode, At: at, Logged: logged, Body: b})
	return c.seq
}

// of records something of another episode, or of none.
func (c *chart) of(episode int, at time.Time, b rehab.Body) int64 {
	was := c.episode
	defer func() { c.episode = was }()
	c.episode = episode
	return c.log(at, b)
}

// edit restates a record: the old entry no longer lives, the new one keeps its place and its time.
func (c *chart) edit(seq int64, logged time.Time, b rehab.Body) {
	i := slices.IndexFunc(c.entries, func(e rehab.Entry) bool { return e.Seq == seq })
	old := c.entries[i]
	c.entries = slices.Delete(c.entries, i, i+1)
	c.late(logged, old.At, b)
	c.entries[len(c.entries)-1].First = old.Original()
}

func (c *chart) screen(at time.Time, says ...string) int64 { return c.log(at, finds(c.t, says...)) }

// lift ends whatever holds or bars at that moment, as a clinician does.
func (c *chart) lift(at time.Time, course string) int64 {
	var rules []string
	for _, r := range c.view(at).Screening.Hits {
		if o, _ := ankle.Outcome(r.Outcome); o.Holds || o.Bars {
			rules = append(rules, r.Key)
		}
	}
	return c.log(at, rehab.Lifted{Course: course, Reason: "films clear", Rules: rules})
}

func (c *chart) decide(at time.Time, action rehab.Action, from, to string) {
	c.log(at, rehab.Decided{Action: action, From: from, To: to})
}

// test records "balance L 9 x 60+", "gait limp" or "balance L not-done: wet floor".
func (c *chart) test(at time.Time, says ...string) {
	for _, line := range says {
		line, reason, absent := strings.Cut(line, ":")
		words := strings.Fields(line)
		b := rehab.Tested{Test: words[0]}
		for _, w := range words[1:] {
			v, err := strconv.ParseFloat(strings.TrimSuffix(w, "+"), 64)
			switch {
			case w == "L":
				b.Side = rehab.Left
			case w == "R":
				b.Side = rehab.Right
			case w == "x":
				b.Trials = append(b.Trials, rehab.Trial{Failed: true})
			case absent:
				b.Absent, b.Reason = w, strings.TrimSpace(reason)
			case err == nil:
				b.Trials = append(b.Trials, rehab.Trial{Value: v, Capped: strings.HasSuffix(w, "+")})
			default:
				b.Choice = w
			}
		}
		c.log(at, b)
	}
}

func (c *chart) assess(now time.Time) rehab.Assessment {
	book := func(string) *rehab.Protocol { return ankle }
	return rehab.Assess(rehab.Fold(c.athlete, c.entries), rehab.Setting{Book: book, StrictMinors: c.strict, Now: now})
}

// view is the ankle the chart was opened for.
func (c *chart) view(now time.Time) rehab.View { return c.assess(now).Views[0] }

// finds reads an examination in the words of the protocol file; of two answers the later counts.
func finds(t fataler, says ...string) rehab.Screened {
	t.Helper()
	var out []rehab.Answer
	answer := func(key string, yes bool) {
		out = slices.DeleteFunc(out, func(a rehab.Answer) bool { return a.Finding == key })
		out = append(out, rehab.Answer{Finding: key, Yes: yes})
	}
	for _, phrase := range strings.Split(strings.Join(says, ", "), ", ") {
		known := phrase == ""
		for _, g := range ankle.Groups {
			if g.Phrase != phrase {
				continue
			}
			known = true
			for _, key := range g.Yes {
				answer(key, true)
			}
			for _, key := range g.No {
				answer(key, false)
			}
		}
		bare, denied := strings.CutSuffix(phrase, " -")
		for _, f := range ankle.Findings {
			no := denied && slices.Contains(f.Yes, bare) || slices.Contains(f.No, phrase)
			if no || slices.Contains(f.Yes, phrase) {
				known = true
				answer(f.Key, !no)
			}
		}
		if !known {
			t.Fatalf("%q is no finding of the protocol file", phrase)
		}
	}
	return rehab.Screened{Answers: out}
}

// verdict puts a screening into one line: whether it clears the ankle, each rule that speaks under
// its outcome, the films advised, and what was not examined.
func verdict(v rehab.View) string {
	s := v.Screening
	said := []string{"not cleared"}
	switch {
	case s.Held(ankle):
		said[0] = "held"
	case s.Cleared:
		said[0] = "cleared"
	}
	for _, r := range s.Hits {
		said = append(said, r.Outcome+": "+r.Key)
	}
	if len(s.Series) > 0 {
		said = append(said, "films: "+strings.Join(s.Series, "+"))
	}
	if len(s.Missing) > 0 {
		said = append(said, "not examined: "+strings.Join(missing(s), ", "))
	}
	if s.Held(ankle) && s.Cleared {
		said = append(said, "yet cleared")
	}
	return strings.Join(said, "; ")
}

func missing(s rehab.Screening) []string {
	var out []string
	for _, q := range s.Missing {
		out = append(out, q.Key)
	}
	return out
}

func want(t *testing.T, what, got, want, source string) {
	t.Helper()
	if got != want {
		t.Errorf("%s\n got: %s\nwant: %s\nsource: %s", what, got, want, source)
	}
}
