package ics_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"footing/commands/ics"
)

// year is a window of one year in a zone.
func year(t testing.TB, y int, zone string) ics.Window {
	at := location(t, zone)
	return ics.Window{Zone: at, From: time.Date(y, 1, 1, 0, 0, 0, 0, at), To: time.Date(y+1, 1, 1, 0, 0, 0, 0, at)}
}

// said is what was read, one session a line: start in UTC, minutes, summary; then what was left out.
func said(f ics.File, err error) string {
	if err != nil {
		return err.Error()
	}
	var out []string
	for _, s := range f.Sessions {
		out = append(out, fmt.Sprintf("%s %d %s", s.Start.UTC().Format("2006-01-02T15:04Z"), s.Minutes, s.Summary))
	}
	for _, no := range f.Faults {
		out = append(out, no.Error())
	}
	for _, n := range []struct {
		what string
		n    int
	}{{"all day", f.AllDay}, {"long", f.Long}, {"cancelled", f.Cancelled}, {"outside", f.Outside}, {"endless", f.Endless}} {
		if n.n > 0 {
			out = append(out, fmt.Sprintf("%s %d", n.what, n.n))
		}
	}
	return strings.Join(out, "; ")
}

const zoneOfTheStandard = "BEGIN:VTIMEZONE\r\nTZID:%s\r\n" +
	"BEGIN:DAYLIGHT\r\nDTSTART:20000404T020000\r\nRRULE:FREQ=YEARLY;BYDAY=1SU;BYMONTH=4;UNTIL=20060402T070000Z\r\nTZNAME:EDT\r\nTZOFFSETFROM:-0500\r\nTZOFFSETTO:-0400\r\nEND:DAYLIGHT\r\n" +
	"BEGIN:DAYLIGHT\r\nDTSTART:20070311T020000\r\nRRULE:FREQ=YEARLY;BYDAY=2SU;BYMONTH=3\r\nTZNAME:EDT\r\nTZOFFSETFROM:-0500\r\nTZOFFSETTO:-0400\r\nEND:DAYLIGHT\r\n" +
	"BEGIN:STANDARD\r\nDTSTART:20001029T020000\r\nRRULE:FREQ=YEARLY;BYDAY=-1SU;BYMONTH=10;UNTIL=20061029T060000Z\r\nTZNAME:EST\r\nTZOFFSETFROM:-0400\r\nTZOFFSETTO:-0500\r\nEND:STANDARD\r\n" +
	"BEGIN:STANDARD\r\nDTSTART:20071104T020000\r\nRRULE:FREQ=YEARLY;BYDAY=1SU;BYMONTH=11\r\nTZNAME:EST\r\nTZOFFSETFROM:-0400\r\nTZOFFSETTO:-0500\r\nEND:STANDARD\r\n" +
	"END:VTIMEZONE\r\n"

// A program's own definition of its zone, as the common office programs write it (common practice).
const officeZone = "BEGIN:VTIMEZONE\r\nTZID:%s\r\n" +
	"BEGIN:STANDARD\r\nDTSTART:16010101T030000\r\nTZOFFSETFROM:+0200\r\nTZOFFSETTO:+0100\r\nRRULE:FREQ=YEARLY;BYDAY=-1SU;BYMONTH=10\r\nEND:STANDARD\r\n" +
	"BEGIN:DAYLIGHT\r\nDTSTART:16010101T020000\r\nTZOFFSETFROM:+0100\r\nTZOFFSETTO:+0200\r\nRRULE:FREQ=YEARLY;BYDAY=-1SU;BYMONTH=3\r\nEND:DAYLIGHT\r\n" +
	"END:VTIMEZONE\r\n"

// defined is a file with a zone of its own.
func defined(zone, name string, lines ...string) string {
	return strings.Replace(calendar(lines...), "BEGIN:VEVENT", fmt.Sprintf(zone, name)+"BEGIN:VEVENT", 1)
}

// What one event says, by RFC 5545; where the words are its own, from memory, the section stands beside it.
func TestEvents(t *testing.T) {
	y1997, y2007, y2026 := year(t, 1997, "UTC"), year(t, 2007, "America/New_York"), year(t, 2026, "Pacific/Auckland")
	for _, c := range []struct {
		what, text string
		w          ics.Window
		want       string
	}{
		{"3.6.1 a meeting in UTC", calendar("DTSTAMP:19970901T130000Z", "DTSTART:19970903T163000Z", "DTEND:19970903T190000Z", "CLASS:PRIVATE", "CATEGORIES:BUSINESS,HUMAN RESOURCES"), y1997, "1997-09-03T16:30Z 150 Training"},
		{"3.6.1 an anniversary of all day", calendar("DTSTART;VALUE=DATE:19971102", "TRANSP:TRANSPARENT", "RRULE:FREQ=YEARLY"), y1997, "all day 1"},
		{"3.6.1 several days", calendar("DTSTART;VALUE=DATE:20070628", "DTEND;VALUE=DATE:20070709"), y2007, "all day 1"},
		{"3.3.5 a time the clocks jump over", calendar("DTSTART;TZID=America/New_York:20070311T023000", "DURATION:PT1H"), y2007, "2007-03-11T07:30Z 60 Training"},
		{"3.3.5 a time they show twice", calendar("DTSTART;TZID=America/New_York:20071104T013000", "DURATION:PT1H"), y2007, "2007-11-04T05:30Z 60 Training"},
		{"3.3.5 a floating time is the team's", calendar("DTSTART:20260303T183000", "DTEND:20260303T200000"), y2026, "2026-03-03T05:30Z 90 Training"},
		{"3.3.6 durations", calendar("DTSTART:20260303T183000Z", "DURATION:P15DT5H0M20S"), y2026, "long 1"},
		{"3.8.2.4 an end in another zone", calendar("DTSTART;TZID=Europe/Berlin:20260303T183000", "DTEND;TZID=Europe/London:20260303T183000"), y2026, "2026-03-03T17:30Z 60 Training"},
		{"3.6.1 no end", calendar("DTSTART:20260303T183000Z"), y2026, "2026-03-03T18:30Z 0 Training"},
		{"past midnight", calendar("DTSTART:20260303T233000", "DTEND:20260304T010000"), y2026, "2026-03-03T10:30Z 90 Training"},
		{"3.8.5.1 exceptions", calendar("DTSTART:20260303T180000Z", "DURATION:PT1H", "RRULE:FREQ=WEEKLY;COUNT=4", "EXDATE:20260310T180000Z,20260324T180000Z"), y2026, "2026-03-03T18:00Z 60 Training; 2026-03-17T18:00Z 60 Training"},
		{"an exception by its day", calendar("DTSTART:20260303T183000", "DURATION:PT1H", "RRULE:FREQ=WEEKLY;COUNT=2", "EXDATE;VALUE=DATE:20260310"), y2026, "2026-03-03T05:30Z 60 Training"},
		{"3.8.5.2 more dates", calendar("DTSTART;TZID=America/New_York:20260714T083000", "DURATION:PT1H", "RDATE;TZID=America/New_York:20260716T083000,20260714T083000"), y2026, "2026-07-14T12:30Z 60 Training; 2026-07-16T12:30Z 60 Training"},
		{"the wall clock is kept over a change", calendar("DTSTART;TZID=Pacific/Auckland:20260331T183000", "DURATION:PT1H", "RRULE:FREQ=WEEKLY;COUNT=2"), y2026, "2026-03-31T05:30Z 60 Training; 2026-04-07T06:30Z 60 Training"},
		{"3.8.1.11 called off", calendar("DTSTART:20260303T183000", "STATUS:CANCELLED"), y2026, "cancelled 1"},
		{"last year", calendar("DTSTART:20250303T183000"), y2026, "outside 1"},
		{"without end", calendar("DTSTART:20261208T183000", "DURATION:PT1H", "RRULE:FREQ=WEEKLY"), y2026, "2026-12-08T05:30Z 60 Training; 2026-12-15T05:30Z 60 Training; 2026-12-22T05:30Z 60 Training; 2026-12-29T05:30Z 60 Training; endless 1"},
		{"3.1 a folded line", strings.Replace(calendar("DTSTART:20260303T183000Z"), "SUMMARY:Training", "SUMMARY:This is a lo\r\n ng description\r\n  that exists on a long line.", 1), y2026, "2026-03-03T18:30Z 0 This is a long description that exists on a long line."},
		{"3.1 a fold inside a letter", strings.Replace(calendar("DTSTART:20260303T183000Z"), "SUMMARY:Training", "SUMMARY:Caf\xc3\r\n \xa9", 1), y2026, "2026-03-03T18:30Z 0 Café"},
		{"3.3.11 escaped letters, names in small letters", strings.ToLower("BEGIN:VCALENDAR\nBEGIN:VEVENT\nUID:b\n") + "summary:A\\, b\\; c\ndtstart:20260303T183000z\nend:vevent\nend:vcalendar", y2026, "2026-03-03T18:30Z 0 A, b; c"},
		{"3.2.19 a name with a prefix", calendar("DTSTART;TZID=/example.org/Europe/Berlin:20260303T183000"), y2026, "2026-03-03T17:30Z 0 Training"},
		{"3.6.5 a zone that only the file knows", defined(zoneOfTheStandard, "Eastern Club Time", `DTSTART;TZID="Eastern Club Time":20260703T183000`), y2026, "2026-07-03T22:30Z 0 Training"},
		{"a program's own name of a zone", defined(officeZone, "W. Europe Standard Time", "DTSTART;TZID=W. Europe Standard Time:20260703T183000"), y2026, "2026-07-03T16:30Z 0 Training"},
		{"X-LIC-LOCATION", defined("BEGIN:VTIMEZONE\r\nTZID:%s\r\nX-LIC-LOCATION:Europe/Paris\r\nEND:VTIMEZONE\r\n", "Home", "DTSTART;TZID=Home:20260703T183000"), y2026, "2026-07-03T16:30Z 0 Training"},
		{"an alarm's own properties", calendar("DTSTART:20260303T183000Z", "BEGIN:VALARM", "DURATION:PT5M", "DTSTART:19990101T000000Z", "END:VALARM"), y2026, "2026-03-03T18:30Z 0 Training"},
		{"no session has a bad second", calendar("DTSTART:20260303T183060Z"), y2026, "2026-03-03T18:30Z 0 Training"},
	} {
		if got := said(ics.Read([]byte(c.text), c.w)); got != c.want {
			t.Errorf("%s: %s\nwant %s", c.what, got, c.want)
		}
	}
}

// A zone's own definition shows the time that the zone database shows, every hour of three years: the
// standard's New York (RFC 5545, 3.6.5) and the office programs' middle of Europe.
func TestAZoneDefinedInTheFileKeepsTheTimeOfTheZoneDatabase(t *testing.T) {
	for _, c := range []struct{ zone, is string }{{zoneOfTheStandard, "America/New_York"}, {officeZone, "Europe/Berlin"}} {
		for _, y := range []int{2006, 2007, 2026} {
			if y == 2006 && c.is == "Europe/Berlin" {
				continue
			}
			w := year(t, y, c.is)
			own, known := strings.Builder{}, strings.Builder{}
			for at := time.Date(y, 1, 2, 0, 30, 0, 0, time.UTC); at.Year() == y && at.YearDay() < 364; at = at.Add(9 * time.Hour) {
				fmt.Fprintf(&own, "\r\nRDATE;TZID=Club:%s", at.Format("20060102T150405"))
				fmt.Fprintf(&known, "\r\nRDATE;TZID=%s:%s", c.is, at.Format("20060102T150405"))
			}
			for _, change := range []string{"0311", "1104", "0329", "1025", "0402", "1029"} {
				for _, clock := range []string{"003000", "013000", "023000", "033000"} {
					fmt.Fprintf(&own, "\r\nRDATE;TZID=Club:%d%sT%s", y, change, clock)
					fmt.Fprintf(&known, "\r\nRDATE;TZID=%s:%d%sT%s", c.is, y, change, clock)
				}
			}
			start := fmt.Sprintf(":%d0102T000000", y)
			got, err := ics.Read([]byte(defined(c.zone, "Club", "DTSTART;TZID=Club"+start+own.String())), w)
			want, err2 := ics.Read([]byte(calendar("DTSTART;TZID="+c.is+start+known.String())), w)
			if err != nil || err2 != nil || len(want.Sessions) < 900 || !slices.Equal(starts(got), starts(want)) {
				t.Errorf("%s %d: %v %v, %d sessions and %d", c.is, y, err, err2, len(got.Sessions), len(want.Sessions))
			}
		}
	}
}

// One session of a series is changed by its RECURRENCE-ID, whatever its new time (RFC 5545, 3.8.4.4); of
// two words on it the later revision counts (3.8.7.4).
func TestOneSessionOfASeriesChanges(t *testing.T) {
	more := func(lines ...string) string {
		return "END:VEVENT\r\nBEGIN:VEVENT\r\nUID:a\r\nSUMMARY:Changed\r\n" + strings.Join(lines, "\r\n")
	}
	series := []string{"DTSTART;TZID=Europe/Berlin:20260303T180000", "DURATION:PT1H", "RRULE:FREQ=WEEKLY;COUNT=3"}
	for _, c := range []struct{ what, want string }{
		{more("RECURRENCE-ID:20260310T170000Z", "DTSTART;TZID=Europe/Berlin:20260311T190000", "DURATION:PT2H"), "2026-03-03T17:00Z 60 Training; 2026-03-11T18:00Z 120 Changed; 2026-03-17T17:00Z 60 Training"},
		{more("RECURRENCE-ID;TZID=Europe/Berlin:20260310T180000", "DTSTART:20260310T170000Z", "STATUS:CANCELLED"), "2026-03-03T17:00Z 60 Training; 2026-03-17T17:00Z 60 Training"},
		{more("RECURRENCE-ID:20260310T170000Z", "SEQUENCE:2", "DTSTART:20260312T170000Z") + "\r\n" + more("RECURRENCE-ID:20260310T170000Z", "SEQUENCE:1", "DTSTART:20260311T170000Z"), "2026-03-03T17:00Z 60 Training; 2026-03-12T17:00Z 0 Changed; 2026-03-17T17:00Z 60 Training"},
		{more("RECURRENCE-ID;RANGE=THISANDFUTURE:20260310T170000Z", "DTSTART:20260311T170000Z"), "line 13: it changes a session and all later ones at once, which I cannot read"},
		{more("RECURRENCE-ID:20270310T170000Z", "DTSTART:20260501T170000Z"), "2026-03-03T17:00Z 60 Training; 2026-03-10T17:00Z 60 Training; 2026-03-17T17:00Z 60 Training; 2026-05-01T17:00Z 0 Changed"},
		{more("RECURRENCE-ID:20260310T170000Z", "STATUS:CANCELLED"), "2026-03-03T17:00Z 60 Training; 2026-03-17T17:00Z 60 Training"},
		{more("RECURRENCE-ID;VALUE=DATE:20260310", "DTSTART:20260311T170000Z"), "line 10: it changes the session of a day without saying which (RECURRENCE-ID)"},
		{more("RECURRENCE-ID:20260310T170000Z", "DTSTART:20260231T170000Z"), "line 14: “20260231T170000Z” is no time"},
	} {
		if got := said(ics.Read([]byte(calendar(append(slices.Clone(series), c.what)...)), year(t, 2026, "UTC"))); got != c.want {
			t.Errorf("%s\nsays %s\nwant %s", c.what, got, c.want)
		}
	}
}

// A file that is none, or is broken, is refused with the line and the reason; an event that cannot be read
// is left out with them.
func TestWhatIsWrongIsNamedByItsLine(t *testing.T) {
	w := year(t, 2026, "UTC")
	for _, c := range []struct{ text, want string }{
		{"", "line 1: the file is empty"},
		{"shirt,name\n7,Mere Tau\n", "line 1: this is no calendar file: it does not begin with BEGIN:VCALENDAR"},
		{"BEGIN:VCALENDAR\nBEGIN:VEVENT\nDTSTART:20260303T183000Z\n", "line 3: the file was cut off: VEVENT of line 2 has no end"},
		{"BEGIN:VCALENDAR\nBEGIN:VEVENT\nEND:VCALENDAR\n", "line 3: END:VCALENDAR does not close BEGIN:VEVENT of line 2"},
		{"BEGIN:VCALENDAR\nEND:VCALENDAR\nEND:VCALENDAR\n", "line 3: END:VCALENDAR closes nothing"},
		{"BEGIN:VCALENDAR\nX-A:\xff\nEND:VCALENDAR\n", "line 2: I cannot read its letters; a calendar file is UTF-8 text"},
		{strings.Repeat("BEGIN:VCALENDAR\n", 20), "line 11: there are too many parts inside each other"},
		{calendar("DTEND:20260303T183000Z"), "line 3: it has no start (DTSTART)"},
		{calendar("DTSTART:tomorrow"), "line 6: “tomorrow” is no time"},
		{calendar("DTSTART"), "line 6: I cannot read its DTSTART"},
		{calendar("DTSTART;TZID=Europe/Lisbonn:20260303T183000"), "line 6: I do not know the zone “Europe/Lisbonn”"},
		{calendar("DTSTART;TZID=Local:20260303T183000"), "line 6: I do not know the zone “Local”"},
		{calendar("DTSTART:20260303T183000Z", "DTEND:20260303T173000Z"), "line 3: it ends before it starts"},
		{calendar("DTSTART:20260303T183000Z", "DURATION:90"), "line 7: “90” is no duration"},
		{calendar("DTSTART:20260303T183000Z", "RRULE:FREQ=FORTNIGHTLY"), "line 7: I cannot read its rule “FREQ=FORTNIGHTLY”"},
		{calendar("DTSTART:20260303T183000Z", "RRULE:FREQ=WEEKLY;COUNT=0"), "line 7: I cannot read its rule “FREQ=WEEKLY;COUNT=0”"},
		{calendar("DTSTART:20260303T183000Z", "RDATE;VALUE=PERIOD:20260303T183000Z/PT1H"), "line 7: RDATE lists periods, which I cannot read"},
		{calendar("DTSTART:20260303T183000Z", "EXRULE:FREQ=WEEKLY"), "line 7: it has an EXRULE, which the standard dropped"},
	} {
		if got := said(ics.Read([]byte(c.text), w)); got != c.want {
			t.Errorf("%q: %s\nwant %s", c.text, got, c.want)
		}
	}
}

// What is made to keep the reader busy, or to fill memory, is refused at once.
func TestNothingRunsAway(t *testing.T) {
	w := year(t, 2026, "UTC")
	many := func(n int, lines string) string {
		var b strings.Builder
		b.WriteString("BEGIN:VCALENDAR\r\n")
		for i := range n {
			fmt.Fprintf(&b, "BEGIN:VEVENT\r\nUID:%d\r\n%s\r\nEND:VEVENT\r\n", i, lines)
		}
		return b.String() + "END:VCALENDAR\r\n"
	}
	rule := func(rule string) string { return calendar("DTSTART:20260303T090000Z", "RRULE:"+rule) }
	for _, c := range []struct{ what, text, want string }{
		{"every second", rule("FREQ=SECONDLY"), "line 7: its rule “FREQ=SECONDLY” is none that a team trains by"},
		{"every minute", rule("FREQ=MINUTELY"), "line 7: the rules of this file repeat too often, or for too long, to be those of a team"},
		{"every ten minutes", rule("FREQ=MINUTELY;INTERVAL=10;COUNT=1200"), "line 3: there are more than 1,000 sessions in the time that is read"},
		{"an hour that never comes", rule("FREQ=HOURLY;INTERVAL=24;BYHOUR=10"), "line 7: its rule “FREQ=HOURLY;INTERVAL=24;BYHOUR=10” is none that a team trains by"},
		{"a minute that never comes", rule("FREQ=MINUTELY;INTERVAL=60;BYMINUTE=7"), "line 7: its rule “FREQ=MINUTELY;INTERVAL=60;BYMINUTE=7” is none that a team trains by"},
		{"30 February", rule("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30"), "line 7: its rule “FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30” never comes to another day"},
		{"30 February by days, until", rule("FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30;UNTIL=20260601T000000Z"), "line 7: its rule “FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30;UNTIL…” never comes to another day"},
		{"a million times a day", rule("FREQ=DAILY;BYHOUR=" + strings.Repeat("1,", 90) + "1;BYMINUTE=" + strings.Repeat("2,", 90) + "2"), "line 7: its rule “FREQ=DAILY;BYHOUR=1,1,1,1,1,1,1,1,1,1,1,…” is none that a team trains by"},
		{"a step beyond counting", rule("FREQ=WEEKLY;INTERVAL=999999999999"), "line 7: I cannot read its rule “FREQ=WEEKLY;INTERVAL=999999999999”"},
		{"9,000 events", many(9000, "DTSTART:20260303T090000Z"), "line 4002: there are more than 1,000 sessions in the time that is read"},
		{"9,000 rules that never come", many(9000, "DTSTART:20260303T090000Z\r\nRRULE:FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30"), "line 20: the rules of this file repeat too often, or for too long, to be those of a team"},
		{"9,000 old series", many(9000, "DTSTART:18000303T090000Z\r\nRRULE:FREQ=YEARLY"), "line 125: the rules of this file repeat too often, or for too long, to be those of a team"},
		{"50 MB", strings.Repeat("A", 50<<20), "line 1: the file is over 1 MB"},
		{"a line of parameters", calendar("DTSTART" + strings.Repeat(";A=B", 1<<17) + ":20260303T090000Z"), "line 6: I cannot read its DTSTART"},
	} {
		began := time.Now()
		if got := said(ics.Read([]byte(c.text), w)); got != c.want {
			t.Errorf("%s: %s\nwant %s", c.what, got, c.want)
		}
		if took := time.Since(began); took > time.Minute {
			t.Errorf("%s took %s", c.what, took)
		}
	}
}

func FuzzReadICS(f *testing.F) {
	w := year(f, 2026, "Pacific/Auckland")
	for _, lines := range [][]string{
		{"DTSTART;TZID=Europe/Berlin:20260303T183000", "DTEND;TZID=Europe/Berlin:20260303T200000", "RRULE:FREQ=WEEKLY;BYDAY=TU,TH;UNTIL=20260630T220000Z", "EXDATE;TZID=Europe/Berlin:20260407T183000"},
		{"DTSTART;VALUE=DATE:20260303", "RRULE:FREQ=YEARLY"},
		{"DTSTART:20260303T183000Z", "DURATION:PT1H", "RECURRENCE-ID:20260303T183000Z", "SEQUENCE:3", "STATUS:CANCELLED"},
		{"DTSTART:20260303T183000Z", "RRULE:FREQ=MINUTELY;INTERVAL=90;BYHOUR=9;COUNT=4", "RDATE:20260304T183000Z"},
	} {
		f.Add([]byte(calendar(lines...)))
	}
	f.Add([]byte(defined(officeZone, "Club", "DTSTART;TZID=Club:20260303T183000")))
	f.Fuzz(func(t *testing.T, text []byte) {
		file, err := ics.Read(text, w)
		var no *ics.Fault
		if err != nil && (!errors.As(err, &no) || no.Line < 1 || no.Says == "") {
			t.Errorf("a fault without a line or a reason: %v", err)
		}
		if again, err2 := ics.Read(text, w); said(file, err) != said(again, err2) {
			t.Errorf("read twice:\n%s\n%s", said(file, err), said(again, err2))
		}
		if len(file.Sessions) > ics.MaxSessions {
			t.Errorf("%d sessions", len(file.Sessions))
		}
		for _, s := range file.Sessions {
			if s.Start.Before(w.From) || !s.Start.Before(w.To) || s.Minutes < 0 || s.Minutes > 24*60 || s.UID == "" {
				t.Errorf("a session that cannot be: %+v", s)
			}
		}
	})
}
