package commands

import (
	"slices"
	"strings"

	"github.com/hbollon/go-edlib"
)

// phrase is one way of saying one thing. Meaning tells two things apart; phrases that mean the same
// share it.
type phrase struct {
	words   []string
	meaning string
}

// phrases builds the ways of saying one meaning.
func phrases(meaning string, ways ...string) []phrase {
	var out []phrase
	for _, w := range ways {
		if ws := words(w); len(ws) > 0 {
			out = append(out, phrase{ws, meaning})
		}
	}
	return out
}

// longest finds the longest phrase that starts at the reader's position. A comma behind a denial ends
// it: "no, limp" is not "no limp".
func longest(r *reader, list []phrase) (meaning string, n int) {
	for _, p := range list {
		if len(p.words) > n && r.has(p.words) && !(slices.Contains(denyBefore, p.words[0]) && r.comma(1)) {
			meaning, n = p.meaning, len(p.words)
		}
	}
	return meaning, n
}

// nearWord is a known word close to one that is not known.
type nearWord struct {
	word     string
	distance int
	meanings []string
}

// near lists the vocabulary words close to an unknown one, nearest first. The distance counts
// letters added, dropped, changed or swapped (optimal string alignment).
func near(unknown string, vocabulary []phrase, within int) []nearWord {
	found := map[string]*nearWord{}
	for _, p := range vocabulary {
		for _, w := range p.words {
			if n := found[w]; n != nil {
				n.meanings = append(n.meanings, p.meaning)
				continue
			}
			if len(w) < 3 || len(unknown) < 3 || max(len(w)-len(unknown), len(unknown)-len(w)) > within {
				continue // too short to judge, or too unlike in length to be near
			}
			if d := edlib.OSADamerauLevenshteinDistance(unknown, w); d <= within {
				found[w] = &nearWord{w, d, []string{p.meaning}}
			}
		}
	}
	out := make([]nearWord, 0, len(found))
	for _, n := range found {
		slices.Sort(n.meanings)
		n.meanings = slices.Compact(n.meanings)
		out = append(out, *n)
	}
	slices.SortFunc(out, func(a, b nearWord) int {
		if a.distance != b.distance {
			return a.distance - b.distance
		}
		return slices.Compare([]string{a.word}, []string{b.word})
	})
	return out
}

// slips is how many letters of a word may be wrong and still be corrected without asking. Short words
// are too close to other words: "toes" is not "tues", "hell" not "heel".
func slips(word string) int {
	switch n := len([]rune(word)); {
	case n < 5:
		return 0
	case n < 9:
		return 1
	}
	return 2
}

// opposites turn the meaning of a line round: between the words of one row a slip is never mended,
// however much nearer one of them is.
var opposites = [][]string{
	{"walked", "walks", "walk", "walking"}, {"can", "cannot", "cant"}, {"could", "couldnt"}, {"numb", "none", "no", "not"},
	{"left", "right"}, {"inversion", "eversion"}, {"medial", "lateral"}, {"less", "more"}, {"direct", "indirect"}, {"hop", "hops"},
	{"available", "unavailable"},
}

func opposed(a, b string) bool {
	return slices.ContainsFunc(opposites, func(row []string) bool { return slices.Contains(row, a) && slices.Contains(row, b) })
}

// corrected gives the one word an unknown word must have meant: close enough, nothing of another
// meaning as close, and no opposite nearly as close.
func corrected(unknown string, vocabulary []phrase) (string, bool) {
	allowed := slips(unknown)
	if allowed == 0 || strings.ContainsAny(unknown, "0123456789") { // a number is never a slip
		return "", false
	}
	list := near(unknown, vocabulary, allowed+1)
	if len(list) == 0 || list[0].distance > allowed {
		return "", false
	}
	best := list[0]
	if best.word[0] != unknown[0] {
		return "", false // nobody misses the first letter; "night" is not "right", "talking" not "walking"
	}
	for _, other := range list[1:] {
		margin := 0
		if opposed(best.word, other.word) {
			margin = 1
		}
		if other.distance <= best.distance+margin && !slices.Equal(other.meanings, best.meanings) {
			return "", false
		}
	}
	return best.word, true
}
