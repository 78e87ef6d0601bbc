package rehab_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"footing/rehab"
)

const (
	hupperets = "Hupperets 2009 BMJ 339:b2684: 8 weeks [V], three times a week [M]"
	ours      = "common practice: how long an answer stands is our own choice, a year"
	wright    = "Wright 2014 Arch PMR 95:1853: CAIT at most 25; not within 3 months of a sprain, common practice"
)

// home is a zone well east of Greenwich: its Monday begins on Greenwich's Sunday.
var home = time.FixedZone("NZST", 12*3600)

// local is an hour of a date in that zone.
func local(date string, hour int) time.Time {
	d, err := time.ParseInLocation(time.DateOnly, date, home)
	if err != nil {
		panic(err)
	}
	return d.Add(time.Duration(hour) * time.Hour)
}

// player opens a chart of a player without a sprain.
func player(t fataler) *chart {
	c := sprain(t, adult)
	c.entries, c.episode = nil, 0
	return c
}

// hurt opens the next episode; back returns from it.
func (c *chart) hurt(at time.Time, side rehab.Side) {
	c.episode++
	c.log(at, rehab.Sprained{Side: side, Protocol: ankle.Hash})
}

func (c *chart) back(at time.Time) { c.decide(at, rehab.Return, "sport", "returned") }

func (c *chart) drill(side rehab.Side, dates ...string) {
	for _, d := range dates {
		c.log(local(d, 7), rehab.Trained{Did: "all", Side: side})
	}
}

// blocks says what prevention asks for: "left returned Tue 3 Mar, 2026-03-03 to 2026-04-27".
func (c *chart) blocks(now time.Time) string {
	var out []string
	for _, b := range c.under(ankle, now).Prevention {
		says := fmt.Sprintf("%s %s, %s", b.View.Side, b.Why, b.From.Format(time.DateOnly))
		if !b.Until.IsZero() {
			says += " to " + b.Until.Format(time.DateOnly)
		}
		out = append(out, says)
	}
	return strings.Join(out, "; ")
}

func TestPreventionBlocks(t *testing.T) {
	once := func(c *chart) { c.hurt(local("2026-02-01", 15), rehab.Left); c.back(local("2026-03-03", 10)) }
	stable := func(at time.Time, value string) func(c *chart) {
		return func(c *chart) { c.test(at, "stability L "+value) }
	}
	for _, c := range []struct {
		what, now string
		do        []func(c *chart)
		want      string
		source    string
	}{
		{"nothing", "2026-03-10", nil, "", practice},
		{"under treatment", "2026-02-20", []func(c *chart){func(c *chart) { c.hurt(local("2026-02-01", 15), rehab.Left) }}, "", practice},
		{"it begins with the return and takes eight weeks", "2026-03-03", []func(c *chart){once}, "left returned Tue 3 Mar, 2026-03-03 to 2026-04-27", hupperets},
		{"its last day", "2026-04-27", []func(c *chart){once}, "left returned Tue 3 Mar, 2026-03-03 to 2026-04-27", hupperets},
		{"the day after", "2026-04-28", []func(c *chart){once}, "", hupperets},
		{"a sprain of the same ankle ends it", "2026-03-20", []func(c *chart){once, func(c *chart) { c.hurt(local("2026-03-15", 9), rehab.Left) }}, "", practice},
		{"one of the other does not", "2026-03-20", []func(c *chart){once, func(c *chart) { c.hurt(local("2026-03-15", 9), rehab.Right) }}, "left returned Tue 3 Mar, 2026-03-03 to 2026-04-27", practice},
		{"two sprains of a side", "2026-05-20", []func(c *chart){once, func(c *chart) { c.hurt(local("2026-03-15", 9), rehab.Left); c.back(local("2026-04-10", 9)) }}, "left 2 sprains in 12 months, 2026-04-10", practice},
		{"… of different sides are no reason", "2026-07-20", []func(c *chart){once, func(c *chart) { c.hurt(local("2026-03-15", 9), rehab.Right); c.back(local("2026-04-10", 9)) }}, "", practice},
		{"… of which one is more than a year ago", "2027-02-02", []func(c *chart){once, func(c *chart) { c.hurt(local("2026-03-15", 9), rehab.Left); c.back(local("2026-04-10", 9)) }}, "", practice},
		{"a new sprain while under treatment is a second", "2026-07-20", []func(c *chart){func(c *chart) {
			c.hurt(local("2026-02-01", 15), rehab.Left)
			c.log(local("2026-02-15", 15), rehab.Sprained{Side: rehab.Left, Again: true})
			c.back(local("2026-04-10", 9))
		}}, "left 2 sprains in 12 months, 2026-04-10", practice},
		{"two told at the roster", "2026-03-01", []func(c *chart){func(c *chart) { c.log(local("2026-01-10", 9), rehab.Past{Side: rehab.Right, Sprains: 2}) }}, "right 2 sprains in 12 months, 2026-01-10", practice},
		{"one told, one seen", "2026-07-20", []func(c *chart){func(c *chart) { c.log(local("2026-01-10", 9), rehab.Past{Side: rehab.Left, Sprains: 1}) }, once}, "left 2 sprains in 12 months, 2026-03-03", practice},
		{"one seen, and told again afterwards", "2026-07-20", []func(c *chart){once, func(c *chart) { c.log(local("2026-06-10", 9), rehab.Past{Side: rehab.Left, Sprains: 1}) }}, "", practice},
		{"one seen, two told afterwards: the one is among them", "2026-07-20", []func(c *chart){once, func(c *chart) { c.log(local("2026-06-10", 9), rehab.Past{Side: rehab.Left, Sprains: 2}) }}, "left 2 sprains in 12 months, 2026-06-10", practice},
		{"told twice", "2026-03-01", []func(c *chart){func(c *chart) {
			c.log(local("2026-01-10", 9), rehab.Past{Side: rehab.Right, Sprains: 1})
			c.log(local("2026-01-12", 9), rehab.Past{Side: rehab.Right, Sprains: 1})
		}}, "", practice},
		{"told a year ago, and only the surgery since", "2027-01-11", []func(c *chart){func(c *chart) {
			c.log(local("2026-01-10", 9), rehab.Past{Side: rehab.Right, Sprains: 2})
			c.log(local("2026-12-10", 9), rehab.Past{Side: rehab.Right, Surgery: true})
		}}, "", practice},
		{"told more than a year ago", "2027-01-11", []func(c *chart){func(c *chart) { c.log(local("2026-01-10", 9), rehab.Past{Side: rehab.Right, Sprains: 2}) }}, "", practice},
		{"stability 25", "2026-03-10", []func(c *chart){stable(local("2026-03-02", 9), "25")}, "left stability 25, 2026-03-02", wright},
		{"stability 25, the last day of the year it flags for", "2027-03-01", []func(c *chart){stable(local("2026-03-02", 9), "25")}, "left stability 25, 2026-03-02", ours},
		{"a year on it flags no more", "2027-03-03", []func(c *chart){stable(local("2026-03-02", 9), "25")}, "", ours},
		{"stability 26", "2026-03-10", []func(c *chart){stable(local("2026-03-02", 9), "26")}, "", wright},
		{"the last answer counts", "2026-03-20", []func(c *chart){stable(local("2026-03-02", 9), "20"), stable(local("2026-03-12", 9), "28")}, "", wright},
		{"not done is no answer", "2026-03-20", []func(c *chart){stable(local("2026-03-12", 9), "not-done: no time")}, "", practice},
		{"asked within three months of a sprain", "2026-04-29", []func(c *chart){once, stable(local("2026-04-20", 9), "20")}, "", wright},
		{"asked 92 days after it: its own block, for the return's was over", "2026-05-10", []func(c *chart){once, stable(local("2026-05-04", 9), "20")}, "left stability 20, 2026-05-04", wright},
		{"asked within three months of a second sprain of the episode", "2026-07-20", []func(c *chart){func(c *chart) {
			c.hurt(local("2025-03-01", 15), rehab.Left)
			c.log(local("2026-05-01", 15), rehab.Sprained{Side: rehab.Left, Again: true})
			c.back(local("2026-05-20", 9))
		}, stable(local("2026-07-18", 9), "20")}, "", wright},
	} {
		ch := player(t)
		for _, do := range c.do {
			do(ch)
		}
		want(t, c.what, ch.blocks(local(c.now, 12)), c.want, c.source)
	}
}

// Weeks run from Monday to Sunday where the team is, and Sunday evening is not yet Monday.
func TestPreventionWeeks(t *testing.T) {
	c := player(t)
	c.hurt(local("2026-02-01", 15), rehab.Left)
	c.back(local("2026-03-04", 10)) // a Wednesday
	c.drill(rehab.Left, "2026-03-09", "2026-03-11", "2026-03-11", "2026-03-15", "2026-03-16")
	c.drill(rehab.Right, "2026-03-10")
	c.log(local("2026-03-12", 7), rehab.Trained{Did: "none", Side: rehab.Left, Why: "bus"})
	for _, row := range []struct{ what, now, want string }{
		{"the first Sunday: the week before had not begun", "2026-03-08", "this 0, last –"},
		{"the first Monday: nor had the week of the return", "2026-03-09", "this 1, last –"},
		{"Sunday of the first whole week", "2026-03-15", "this 3, last –"},
		{"Monday after it", "2026-03-16", "this 1, last 3"},
		{"a week on", "2026-03-23", "this 0, last 1"},
	} {
		now := local(row.now, 8) // still the day before in Greenwich
		b := c.under(ankle, now).Prevention[0]
		last := "–"
		if n, ok := b.LastWeek(now); ok {
			last = fmt.Sprint(n)
		}
		want(t, row.what, fmt.Sprintf("this %d, last %s", b.ThisWeek(now), last), row.want, practice)
	}
}

// Adherence by hand: three a week are asked for; a week of more makes up for no week of less.
func TestAdherence(t *testing.T) {
	c := player(t)
	c.hurt(local("2026-02-01", 15), rehab.Left)
	c.back(local("2026-03-04", 10))
	c.drill(rehab.Left, "2026-03-04", "2026-03-05", "2026-03-06", "2026-03-07", "2026-03-10") // five in the first week
	c.drill(rehab.Left, "2026-03-11", "2026-03-12")                                           // two in the second
	for _, row := range []struct{ what, now, want string }{
		{"before the first week is over", "2026-03-10", "–"},
		{"3 of 3", "2026-03-11", "100"},
		{"5 of 6", "2026-03-18", "83"},
		{"5 of 9", "2026-03-25", "55"},
	} {
		b := c.under(ankle, local(row.now, 23)).Prevention[0]
		got := "–"
		if n, ok := b.Adherence(local(row.now, 23)); ok {
			got = fmt.Sprint(n)
		}
		want(t, row.what, got, row.want, hupperets)
	}
}

func TestFollowUps(t *testing.T) {
	look := func(date string, side rehab.Side) func(c *chart) {
		return func(c *chart) {
			c.log(local(date, 11), rehab.Tested{Test: "balance", Side: side, Trials: []rehab.Trial{{Value: 40}}})
		}
	}
	for _, row := range []struct {
		what, now string
		do        func(c *chart)
		months    int
	}{
		{"a month less a day", "2026-04-02", nil, 0},
		{"on its day, before the hour of the return", "2026-04-03", nil, 1},
		{"three months", "2026-06-03", nil, 3},
		{"six months", "2026-09-03", nil, 6},
		{"a year", "2027-03-03", nil, 12},
		{"looked at a week before", "2026-04-10", look("2026-03-27", rehab.Left), 0},
		{"looked at eight days before", "2026-04-10", look("2026-03-26", rehab.Left), 1},
		{"looked at after its day", "2026-04-10", look("2026-04-09", rehab.Left), 0},
		{"the first was done, the second is due", "2026-06-03", look("2026-04-09", rehab.Left), 3},
		{"the other ankle was looked at", "2026-04-10", look("2026-04-09", rehab.Right), 1},
		{"both legs were", "2026-04-10", look("2026-04-09", rehab.None), 0},
		{"examined", "2026-04-10", func(c *chart) { c.screen(local("2026-04-09", 9), negative) }, 0},
		{"sprained again since", "2026-04-10", func(c *chart) { c.hurt(local("2026-04-01", 9), rehab.Left) }, 0},
		{"the other ankle sprained since", "2026-04-10", func(c *chart) { c.hurt(local("2026-04-01", 9), rehab.Right) }, 1},
	} {
		c := player(t)
		c.hurt(local("2026-02-01", 15), rehab.Left)
		c.back(local("2026-03-03", 10))
		if row.do != nil {
			row.do(c)
		}
		now := local(row.now, 7)
		a := c.under(ankle, now)
		want(t, row.what, fmt.Sprint(a.Views[0].FollowUp(a.State, now)), fmt.Sprint(row.months), "1, 3, 6 and 12 months, common practice")
	}
}
