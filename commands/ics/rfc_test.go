package ics_test

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"footing/commands/ics"
)

func location(t testing.TB, name string) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// calendar is a file with one event of some lines.
func calendar(lines ...string) string {
	return "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nBEGIN:VEVENT\r\nUID:a\r\nSUMMARY:Training\r\n" + strings.Join(lines, "\r\n") + "\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
}

// days are the sessions of a list like "1997 Sep 2,4 Oct 1-3", at nine; "@13:00" sets another time, and a
// list of times stands for itself: "1997 Sep 2@9:00,9:15".
func days(t *testing.T, list string, zone *time.Location) []string {
	t.Helper()
	year, month := "", ""
	var out []string
	for _, word := range strings.Fields(list) {
		switch {
		case regexp.MustCompile(`^\d{4}$`).MatchString(word):
			year = word
		case word[0] >= 'A':
			month = word
		default:
			days, times, ok := strings.Cut(word, "@")
			if !ok {
				times = "9:00"
			}
			for _, d := range strings.Split(days, ",") {
				first, last, span := strings.Cut(d, "-")
				if !span {
					last = first
				}
				from, _ := strconv.Atoi(first)
				to, err := strconv.Atoi(last)
				if err != nil {
					t.Fatal(err)
				}
				for n := from; n <= to; n++ {
					for _, clock := range strings.Split(times, ",") {
						at, err := time.ParseInLocation("2006 Jan 2 15:04", fmt.Sprintf("%s %s %d %s", year, month, n, clock), zone)
						if err != nil {
							t.Fatal(err)
						}
						out = append(out, at.UTC().Format(time.RFC3339))
					}
				}
			}
		}
	}
	return out
}

func starts(f ics.File) []string {
	var out []string
	for _, s := range f.Sessions {
		out = append(out, s.Start.UTC().Format(time.RFC3339))
	}
	return out
}

// The examples of RFC 5545, 3.8.5.3 (Recurrence Rule), in its order, with the dates it lists. Where it goes
// on with dots, the window ends there. All are in America/New_York and start at nine.
func TestTheRecurrenceRulesOfTheStandard(t *testing.T) {
	quarter := "9:00,9:20,9:40,10:00,10:20,10:40,11:00,11:20,11:40,12:00,12:20,12:40,13:00,13:20,13:40,14:00,14:20,14:40,15:00,15:20,15:40,16:00,16:20,16:40"
	january := "1998 Jan 1-31 1999 Jan 1-31 2000 Jan 1-31"
	fortnights := "1997 Sep 3,5,15,17,19,29 Oct 1,3,13,15,17,27,29,31 Nov 10,12,14,24,26,28 Dec 8,10,12,22"
	for _, c := range []struct{ what, start, rule, to, want string }{
		{"daily for 10 occurrences", "19970902", "FREQ=DAILY;COUNT=10", "", "1997 Sep 2-11"},
		{"daily until December 24, 1997", "19970902", "FREQ=DAILY;UNTIL=19971224T000000Z", "", "1997 Sep 2-30 Oct 1-31 Nov 1-30 Dec 1-23"},
		{"every other day, forever", "19970902", "FREQ=DAILY;INTERVAL=2", "19971204", "1997 Sep 2,4,6,8,10,12,14,16,18,20,22,24,26,28,30 Oct 2,4,6,8,10,12,14,16,18,20,22,24,26,28,30 Nov 1,3,5,7,9,11,13,15,17,19,21,23,25,27,29 Dec 1,3"},
		{"every 10 days, 5 occurrences", "19970902", "FREQ=DAILY;INTERVAL=10;COUNT=5", "", "1997 Sep 2,12,22 Oct 2,12"},
		{"every day in January, for 3 years", "19980101", "FREQ=YEARLY;UNTIL=20000131T140000Z;BYMONTH=1;BYDAY=SU,MO,TU,WE,TH,FR,SA", "", january},
		{"the same by days", "19980101", "FREQ=DAILY;UNTIL=20000131T140000Z;BYMONTH=1", "", january},
		{"weekly for 10 occurrences", "19970902", "FREQ=WEEKLY;COUNT=10", "", "1997 Sep 2,9,16,23,30 Oct 7,14,21,28 Nov 4"},
		{"weekly until December 24, 1997", "19970902", "FREQ=WEEKLY;UNTIL=19971224T000000Z", "", "1997 Sep 2,9,16,23,30 Oct 7,14,21,28 Nov 4,11,18,25 Dec 2,9,16,23"},
		{"every other week, forever", "19970902", "FREQ=WEEKLY;INTERVAL=2;WKST=SU", "19980218", "1997 Sep 2,16,30 Oct 14,28 Nov 11,25 Dec 9,23 1998 Jan 6,20 Feb 3,17"},
		{"weekly on Tuesday and Thursday for five weeks", "19970902", "FREQ=WEEKLY;UNTIL=19971007T000000Z;WKST=SU;BYDAY=TU,TH", "", "1997 Sep 2,4,9,11,16,18,23,25,30 Oct 2"},
		{"the same by count", "19970902", "FREQ=WEEKLY;COUNT=10;WKST=SU;BYDAY=TU,TH", "", "1997 Sep 2,4,9,11,16,18,23,25,30 Oct 2"},
		{"every other week on Monday, Wednesday and Friday", "19970901", "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971224T000000Z;WKST=SU;BYDAY=MO,WE,FR", "", "1997 Sep 1 " + fortnights},
		{"every other week on Tuesday and Thursday, for 8", "19970902", "FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH", "", "1997 Sep 2,4,16,18,30 Oct 2,14,16"},
		{"monthly on the first Friday for 10", "19970905", "FREQ=MONTHLY;COUNT=10;BYDAY=1FR", "", "1997 Sep 5 Oct 3 Nov 7 Dec 5 1998 Jan 2 Feb 6 Mar 6 Apr 3 May 1 Jun 5"},
		{"monthly on the first Friday until December 24, 1997", "19970905", "FREQ=MONTHLY;UNTIL=19971224T000000Z;BYDAY=1FR", "", "1997 Sep 5 Oct 3 Nov 7 Dec 5"},
		{"every other month on the first and last Sunday", "19970907", "FREQ=MONTHLY;INTERVAL=2;COUNT=10;BYDAY=1SU,-1SU", "", "1997 Sep 7,28 Nov 2,30 1998 Jan 4,25 Mar 1,29 May 3,31"},
		{"monthly on the second-to-last Monday for 6 months", "19970922", "FREQ=MONTHLY;COUNT=6;BYDAY=-2MO", "", "1997 Sep 22 Oct 20 Nov 17 Dec 22 1998 Jan 19 Feb 16"},
		{"monthly on the third-to-the-last day, forever", "19970928", "FREQ=MONTHLY;BYMONTHDAY=-3", "19980227", "1997 Sep 28 Oct 29 Nov 28 Dec 29 1998 Jan 29 Feb 26"},
		{"monthly on the 2nd and 15th for 10", "19970902", "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=2,15", "", "1997 Sep 2,15 Oct 2,15 Nov 2,15 Dec 2,15 1998 Jan 2,15"},
		{"monthly on the first and last day for 10", "19970930", "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=1,-1", "", "1997 Sep 30 Oct 1,31 Nov 1,30 Dec 1,31 1998 Jan 1,31 Feb 1"},
		{"every 18 months on the 10th to 15th for 10", "19970910", "FREQ=MONTHLY;INTERVAL=18;COUNT=10;BYMONTHDAY=10,11,12,13,14,15", "", "1997 Sep 10-15 1999 Mar 10-13"},
		{"every Tuesday, every other month", "19970902", "FREQ=MONTHLY;INTERVAL=2;BYDAY=TU", "19980401", "1997 Sep 2,9,16,23,30 Nov 4,11,18,25 1998 Jan 6,13,20,27 Mar 3,10,17,24,31"},
		{"yearly in June and July for 10", "19970610", "FREQ=YEARLY;COUNT=10;BYMONTH=6,7", "", "1997 Jun 10 Jul 10 1998 Jun 10 Jul 10 1999 Jun 10 Jul 10 2000 Jun 10 Jul 10 2001 Jun 10 Jul 10"},
		{"every other year in January, February and March for 10", "19970310", "FREQ=YEARLY;INTERVAL=2;COUNT=10;BYMONTH=1,2,3", "", "1997 Mar 10 1999 Jan 10 Feb 10 Mar 10 2001 Jan 10 Feb 10 Mar 10 2003 Jan 10 Feb 10 Mar 10"},
		{"every third year on the 1st, 100th and 200th day for 10", "19970101", "FREQ=YEARLY;INTERVAL=3;COUNT=10;BYYEARDAY=1,100,200", "", "1997 Jan 1 Apr 10 Jul 19 2000 Jan 1 Apr 9 Jul 18 2003 Jan 1 Apr 10 Jul 19 2006 Jan 1"},
		{"every 20th Monday of the year, forever", "19970519", "FREQ=YEARLY;BYDAY=20MO", "20000101", "1997 May 19 1998 May 18 1999 May 17"},
		{"Monday of week 20, forever", "19970512", "FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO", "20000101", "1997 May 12 1998 May 11 1999 May 17"},
		{"every Thursday in March, forever", "19970313", "FREQ=YEARLY;BYMONTH=3;BYDAY=TH", "20000101", "1997 Mar 13,20,27 1998 Mar 5,12,19,26 1999 Mar 4,11,18,25"},
		{"every Thursday in June, July and August, forever", "19970605", "FREQ=YEARLY;BYDAY=TH;BYMONTH=6,7,8", "20000101", "1997 Jun 5,12,19,26 Jul 3,10,17,24,31 Aug 7,14,21,28 1998 Jun 4,11,18,25 Jul 2,9,16,23,30 Aug 6,13,20,27 1999 Jun 3,10,17,24 Jul 1,8,15,22,29 Aug 5,12,19,26"},
		{"every Friday the 13th, forever", "19970902", "FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13\r\nEXDATE;TZID=America/New_York:19970902T090000", "20010101", "1998 Feb 13 Mar 13 Nov 13 1999 Aug 13 2000 Oct 13"},
		{"the first Saturday after the first Sunday, forever", "19970913", "FREQ=MONTHLY;BYDAY=SA;BYMONTHDAY=7,8,9,10,11,12,13", "19980614", "1997 Sep 13 Oct 11 Nov 8 Dec 13 1998 Jan 10 Feb 7 Mar 7 Apr 11 May 9 Jun 13"},
		{"presidential election day, forever", "19961105", "FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;\r\n BYMONTHDAY=2,3,4,5,6,7,8", "20050101", "1996 Nov 5 2000 Nov 7 2004 Nov 2"},
		{"the third of Tuesday, Wednesday or Thursday, 3 months", "19970904", "FREQ=MONTHLY;COUNT=3;BYDAY=TU,WE,TH;BYSETPOS=3", "", "1997 Sep 4 Oct 7 Nov 6"},
		{"the second-to-last weekday of the month", "19970929", "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2", "19980331", "1997 Sep 29 Oct 30 Nov 27 Dec 30 1998 Jan 29 Feb 26 Mar 30"},
		// The standard prints 17:00 UTC, which is one in New York; it means five (erratum 3883, from memory).
		{"every 3 hours from 9 to 5 on a day", "19970902", "FREQ=HOURLY;INTERVAL=3;UNTIL=19970902T210000Z", "", "1997 Sep 2@9:00,12:00,15:00"},
		{"every 15 minutes for 6", "19970902", "FREQ=MINUTELY;INTERVAL=15;COUNT=6", "", "1997 Sep 2@9:00,9:15,9:30,9:45,10:00,10:15"},
		{"every hour and a half for 4", "19970902", "FREQ=MINUTELY;INTERVAL=90;COUNT=4", "", "1997 Sep 2@9:00,10:30,12:00,13:30"},
		{"every 20 minutes from 9:00 to 16:40", "19970902", "FREQ=DAILY;BYHOUR=9,10,11,12,13,14,15,16;BYMINUTE=0,20,40", "19970904", "1997 Sep 2@" + quarter + " 3@" + quarter},
		{"the same by minutes", "19970902", "FREQ=MINUTELY;INTERVAL=20;BYHOUR=9,10,11,12,13,14,15,16", "19970904", "1997 Sep 2@" + quarter + " 3@" + quarter},
		{"a week that starts on Monday", "19970805", "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO", "", "1997 Aug 5,10,19,24"},
		{"a week that starts on Sunday", "19970805", "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU", "", "1997 Aug 5,17,19,31"},
		{"an invalid date is ignored", "20070115", "FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5", "", "2007 Jan 15,30 Feb 15 Mar 15,30"},
	} {
		zone := location(t, "America/New_York")
		w := ics.Window{Zone: time.UTC, From: time.Date(1996, 1, 1, 0, 0, 0, 0, time.UTC), To: time.Date(2010, 1, 1, 0, 0, 0, 0, time.UTC)}
		if c.to != "" {
			to, err := time.ParseInLocation("20060102", c.to, zone)
			if err != nil {
				t.Fatal(err)
			}
			w.To = to
		}
		f, err := ics.Read([]byte(calendar("DTSTART;TZID=America/New_York:"+c.start+"T090000", "DURATION:PT1H", "RRULE:"+c.rule)), w)
		if err != nil || len(f.Faults) > 0 {
			t.Errorf("%s: %v %v", c.what, err, f.Faults)
			continue
		}
		if got, want := strings.Join(starts(f), " "), strings.Join(days(t, c.want, zone), " "); got != want {
			t.Errorf("%s:\ngot  %s\nwant %s", c.what, got, want)
		}
	}
}
