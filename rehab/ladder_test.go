package rehab_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"footing/rehab"
)

// stand is a drill of every stage with four levels, the last two of which wait for Land.
var stand = rehab.Drill{
	Key: "stand", Stages: course, Quality: rehab.StaticBalance,
	Levels: []rehab.DrillLevel{{Minutes: 2}, {Minutes: 2}, {Minutes: 2, From: "land"}, {Minutes: 2, From: "land"}},
}

// drilled is the default protocol with these drills in place of its own.
func drilled(drills ...rehab.Drill) *rehab.Protocol {
	p := *ankle
	p.Drills = drills
	return &p
}

// under assesses the chart as if its episodes followed a protocol.
func (c *chart) under(p *rehab.Protocol, now time.Time) rehab.Assessment {
	return rehab.Assess(rehab.Fold(c.athlete, c.entries), rehab.Setting{Book: func(string) *rehab.Protocol { return p }, Protocol: p, Now: now})
}

// at is an hour of a day after the sprain.
func at(n, hour int) time.Time { return day(n).Add(time.Duration(hour-9) * time.Hour) }

// live records one day: "good", "worse" or "limp" as the morning's answer; "done 2", "some 2" or "named 2"
// for stand done with that pain at its level, "done 2 at 1" at another, "unrated", "barred 2", "skip"; "to land",
// "back control", "sprain".
func (c *chart) live(p *rehab.Protocol, n int, says string) {
	for _, what := range strings.Split(says, "; ") {
		words := strings.Fields(what + " - - -")
		pain, _ := strconv.Atoi(words[1])
		switch words[0] {
		case "good":
			c.log(at(n, 8), rehab.Responded{Pain: 1, Swelling: "same"})
		case "worse":
			c.log(at(n, 8), rehab.Responded{Pain: 1, Swelling: "more"})
		case "limp":
			c.log(at(n, 8), rehab.Responded{Pain: 1, Limp: true})
		case "to":
			c.decide(at(n, 10), rehab.Advance, "", words[1])
		case "back":
			c.decide(at(n, 20), rehab.StepBack, "", words[1])
		case "sprain":
			c.log(at(n, 21), rehab.Sprained{Side: rehab.Left, Again: true, Protocol: ankle.Hash})
		case "skip":
			c.log(at(n, 17), rehab.Trained{Did: "none", Side: rehab.Left, Why: "bus"})
		case "-":
		default:
			v := c.under(p, at(n, 17)).Views[0]
			b := rehab.Trained{Did: "all", Side: rehab.Left, Stage: v.Stage.Key, Pain: &pain, Doses: []rehab.Dose{{Drill: "stand", Level: v.Rung(stand, at(n, 17)).Level}}}
			switch words[0] {
			case "some":
				b.Did = "some"
			case "named":
				b.Did, b.Drills = "some", []string{"stand"}
			case "unrated":
				b.Pain = nil
			case "barred":
				b.Barred = true
			}
			if words[2] == "at" {
				b.Doses[0].Level, _ = strconv.Atoi(words[3])
			}
			c.log(at(n, 17), b)
		}
	}
}

// climbed lives through some days in a stage and gives the level at the end of each: "1 1 2".
func climbed(t fataler, stage string, days []string) string {
	p := drilled(stand)
	c := sprain(t, adult)
	c.screen(after(0.5), negative)
	c.decide(after(1), rehab.Advance, "", stage)
	var out []string
	for i, says := range days {
		c.live(p, i+1, says)
		out = append(out, fmt.Sprint(c.under(p, at(i+1, 22)).Views[0].Rung(stand, at(i+1, 22)).Level))
	}
	return strings.Join(out, " ")
}

// The rules of the ladder, one at a time.
func TestTheLadder(t *testing.T) {
	for _, c := range []struct {
		what, stage, days, levels string
	}{
		{"two clean sessions and the good mornings after them", "land", "done 1 | good; done 2 | good", "1 1 2"},
		{"one is not enough", "land", "done 1 | good | good", "1 1 1"},
		{"days between them do not matter", "land", "done 1 | good | good | good; done 0 | good", "1 1 1 1 2"},
		{"two on one day are one session", "land", "done 1; done 1 | good", "1 1"},
		{"a skipped day is no session", "land", "done 1 | good; skip | good; done 1 | good", "1 1 1 2"},
		{"pain 3 does not count, and ends the run", "land", "done 1 | good; done 3 | good; done 1 | good; done 1 | good", "1 1 1 1 2"},
		{"pain 5 does not count", "land", "done 5 | good; done 5 | good", "1 1 1"},
		{"pain above 5 is a level down", "land", "done 1 | good; done 1 | good; done 6 | good", "1 1 1 1"},
		{"… and the run begins again", "land", "done 1 | good; done 1 | good | done 6 | good; done 1 | good; done 1 | good", "1 1 2 1 1 1 2"},
		{"never below the first", "land", "done 8 | good; done 8 | good", "1 1 1"},
		{"a worse morning after it is a level down", "land", "done 1 | good; done 1 | good; done 1 | worse", "1 1 2 1"},
		{"so is a limp", "land", "done 1 | good; done 1 | good; done 1 | limp", "1 1 2 1"},
		{"a worse morning after a day without it is not its doing", "land", "done 1 | good; done 1 | good | worse", "1 1 2 2"},
		{"too much pain and a worse morning after it are one level", "land", "done 1 | good; done 1 | good; done 1 | good; done 1 | good; done 7 | worse", "1 1 2 2 2 2"}, // up on the morning of the fifth day, down in its session
		{"a morning nobody answered is not clean", "land", "done 1 | - | done 1 | good", "1 1 1 1"},
		{"… and ends the run", "land", "done 1 | good; done 1 | - | done 1 | good", "1 1 1 1 1"},
		{"… but until the day is over it may be answered", "land", "done 1 | good; done 1 | done 1 | good", "1 1 1 1"},
		{"partly, with no drill named, does not count", "land", "done 1 | good; some 1 | good; done 1 | good", "1 1 1 1"},
		{"partly, with the drill named, counts", "land", "named 1 | good; named 1 | good", "1 1 2"},
		{"pain not told does not count", "land", "unrated | good; unrated | good", "1 1 1"},
		{"done while none were to be done does not count", "land", "done 1 | good; barred 1 | good; done 1 | good", "1 1 1 1"},
		{"… though too much pain does", "land", "done 1 | good; done 1 | good | barred 6", "1 1 2 1"},
		{"done at a lower level does not count", "land", "done 1 | good; done 1 | good; done 1 at 1 | good; done 1 at 1 | good", "1 1 2 2 2"},
		{"in Control the third level is not allowed", "control", "done 1 | good; done 1 | good; done 1 | good; done 1 | good; done 1 | good", "1 1 2 2 2 2"},
		{"… and opens with the stage, a level at a time", "control", "done 1 | good; done 1 | good; done 1 | good; done 1 | good; to land; done 1 | good; done 1 | good", "1 1 2 2 2 2 3"},
		{"never above the last", "land", strings.Repeat("good; done 1 | ", 12) + "good", "1 1 2 2 3 3 4 4 4 4 4 4 4"},
		{"a step back takes what the earlier stage does not allow", "land", strings.Repeat("good; done 1 | ", 7) + "good; back control | good", "1 1 2 2 3 3 4 2 2"},
		{"… and it has to be earned again", "land", strings.Repeat("good; done 1 | ", 7) + "good; back control | good; to land | good; done 1 | good; done 1 | good", "1 1 2 2 3 3 4 2 2 2 2 3"},
		{"a new sprain begins again", "land", strings.Repeat("good; done 1 | ", 5) + "good; sprain | good", "1 1 2 2 3 1 1"},
		{"back in matches no morning is asked for", "returned", "done 1 | done 1 | done 1 | done 1 | -", "1 1 2 2 3"},
		{"… though a worse one counts", "returned", "done 1 | done 1 | done 1 | worse", "1 1 2 1"},
		{"a return does not make clean what was not", "sport", "done 1 | - | done 1 | - | done 1 | - | to returned", "1 1 1 1 1 1 1"},
	} {
		t.Run(c.what, func(t *testing.T) {
			want(t, c.days, climbed(t, c.stage, strings.Split(c.days, " | ")), c.levels, practice)
		})
	}
}

// What a rung says.
func TestARungSaysWhy(t *testing.T) {
	p := drilled(stand)
	c := sprain(t, adult)
	c.screen(after(0.5), negative)
	c.decide(after(1), rehab.Advance, "", "land")
	says := func(n int) string { return c.under(p, at(n, 22)).Views[0].Rung(stand, at(n, 22)).Says() }
	want(t, "never done", says(1), "level 1 of 4, to begin with", practice)
	for i, d := range strings.Split("done 1 | good; done 1 | good", " | ") {
		c.live(p, i+1, d)
	}
	want(t, "risen", says(3), "level 2 of 4 since Tue 10 Mar: two clean sessions", practice)
	c.live(p, 3, "done 6")
	want(t, "fallen the same day", says(3), "level 1 of 4 since Tue 10 Mar: pain 6", practice)
}

// deed is what happens on one day of a random course.
type deed struct {
	morning, pain, level int // morning 0 unanswered, 1 good, 2 worse; pain −1 for no session
	did                  string
}

func deeds(t *rapid.T) []deed {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) deed {
		return deed{
			morning: rapid.SampledFrom([]int{1, 1, 1, 1, 0, 2}).Draw(t, "morning"),
			pain:    rapid.SampledFrom([]int{0, 1, 2, 2, 0, 3, 5, 6, 9, -1}).Draw(t, "pain"),
			level:   rapid.SampledFrom([]int{4, 4, 3, 2, 1}).Draw(t, "level"),
			did:     rapid.SampledFrom([]string{"all", "all", "all", "some"}).Draw(t, "did"),
		}
	}), 1, 16).Draw(t, "days")
}

// ladder gives the level at the end of each day of a course told at fixed levels, and of some days after it.
func ladder(t fataler, stage string, days []deed, also func(c *chart)) []int {
	p := drilled(stand)
	c := sprain(t, adult)
	c.screen(after(0.5), negative)
	c.decide(after(1), rehab.Advance, "", stage)
	for i, d := range days {
		switch d.morning {
		case 1:
			c.log(at(i+1, 8), rehab.Responded{Pain: 1, Swelling: "same"})
		case 2:
			c.log(at(i+1, 8), rehab.Responded{Pain: 1, Swelling: "more"})
		}
		if pain := d.pain; pain >= 0 {
			c.log(at(i+1, 17), rehab.Trained{Did: d.did, Side: rehab.Left, Stage: stage, Pain: &pain, Doses: []rehab.Dose{{Drill: "stand", Level: d.level}}})
		}
	}
	if also != nil {
		also(c)
	}
	st, whole := c.athlete, c.entries
	var out []int
	for n := 1; n <= len(days)+2; n++ {
		c.entries = nil
		for _, e := range whole {
			if !e.At.After(at(n, 22)) {
				c.entries = append(c.entries, e)
			}
		}
		c.athlete = st
		out = append(out, c.under(p, at(n, 22)).Views[0].Rung(stand, at(n, 22)).Level)
	}
	return out
}

var laddered = []string{"settle", "load", "control", "land", "sport", "returned"}

// Within a stage the ladder moves by one level from one day to the next at most, and stays on itself.
func TestTheLadderMovesOneLevelADay(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		stage := rapid.SampledFrom(laddered).Draw(rt, "stage")
		days := deeds(rt)
		levels := ladder(rt, stage, days, nil)
		for i, l := range levels {
			if l < 1 || l > len(stand.Levels) || i > 0 && (l-levels[i-1] > 1 || levels[i-1]-l > 1) {
				rt.Fatalf("%s, %+v: levels %v", stage, days, levels)
			}
		}
	})
}

// More pain in any session, all else equal, never leads to a higher level, on no later day.
func TestMorePainInDrillsNeverLiftsTheLadder(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		stage := rapid.SampledFrom(laddered).Draw(rt, "stage")
		days := deeds(rt)
		before := ladder(rt, stage, days, nil)
		i := rapid.IntRange(0, len(days)-1).Draw(rt, "in session")
		if days[i].pain < 0 {
			rt.Skip()
		}
		worse := append([]deed{}, days...)
		worse[i].pain = rapid.IntRange(days[i].pain, 10).Draw(rt, "pain")
		for n, l := range ladder(rt, stage, worse, nil) {
			if l > before[n] {
				rt.Fatalf("%s, %+v with pain %d on day %d: level %d on day %d, was %d", stage, days, worse[i].pain, i+1, l, n+1, before[n])
			}
		}
	})
}

// A worse answer in place of a good one, or of the latest morning, more pain, never leads to a higher level.
func TestAWorseMorningNeverLiftsTheLadder(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		stage := rapid.SampledFrom(laddered).Draw(rt, "stage")
		days := deeds(rt)
		i := rapid.IntRange(0, len(days)-1).Draw(rt, "on morning")
		worse := append([]deed{}, days...)
		worse[i].morning = 2
		before, after := ladder(rt, stage, days, nil), ladder(rt, stage, worse, nil)
		if pain := rapid.IntRange(1, 10).Draw(rt, "pain"); rapid.Bool().Draw(rt, "the latest") {
			after = ladder(rt, stage, days, func(c *chart) { c.log(at(len(days), 9), rehab.Responded{Pain: pain, Swelling: "same"}) })
			good := append([]deed{}, days...)
			good[len(good)-1].morning = 1
			before = ladder(rt, stage, good, nil)
		}
		for n := range before {
			if after[n] > before[n] {
				rt.Fatalf("%s, %+v, worse on day %d: levels %v, were %v", stage, days, i+1, after, before)
			}
		}
	})
}

// A record told twice never leads to a higher level.
func TestToldTwiceNeverLiftsTheLadder(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		stage := rapid.SampledFrom(laddered).Draw(rt, "stage")
		days := deeds(rt)
		before := ladder(rt, stage, days, nil)
		after := ladder(rt, stage, days, func(c *chart) {
			e := c.entries[rapid.IntRange(1, len(c.entries)-1).Draw(rt, "told twice")]
			c.log(e.At.Add(time.Minute), e.Body)
		})
		for n := range before {
			if after[n] > before[n] {
				rt.Fatalf("%s, %+v: levels %v, were %v", stage, days, after, before)
			}
		}
	})
}
