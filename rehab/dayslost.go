package rehab

import "time"

// DaysLost is what one unbroken spell of unavailability costs: the local days from the first day out
// to the return, of which neither end counts, and never less than none. The first day out is that of
// the injury, or a later one where the athlete first trained on (IOC consensus, Bahr 2020 BJSM 54:372).
func DaysLost(firstOut, back time.Time, zone *time.Location) int {
	return max(0, DaysBetween(firstOut, back, zone)-1)
}

// DaysMissed is what an intermittent absence costs: the local days missed, each once (the same source).
func DaysMissed(missed []time.Time, zone *time.Location) int {
	days := map[time.Time]bool{}
	for _, t := range missed {
		days[localDay(t, zone)] = true
	}
	return len(days)
}
