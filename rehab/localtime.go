package rehab

import "time"

// LocalTime is the instant at which a wall clock in a zone shows a time on a date. A time that the
// clocks jump over uses the offset in force before the jump; a time they show twice is the first of
// the two (RFC 5545, 3.3.5). time.Date resolves both otherwise.
func LocalTime(date time.Time, hour, minute int, zone *time.Location) time.Time {
	wall := time.Date(date.Year(), date.Month(), date.Day(), hour, minute, 0, 0, time.UTC)
	_, before := wall.Add(-24 * time.Hour).In(zone).Zone()
	_, after := wall.Add(24 * time.Hour).In(zone).Zone()
	early := wall.Add(-time.Duration(max(before, after)) * time.Second)
	late := wall.Add(-time.Duration(min(before, after)) * time.Second)
	for _, t := range []time.Time{early, late} {
		if l := t.In(zone); l.Hour() == hour && l.Minute() == minute && l.Day() == wall.Day() {
			return t
		}
	}
	return wall.Add(-time.Duration(before) * time.Second)
}
