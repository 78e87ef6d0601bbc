package rehab_test

import (
	"strings"
	"testing"
	"time"

	"footing/rehab"
)

// After a worse morning nothing leaves the ground that day, and coaches read it so; the next good
// morning gives the stage its own work back (protocol of the response rule, common practice).
func TestAWorseMorningGroundsTheDay(t *testing.T) {
	for _, c := range []struct {
		stage, can string
		level      rehab.Level
	}{
		{"control", "standing skills", rehab.Modified}, // nothing leaves the ground there
		{"impact", "standing skills", rehab.Modified},
		{"land", "standing skills", rehab.Modified},
		{"sport", "standing skills", rehab.Modified},
	} {
		t.Run(c.stage, func(t *testing.T) {
			ch := sprain(t, adult)
			ch.screen(after(0.5), negative)
			ch.decide(day(1), rehab.Advance, "", c.stage)
			own := ch.assess(day(2)).Availability
			ch.log(day(3), rehab.Responded{Pain: 5, Swelling: "more"})
			worse := ch.assess(day(3)).Availability
			want(t, "coaches read", strings.Join(worse.Can, ","), c.can, practice)
			want(t, "level", string(worse.Level), string(c.level), practice)
			ch.log(day(4), rehab.Responded{Pain: 1, Swelling: "less"})
			want(t, "the day after a good morning", strings.Join(ch.assess(day(4)).Can, ","), strings.Join(own.Can, ","), practice)
		})
	}
}

// A worse morning stands while nobody answers: a missing answer is unknown, never fine. It ends with the
// next answer, with a decision on the stage, or with the days the clinic list has named as unknown.
func TestAWorseMorningStandsUntilSomebodyAnswers(t *testing.T) {
	decided := func(action rehab.Action, at time.Time) func(*chart) {
		return func(c *chart) { c.decide(at, action, "land", "land") }
	}
	const grounded, own = "standing skills", "run,planned turns"
	for _, r := range []struct {
		what   string
		since  func(*chart)
		days   int
		can    string
		clinic string
	}{
		{"the day itself", nothing, 3, grounded, "worse: pain 5, swelling up"},
		{"the next day", nothing, 4, grounded, "worse on Tue, not answered since: pain 5, swelling up"},
		{"the third day unanswered", nothing, 6, grounded, "3 mornings not answered, the last was worse (Tue: pain 5, swelling up)"},
		{"the fourth", nothing, 7, own, "4 mornings not answered"},
		{"answered well the next day", func(c *chart) { c.log(day(4), rehab.Responded{Pain: 1, Swelling: "less"}) }, 4, own, ""},
		{"decided since, the next day", decided(rehab.Stay, day(3).Add(time.Hour)), 4, own, "worse on Tue"},
		{"decided since, that day", decided(rehab.Stay, day(3).Add(time.Hour)), 3, grounded, "worse: pain 5"},
	} {
		t.Run(r.what, func(t *testing.T) {
			ch := sprain(t, adult)
			ch.screen(after(0.5), negative)
			ch.decide(day(1), rehab.Advance, "", "land")
			ch.decide(day(2), rehab.Stay, "land", "land") // before it: no answer to it
			ch.log(day(3), rehab.Responded{Pain: 5, Swelling: "more"})
			r.since(ch)
			now := day(r.days).Add(2 * time.Hour)
			want(t, "coaches read", strings.Join(ch.assess(now).Can, ","), r.can, practice)
			if got := worries(t, ch, now); r.clinic != "" && !strings.Contains(got, r.clinic) || r.clinic == "" && strings.Contains(got, "worse") {
				t.Errorf("clinic list: %q, want %q", got, r.clinic)
			}
		})
	}
}

func TestAReviewDueIsOnTheClinicList(t *testing.T) {
	ch := sprain(t, adult)
	ch.log(day(0), rehab.Restricted{Level: rehab.Unavailable, Cause: "illness", Review: day(2).Format(time.DateOnly)})
	due := func(now time.Time) bool {
		for _, c := range rehab.Concerns(ch.assess(now), now) {
			if c.Says == "review due: unavailable, illness" {
				return true
			}
		}
		return false
	}
	if due(day(1)) || !due(day(2)) || !due(day(3)) {
		t.Errorf("due the day before %v, on the day %v, the day after %v", due(day(1)), due(day(2)), due(day(3)))
	}
}

// An athlete's own alarm is first on the list until somebody has examined the ankle.
func TestSomethingIsWrongStaysUntilExamined(t *testing.T) {
	ch := sprain(t, adult)
	ch.screen(after(0.5), negative)
	listed := func(now time.Time) bool {
		list := rehab.Concerns(ch.assess(now), now)
		return len(list) > 0 && list[0].Urgency == rehab.Now && strings.HasPrefix(list[0].Says, "said something is wrong")
	}
	before := listed(day(1))
	ch.log(day(1), rehab.Noted{Text: "my foot went cold", Alert: true})
	said := listed(day(2))
	ch.screen(day(2), negative)
	if before || !said || listed(day(2)) {
		t.Errorf("listed before it was said %v, the day after %v, once examined %v", before, said, listed(day(2)))
	}
}
