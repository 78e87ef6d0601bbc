package rehab_test

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"footing/rehab"
)

// atThreshold is a record, line by line, with every criterion of the gate out of a stage exactly at
// its threshold. A line is of day 30, or of the day it names; "before" is a pre-season day.
var atThreshold = map[string]string{
	"control": "evert L equal pain 2; knee-to-wall L 10; knee-to-wall R 12; calf-raise L 16; calf-raise R 20; balance-closed L 15; reach-anterior L 60; reach-anterior R 64; pain-drills 2",
	"impact":  "pogo L 20+ pain 2; pogo R 20+; calf-raise L 18; calf-raise R 20; jog 10; on 31 morning 1; on 20 girth L 52; girth L 52.83",
	"land": "hop L 135; hop R 150; stick-forward L 3; stick-sideways L 3; sprint 90; cuts clean; knee-to-wall L 10.5; knee-to-wall R 12; " +
		"reach-anterior L 65; reach-posteromedial L 110; reach-posterolateral L 110; reach-anterior R 70; reach-posteromedial R 115; reach-posterolateral R 115",
	"sport": "pain-sport 2; pain-day 2; knee-to-wall L 10.5; knee-to-wall R 12; calf-raise L 18; calf-raise R 20; confidence 8; " +
		"reach-anterior L 65; reach-posteromedial L 110; reach-posterolateral L 110; reach-anterior R 70; reach-posteromedial R 115; reach-posterolateral R 115; " +
		"balance-closed L 15; hop L 135; hop R 150; on 28 team-session full; on 29 morning 1; on 30 team-session full-contact; on 31 morning 1; support brace",
}

// evening is when a gate is read unless a row says otherwise: the day after most was measured.
var evening = day(31).Add(10 * time.Hour)

// ready is a player in a stage with that record, some lines put in place of others or left out ("no hop").
func ready(t *testing.T, stage, changes string) *chart {
	c := sprain(t, adult)
	climb(c, stage)
	lines := strings.Split(atThreshold[stage], "; ")
	for _, change := range strings.Split(changes, "; ") {
		told, drop := strings.CutPrefix(change, "no ")
		if told == "" {
			continue
		}
		lines = slices.DeleteFunc(lines, func(l string) bool { return strings.HasPrefix(about(l)+" ", about(told)+" ") })
		if !drop {
			lines = append(lines, told)
		}
	}
	for _, line := range lines {
		c.tell(line)
	}
	return c
}

// about is what a line is about: its day, its test and its side.
func about(line string) string {
	words := strings.Fields(line)
	n := 1 + map[string]int{"on": 2, "before": 1}[words[0]]
	if len(words) > n && (words[n] == "L" || words[n] == "R") {
		n++
	}
	return strings.Join(words[:n], " ")
}

// tell records one such line: a test, with the pain beside it or masked; a morning; or the support.
func (c *chart) tell(line string) {
	at, episode := day(30), c.episode
	if rest, ok := strings.CutPrefix(line, "before "); ok {
		at, line, c.episode = day(-100), rest, 0
	} else if rest, ok := strings.CutPrefix(line, "on "); ok {
		n, what, _ := strings.Cut(rest, " ")
		d, _ := strconv.Atoi(n)
		at, line = day(d), what
	}
	words := strings.Fields(line)
	switch words[0] {
	case "morning":
		pain, _ := strconv.Atoi(words[1])
		b := rehab.Responded{Pain: pain, Swelling: "same"}
		if len(words) > 2 {
			b.Swelling = words[2]
		}
		c.log(at, b)
	case "support":
		c.log(at, rehab.Supported{Support: words[1]})
	default:
		line, masked := strings.CutSuffix(line, " masked")
		line, pain, beside := strings.Cut(line, " pain ")
		c.test(at, line)
		b := c.entries[len(c.entries)-1].Body.(rehab.Tested)
		if b.Masked = masked; beside {
			n, _ := strconv.Atoi(pain)
			b.Pain = &n
		}
		c.entries[len(c.entries)-1].Body = b
	}
	c.episode = episode
}

// A readyRow is what is put in place of a record at every threshold, and how one criterion stands then.
type readyRow struct {
	criterion, what, changes string
	want                     rehab.Status
	says, source             string
}

func readAll(t *testing.T, stage string, rows []readyRow) {
	for _, r := range rows {
		t.Run(r.criterion+": "+r.what, func(t *testing.T) {
			gateRow{r.what, r.criterion, nothing, evening, r.want, r.says, r.source}.check(t, ready(t, stage, r.changes))
		})
	}
}

// measuredBy are the tests a criterion rests on, where they are not its own name.
var measuredBy = map[string]string{"evert-pain": "evert", "pogo-pain": "pogo"}

func TestAtEveryLaterThresholdTheGateIsOpen(t *testing.T) {
	for stage := range atThreshold {
		v := ready(t, stage, "").view(evening)
		if unmet, _ := v.Unmet(); v.Stage.Key != stage || len(unmet) > 0 || len(v.Gate) < 6 {
			t.Errorf("%s: of %d criteria not met: %+v", stage, len(v.Gate), unmet)
		}
	}
}

// What nobody measured, what was not done, what is too old and what came before a set-back are never met.
func TestNoCriterionIsMetWithoutAValidTest(t *testing.T) {
	// Good for 14 days; loading tests (pogo, hops, sticks) 7.
	good := map[string]int{"pogo": 7, "hop": 7, "stick-forward": 7, "stick-sideways": 7}
	for stage := range atThreshold {
		for _, open := range ready(t, stage, "").view(evening).Gate {
			key := open.Criterion.Key
			test := cmp.Or(measuredBy[key], key)
			if open.Criterion.Test == "" || open.Criterion.Test == "team-session" {
				continue
			}
			own := map[string]string{"reach": "reach-anterior"}[test]
			own = cmp.Or(own, test)
			reads := func(what, changes string, now time.Time, status rehab.Status, says string) {
				gateRow{stage + ": " + test + " " + what, key, nothing, now, status, says, practice}.check(t, ready(t, stage, changes))
			}
			missing, side := "no "+own, " L"
			if key == "girth" {
				missing = "no girth; no on 20 girth"
			}
			if tt := find(t, test); tt.Sides == "none" {
				side = ""
			}
			reads("not measured", missing, evening, rehab.Missing, test)
			for _, why := range []string{"safety", "kit", "other"} {
				reads("not done for "+why, missing+"; "+own+side+" not-done: "+why, evening, rehab.Missing, why)
			}
			reads("measured, and not done the day after", "on 31 "+own+side+" not-done: safety", evening, rehab.Missing, "safety")
			if tt := find(t, own); len(tt.Choices) == 0 && !strings.HasPrefix(own, "pain-") {
				reads("failed every time", own+side+" x x", evening, rehab.NotMet, "failed")
				reads("failed every time the day after", "on 31 "+own+side+" x", evening, rehab.NotMet, "failed")
			}
			days := cmp.Or(good[test], 14)
			reads("at its last good day", "", day(30+days).Add(14*time.Hour), rehab.Met, "")
			reads("a day older", "", day(30+days+1), rehab.Stale, "days old")

			c := ready(t, stage, "")
			c.decide(day(31).Add(time.Hour), rehab.StepBack, stage, course[slices.Index(course, stage)-1])
			c.decide(day(31).Add(2*time.Hour), rehab.Advance, course[slices.Index(course, stage)-1], stage)
			gateRow{stage + ": " + test + " before a step back", key, nothing, evening, rehab.Stale, "before the set-back", practice}.check(t, c)
		}
	}
}
