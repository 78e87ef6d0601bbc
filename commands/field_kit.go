package commands

import (
	"slices"
	"strings"

	"footing/rehab"
)

// kit is what a line says is there and is not there.
type kit struct {
	with, without []string
	nothing       bool
}

// on changes what would be there by what the line says.
func (k kit) on(usual []string) []string {
	out := []string{}
	for _, what := range rehab.Kits {
		had := slices.Contains(usual, what) && !k.nothing && !slices.Contains(k.without, what)
		if had || slices.Contains(k.with, what) {
			out = append(out, what)
		}
	}
	return out
}

var (
	kitWords = NewWords(
		Word{"band", []string{"bands", "theraband", "elastic"}}, Word{"wall", nil}, Word{"ball", []string{"balls"}},
		Word{"partner", []string{"mate", "team mate"}}, Word{"step", []string{"stair", "kerb", "box"}},
	)
	noKit = phrases("nothing", "nothing", "no kit", "no equipment", "bare")
)

// KitField is a field that takes what is there besides the ground: "no-band ball", "nothing".
func KitField(to *kit) Field {
	return Field{
		Name: "kit", Usage: "band | ball | partner | wall | step | no-band | nothing", Optional: true, many: true,
		Kind: KindWords, offers: kitOffers,
		words: func(*Lang) []phrase { return slices.Concat(kitWords.phrases, noKit) },
		match: func(r *reader) (int, func() error, error) {
			if _, n := longest(r, noKit); n > 0 {
				return n, func() error { to.nothing = true; return nil }, nil
			}
			list, not := &to.with, boolInt(slices.Contains(limitStarts, r.peek(0)))
			if not > 0 {
				list = &to.without
			}
			what, n := longest(r.skip(not), kitWords.phrases)
			if n == 0 {
				return 0, nil, nil
			}
			return not + n, func() error {
				*list = append(*list, what)
				if slices.Contains(to.with, what) && slices.Contains(to.without, what) {
					return refuse("%s is both there and not there in this line. Say one.", what)
				}
				return nil
			}, nil
		},
		text: func() string {
			var out []string
			if to.nothing {
				out = append(out, "nothing")
			}
			for _, what := range to.without {
				out = append(out, "no-"+what)
			}
			return strings.Join(append(out, to.with...), " ")
		},
	}
}

// longestDay is a day's minutes: the most anything takes.
const longestDay = 24 * 60

// Minutes is a field that takes "15min" or "15 minutes", of at least so many.
func Minutes(name string, to *float64, atLeast float64) Field {
	return Field{
		Name: name, Usage: "15min", tail: "min",
		Kind: KindInteger, About: "whole minutes", Min: max(atLeast, 0), Max: longestDay,
		words: func(*Lang) []phrase { return nil },
		match: func(r *reader) (int, func() error, error) {
			v, n, ok := number(r, 0)
			if !ok || n < 2 || units[r.peek(1)] != "min" {
				return 0, nil, nil
			}
			return n, func() error {
				if v < atLeast || v != float64(int(v)) || v > longestDay {
					return refuse("%s minutes is not possible: whole minutes, from %s. For example: 15min", exact(v), exact(atLeast))
				}
				if *to >= 0 && *to != v {
					return refuse("Minutes are given twice: %s and %s. Say one.", exact(*to), exact(v))
				}
				*to = v
				return nil
			}, nil
		},
		text: func() string {
			if *to < 0 {
				return ""
			}
			return exact(*to) + "min"
		},
	}
}
