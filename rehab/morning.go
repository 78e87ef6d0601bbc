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

// LastMorning judges the latest morning answer of an episode by the protocol's 24-hour rule.
// A missing answer is unknown, never fine.
func LastMorning(ep Episode, p *Protocol, settled bool, since time.Time, now time.Time) Morning {
	var told []Entry
	each(ep, func(e Entry, _ Responded) {
		if !e.At.Before(since) {
			told = append(told, e)
		}
	})
	slices.SortStableFunc(told, func(x, y Entry) int { return x.At.Compare(y.At) })
	byDay := map[time.Time]Responded{} // the later answer of a day corrects the earlier
	var last Morning
	var lastAt time.Time
	for _, e := range told {
		b, day := e.Body.(Responded), localDay(e.At, now.Location())
		byDay[day], lastAt = b, e.At
		last = Morning{Known: true, Date: day, Answer: b, Seq: e.Seq}
	}
	if !last.Known {
		return last
	}
	last.Fresh = now.Sub(lastAt) <= time.Duration(p.Response.GoodHours)*time.Hour
	why := p.Response.worse(last, byDay, settled)
	last.Worse, last.Why = len(why) > 0, strings.Join(why, ", ")
	return last
}

// worse lists every way in which a morning breaks the rule.
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
	if settled && pain >= r.HighPain {
		why = append(why, fmt.Sprintf("pain %d", pain))
	}
	if m.Answer.Swelling == "more" {
		why = append(why, "swelling up")
	}
	if m.Answer.Limp {
		why = append(why, "limp")
	}
	return why
}
