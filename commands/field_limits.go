package commands

import (
	"slices"
	"strings"

	"footing/rehab"
)

// longestLimit is how many letters one thing an athlete cannot do may have: coaches read it at a glance.
const longestLimit = 40

var (
	limitStarts = []string{"no", "cannot", "cant", "without"}
	limitJoins  = []string{"and", "or", "nor"}
	limitWords  = phrases("limits", "no")
)

// Limits is a field that takes what an athlete cannot do, in coaching words: "no contact, no
// sprinting". After a comma the list goes on without the "no". Coaches read these words as they
// stand, so a cause never becomes part of one: it ends it,
// and only words for activities are taken.
func Limits(to *[]string) Field {
	end := 0 // where the last one stopped
	return Field{
		Name: "limits", Usage: "no contact, no sprinting", many: true,
		Kind: KindWords, About: "what they cannot do, in coaching words: no contact, no sprinting", lead: "no ",
		words: func(*Lang) []phrase { return limitWords },
		match: func(r *reader) (int, func() error, error) {
			from := 1
			if !slices.Contains(limitStarts, r.peek(0)) {
				if from = 0; end == 0 || r.at != end || !r.afterComma() {
					return 0, nil, nil
				}
			}
			list, n := r.limits(from)
			if len(list) == 0 {
				return 0, nil, nil
			}
			at := r.at
			return n, func() error {
				end = at + n
				return forbid(to, list)
			}, nil
		},
		text: func() string { return rehab.Prefixed("no ", strings.Join(*to, ", no ")) },
	}
}

// limits reads things that cannot be done, from the n-th word to where something else begins.
func (r *reader) limits(n int) (list []string, end int) {
	start := n
	for {
		if over := r.limitOver(n, n == start); over || slices.Contains(limitJoins, r.peek(n)) {
			if n > start {
				list = append(list, strings.Trim(r.text(start, n), " ,;."))
			}
			if over {
				return list, n
			}
			start = n + 1
		}
		n++
	}
}

// limitOver reports whether something else begins at the n-th word. The first word may be one that is
// also a cause ("no travel") or a day; later ones may not.
func (r *reader) limitOver(n int, first bool) bool {
	w := r.peek(n)
	switch {
	case w == "" || strings.HasPrefix(w, noteMark) || strings.Trim(w, "-+?:") == "":
		return true
	case slices.Contains(limitStarts, w) || slices.Contains(untilDay.words, w) || slices.Contains(reviewDay.words, w):
		return true
	case first:
		return false
	}
	_, cause := longest(r.skip(n), causes.phrases)
	_, day := dayWord(w, r.lang.Now, true)
	return cause > 0 || day || r.comma(n)
}

// afterComma reports whether a comma stands before the word at the reader.
func (r *reader) afterComma() bool {
	if r.at == 0 || r.done() {
		return false
	}
	before := *r
	before.at--
	return before.comma(1)
}

func forbid(to *[]string, list []string) error {
	for _, what := range list {
		switch meaning, n := longest(&reader{toks: tokens(what)}, causes.phrases); {
		case n > 0 && slices.Contains(privateCauses, meaning):
			return refuse("“%s” is a cause, and coaches never read causes. After no, say what cannot be done: no contact", what)
		case slices.Contains([]string{"restrictions", "restriction", "limits", "limit"}, Fold(what)):
			return refuse("To end what was said before, type available and who.")
		case len([]rune(what)) > longestLimit:
			return refuse("“%s” is too long for coaches to read: %d letters at most.", what, longestLimit)
		case unknownActivity(what) != "":
			return notAnActivity(what, unknownActivity(what))
		case !slices.ContainsFunc(*to, func(had string) bool { return strings.EqualFold(had, what) }):
			*to = append(*to, what)
		}
	}
	return nil
}
