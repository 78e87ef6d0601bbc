package rehab_test

import (
	"testing"
	"time"

	"footing/rehab"
)

// RFC 5545 section 3.3.5: a local time in a gap uses the offset before it, one in an overlap is the
// first. The dates are public history of the zones.
func TestLocalTime(t *testing.T) {
	for _, c := range []struct{ zone, date, wall, utc string }{
		{"America/New_York", "2007-03-11", "02:30", "2007-03-11T07:30:00Z"}, // gap: RFC 5545's own example reads this as EST
		{"America/New_York", "2007-11-04", "01:30", "2007-11-04T05:30:00Z"}, // overlap: RFC 5545's own example, the first, EDT
		{"Europe/London", "2026-03-29", "01:30", "2026-03-29T01:30:00Z"},
		{"Europe/London", "2026-10-25", "01:30", "2026-10-25T00:30:00Z"},
		{"Pacific/Auckland", "2026-09-27", "02:30", "2026-09-26T14:30:00Z"},
		{"Australia/Lord_Howe", "2026-10-04", "02:15", "2026-10-03T15:45:00Z"}, // half an hour only
		{"Pacific/Auckland", "2026-03-03", "07:30", "2026-03-02T18:30:00Z"},
		{"Africa/Cairo", "2026-04-24", "00:30", "2026-04-23T22:30:00Z"}, // the gap is at midnight
	} {
		zone, err := time.LoadLocation(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		date, _ := time.Parse(time.DateOnly, c.date)
		wall, _ := time.Parse("15:04", c.wall)
		if got := rehab.LocalTime(date, wall.Hour(), wall.Minute(), zone).UTC().Format(time.RFC3339); got != c.utc {
			t.Errorf("%s in %s on %s is %s, not %s", c.wall, c.zone, c.date, got, c.utc)
		}
	}
}
