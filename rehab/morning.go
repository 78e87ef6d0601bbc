package rehab

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// Morning is how the ankle answered the day before, read the next morning.
type Morning struct {
	Known  bool
	Date   time.Time // local day of the answer
	Worse  bool
	Why    string // "pain 4, 3 above yesterday"
	Answer Responded
	Seq    int64
	Fresh  bool // recent enough to count as the last morning
}

// Mornings judges every morning answered in an episode since a moment, oldest first, by the
// protocol's 24-hour rule. The later answer of a day corrects the earlier. settled says whether the
// athlete is out of the first stage.
func Mornings(ep Episode, p *Protocol, settled bool, since time.Time, now time.Time) []Morning {
	var told []Entry
	each(ep, func(e Entry, _ Responded) {
		if !e.At.Before(since) {
			told = append(told, e)
		}
	})
	slices.SortStableFunc(told, func(x, y Entry) int { return x.At.Compare(y.At) })
	byDay := map[time.Time]Responded{}
	var out []Morning
	for _, e := range told {
		b, day := e.Body.(Responded), localDay(e.At, now.Location())
		byDay[day] = b
		if n := len(out); n > 0 && out[n-1].Date.Equal(day) {
			out = out[:n-1]
		}
		out = append(out, Morning{Known: true, Date: day, Answer: b, Seq: e.Seq, Fresh: now.Sub(e.At) <= time.Duration(p.Response.GoodHours)*time.Hour})
	}
	for i := range out {
		why := p.Response.worse(out[i], byDay, settled)
		out[i].Worse, out[i].Why = len(why) > 0, strings.Join(why, ", ")
	}
	return out
}

// LastMorning is the latest of Mornings; a missing answer is unknown, never fine.
func LastMorning(ep Episode, p *Protocol, settled bool, since time.Time, now time.Time) Morning {
	all := Mornings(ep, p, settled, since, now)
	if len(all) == 0 {
		return Morning{}
	}
	return all[len(all)-1]
}

// worse lists every way in which a morning breaks the rule. First steps that hurt more than drills may
// are worse in every stage, whatever the days before were like.
func (r Response) worse(m Morning, byDay map[time.Time]Responded, settled bool) []string {
	var why []string
	pain := m.Answer.Pain
	if y, ok := byDay[m.Date.AddDate(0, 0, -1)]; ok && pain-y.Pain >= r.RiseFromYesterday {
		why = append(why, fmt.Sprintf("pain %d, %d above yesterday", pain, pain-y.Pain))
	}
	lowest, seen := 11, false
	for i := 1; i <= r.LowestDays; i++ {
		if d, ok := byDay[m.Date.AddDate(0, 0, -i)]; ok {
			lowest, seen = min(lowest, d.Pain), true
		}
	}
	if seen && pain-lowest >= r.RiseFromLowest && len(why) == 0 {
		why = append(why, fmt.Sprintf("pain %d, %d above the week's lowest", pain, pain-lowest))
	}
	if (settled && pain >= r.HighPain || pain > r.DrillsTolerated) && len(why) == 0 {
		why = append(why, fmt.Sprintf("pain %d", pain))
	}
	if m.Answer.Swelling == "more" {
		why = append(why, "swelling up")
	}
	if len(m.Answer.Alarms) > 0 {
		why = append(why, alarmWords(m.Answer.Alarms))
	}
	if m.Answer.Limp {
		why = append(why, "limp")
	}
	return why
}

func alarmWords(alarms []string) string {
	return strings.ReplaceAll(strings.Join(alarms, ", "), "-", " ")
}

// on finds the morning of a local day.
func on(mornings []Morning, day time.Time) (Morning, bool) {
	for _, m := range mornings {
		if m.Date.Equal(day) {
			return m, true
		}
	}
	return Morning{}, false
}

// WorseStands reports whether a worse morning still decides what the ankle may do: on its day, and under
// treatment on the days after it while nobody has answered since. A missing answer is unknown, never fine. It
// ends with a clinician's decision on the stage, or when the clinic list has named as many mornings unknown.
func (v View) WorseStands(now time.Time) bool {
	m := v.Morning
	if !m.Worse {
		return false
	}
	n := DaysBetween(m.Date, localDay(now, now.Location()), time.UTC)
	if n <= 0 {
		return n == 0
	}
	decided := false
	each(v.Episode, func(e Entry, _ Decided) { decided = decided || e.Original() > m.Seq })
	return v.Open && !decided && n <= v.P.Limits.UnknownRun
}

// LastWorse reports whether the last morning was worse and stands in the way of moving on.
func (v View) LastWorse(now time.Time) bool {
	return v.Morning.Worse && v.Morning.Fresh || v.WorseStands(now)
}

// WhenWorse is the day of a worse morning of an earlier day that nobody has answered since, to be said after
// "worse"; empty when it is this morning's.
func (v View) WhenWorse(now time.Time) string {
	if v.Morning.Date.Equal(localDay(now, now.Location())) {
		return ""
	}
	return " on " + v.Morning.Date.Format("Mon") + ", not answered since"
}

// NotSettling reports whether the last two answers were both worse, on days that follow each other.
func (v View) NotSettling() bool {
	n := len(v.Mornings)
	return n > 1 && v.Mornings[n-1].Worse && v.Mornings[n-2].Worse && v.Mornings[n-1].Date.Sub(v.Mornings[n-2].Date) == 24*time.Hour
}

// Unanswered counts the mornings in a row, up to and including today's, without an answer. The day
// of the sprain has none.
func (v View) Unanswered(now time.Time) int {
	last := localDay(v.Screening.reset, now.Location())
	if n := len(v.Mornings); n > 0 && v.Mornings[n-1].Date.After(last) {
		last = v.Mornings[n-1].Date
	}
	return int(localDay(now, now.Location()).Sub(last).Hours() / 24)
}
