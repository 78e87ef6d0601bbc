package commands

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"footing/rehab"
)

// Athlete is a field that takes one of the squad: a shirt number, a name or part of one. Two who
// match are asked about with buttons. The number counts as a shirt only where the athlete is
// expected: first.
func Athlete(to *rehab.Athlete) Field {
	return Field{
		Name: "athlete", Usage: "shirt or name", Kind: KindAthlete, offers: athleteOffers,
		words: func(*Lang) []phrase { return nil },
		match: func(r *reader) (int, func() error, error) {
			if to.ID != 0 {
				return 0, nil, nil
			}
			found, n, err := whoTwice(r)
			if n == 0 || err != nil {
				return 0, nil, err
			}
			return n, func() error { *to = found; return nil }, nil
		},
		text: func() string {
			if to.ID == 0 {
				return ""
			}
			return strconv.Itoa(to.Shirt)
		},
	}
}

// who reads a shirt or a name at the reader's position.
func who(r *reader) (rehab.Athlete, int, error) {
	first := r.at == r.start
	w := r.peek(0)
	if shirt, err := strconv.Atoi(strings.TrimPrefix(w, "#")); err == nil && units[r.peek(1)] != "min" {
		if !first && !strings.HasPrefix(w, "#") {
			return rehab.Athlete{}, 0, nil
		}
		if self := r.lang.Self; self.ID != 0 && shirt != self.Shirt && scoreOnly.MatchString(w) {
			if !r.free && r.namesPain() {
				return rehab.Athlete{}, 0, refuse("You can only answer for yourself: leave the number out.")
			}
			return rehab.Athlete{}, 0, nil // their pain
		}
		for _, a := range r.lang.Roster {
			if a.Shirt == shirt {
				return a, 1, nil
			}
		}
		return rehab.Athlete{}, 0, &Refusal{Says: fmt.Sprintf("Nobody on the roster wears %d. Put them on first: add %d Name.", shirt, shirt), NoShirt: true}
	}
	return byName(r, first)
}

// whoTwice reads a shirt and a name together where both mean the same athlete: "7 Mez", "May Hill 4".
// In free text what follows is left alone.
func whoTwice(r *reader) (rehab.Athlete, int, error) {
	a, n, err := who(r)
	if n == 0 || err != nil || r.free {
		return a, n, err
	}
	next := r.skip(n)
	if _, err := strconv.Atoi(strings.TrimPrefix(r.peek(0), "#")); err != nil {
		return a, n + boolInt(strings.TrimPrefix(next.peek(0), "#") == strconv.Itoa(a.Shirt)), nil
	}
	return a, n + nameWords(next, [][]string{words(a.Name), words(a.Nick)}, false), nil
}

// byName finds the athletes whose name matches the most words from here on. Away from the first
// place only whole words count, so that a word of the command is not taken for part of a name.
func byName(r *reader, first bool) (rehab.Athlete, int, error) {
	most := 0
	var matched []rehab.Athlete
	for i, a := range r.lang.Roster {
		n := nameWords(r, r.lang.names[i], first)
		if n > most {
			most, matched = n, nil
		}
		if n == most && n > 0 {
			matched = append(matched, a)
		}
	}
	switch len(matched) {
	case 0:
		return rehab.Athlete{}, 0, nil
	case 1:
		return matched[0], most, nil
	}
	var options []Option
	for _, a := range matched {
		last := r.toks[r.at+most-1]
		options = append(options, Option{Label: a.Label(), Athlete: a.ID, from: r.toks[r.at].from, to: last.from + len(last.raw), text: strconv.Itoa(a.Shirt)})
	}
	return rehab.Athlete{}, 0, &Question{Asks: "Which " + r.toks[r.at].raw + "?", Options: options}
}

func nameWords(r *reader, names [][]string, parts bool) int {
	best := 0
	for _, ws := range names {
		for start := range ws {
			n := 0
			for start+n < len(ws) && r.peek(n) == ws[start+n] {
				n++
			}
			best = max(best, n)
		}
		if parts && best == 0 && len(r.peek(0)) >= 3 && slices.ContainsFunc(ws, func(w string) bool { return strings.HasPrefix(w, r.peek(0)) }) {
			best = 1
		}
	}
	return best
}

// nearNames lists athletes whose name is close to a word, for "did you mean".
func nearNames(l *Lang, w string) []rehab.Athlete {
	var out []rehab.Athlete
	for _, a := range l.Roster {
		if len(near(w, phrases(a.Name, a.Name, a.Nick), 2)) > 0 {
			out = append(out, a)
		}
	}
	return out
}

// ShirtField is a field that takes a shirt number, whoever wears it.
func ShirtField(to *int) Field {
	return Field{
		Name: "shirt", Usage: "your number",
		words: func(*Lang) []phrase { return nil },
		match: func(r *reader) (int, func() error, error) {
			n, err := strconv.Atoi(strings.TrimPrefix(r.peek(0), "#"))
			if err != nil || *to != 0 {
				return 0, nil, nil
			}
			return 1, func() error {
				if n < 1 || n > 999 {
					return refuse("%d is no shirt: numbers go from 1 to 999.", n)
				}
				*to = n
				return nil
			}, nil
		},
		text: func() string {
			if *to == 0 {
				return ""
			}
			return strconv.Itoa(*to)
		},
	}
}
