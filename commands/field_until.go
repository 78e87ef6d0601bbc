package commands

import (
	"regexp"
	"slices"
	"strconv"
	"time"

	"footing/rehab"
)

// ahead is a word that comes before a day to come, with the other ways to say it. Its phrases are
// split once, for comparing.
type ahead struct {
	words   []string
	phrases []phrase
}

var (
	untilDay  = newAhead("until", "till", "til")
	reviewDay = newAhead("review", "recheck")
)

func newAhead(ways ...string) ahead {
	a := ahead{words: ways}
	for _, w := range ways {
		a.phrases = append(a.phrases, phrases(ways[0], w)...)
		for _, names := range append([][]string{{"today"}, {"tomorrow"}}, weekdays...) {
			for _, d := range names {
				a.phrases = append(a.phrases, phrases(ways[0]+" "+names[0], w+" "+d)...)
			}
		}
	}
	return a
}

// Until is a field that takes a day to come after a word: "until fri", "review 2026-03-10". A weekday
// is the next one, today included. A day that is over is refused.
func Until(word ahead, to *string) Field {
	name := word.words[0]
	return Field{
		Name: name, Usage: name + " fri | tomorrow | 2026-03-10", Optional: true,
		Kind: KindDay, About: "a day to come: fri, tomorrow, 10 March", lead: name + " ", offers: comingDays,
		words: func(*Lang) []phrase { return word.phrases },
		match: func(r *reader) (int, func() error, error) {
			if !slices.Contains(word.words, r.peek(0)) {
				return 0, nil, nil
			}
			y, m, day := r.lang.Now.Date()
			today := time.Date(y, m, day, 0, 0, 0, 0, time.UTC) // days are dates: some have no midnight
			d, ok := dayWord(r.peek(1), today, true)
			n := 1
			if !ok {
				d, n, ok = comingDate(r.skip(1), today)
			}
			if !ok {
				return 0, nil, refuse("%s needs a day: fri, tomorrow or %s. Leave it out when nobody knows.", name, today.AddDate(0, 0, 7).Format(time.DateOnly))
			}
			return n + 1, func() error {
				if d.Before(today) {
					return refuse("%s %s is over. Nothing was saved; say a day to come.", name, d.Format("Mon 2 Jan 2006"))
				}
				return once(name, to, d.Format(time.DateOnly))
			}, nil
		},
		text: func() string { return rehab.Prefixed(name+" ", *to) },
	}
}

// comingDate reads "10 march", "Mar 10" or "10/3" as that day to come. A date with its year is that one.
func comingDate(r *reader, today time.Time) (time.Time, int, bool) {
	d, n, err := dateAt(r, false)
	if err != nil || n == 0 {
		return time.Time{}, 0, false
	}
	y, m, day := d.Date()
	d = time.Date(y, m, day, 0, 0, 0, 0, time.UTC)
	if next := strconv.Itoa(today.Year() + 1); r.peek(n) == next {
		return time.Date(today.Year()+1, m, day, 0, 0, 0, 0, time.UTC), n + 1, true
	}
	dated := dayMonthYear.MatchString(r.peek(0)) || n > 1 && yearShape.MatchString(r.peek(n-1))
	if d.Before(today) && !dated {
		d = d.AddDate(1, 0, 0)
	}
	return d, n, true
}

var yearShape = regexp.MustCompile(`^\d{4}$`)
