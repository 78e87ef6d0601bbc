package commands

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Suggestion is a value an option may have, shown while it is typed.
type Suggestion struct {
	Label string // what is shown, at most 100 letters
	Value string // what is sent, at most 100 letters
}

// longestShown is how many letters a suggestion may have.
const longestShown = 100

// offer is something that may be typed: its value, how it is shown where that differs, and the other
// words that find it.
type offer struct {
	value, label string
	also         []string
}

// Complete suggests values for an option of a command from what was typed of it so far: what begins
// so first, then what has a word that does. Of a list only the last part is completed and what stands
// before it stays. Nobody outside the roster of l is suggested.
func (reg *Registry) Complete(command, option, typed string, l *Lang) []Suggestion {
	cmd := reg.named(command)
	if cmd == nil {
		return nil
	}
	fields := cmd.begin().Fields
	i := slices.IndexFunc(fields, func(f Field) bool { return f.Name == option && f.offers != nil })
	if i < 0 {
		return nil
	}
	f, before, part := fields[i], "", clean(typed)
	if at := strings.LastIndexByte(part, ','); f.many && at >= 0 {
		before, part = strings.TrimSpace(part[:at]), part[at+1:]
	}
	var said []string
	for _, s := range strings.Split(before, ",") {
		said = append(said, compared(s))
	}
	found := slices.DeleteFunc(f.offers(l, before), func(o offer) bool {
		return before != "" && slices.Contains(said, compared(o.value)) || o.rank(compared(part)) == unlike
	})
	slices.SortStableFunc(found, func(a, b offer) int { return a.rank(compared(part)) - b.rank(compared(part)) })
	if before != "" {
		before += ", "
	}
	return suggestions(found, before, f.many)
}

func suggestions(found []offer, before string, list bool) []Suggestion {
	var out []Suggestion
	for _, o := range found {
		s := Suggestion{Label: cmp.Or(o.label, o.value), Value: before + o.value}
		if list {
			s.Label = strings.TrimSpace(s.Value) // what is shown stays in the box and is typed on
		}
		if utf8.RuneCountInString(s.Label) > longestShown || utf8.RuneCountInString(s.Value) > longestShown {
			continue
		}
		if out = append(out, s); len(out) == mostSuggested {
			break
		}
	}
	return out
}

// compared is a text as offers are compared: folded, hyphens as spaces.
func compared(s string) string {
	return strings.Join(words(strings.TrimRight(strings.TrimSpace(s), "-")), " ")
}

// How well an offer fits what was typed, best first.
const (
	same = iota
	begins
	wordBegins
	unlike
)

func (o offer) rank(typed string) int {
	shown := compared(cmp.Or(o.label, o.value))
	switch {
	case shown == typed:
		return same
	case strings.HasPrefix(shown, typed):
		return begins
	}
	for _, way := range append([]string{shown}, o.also...) {
		if strings.Contains(" "+compared(way), " "+typed) {
			return wordBegins
		}
	}
	return unlike
}

// meant offers each meaning of some phrases, found by all of them.
func meant(vocabulary func(*Lang) []phrase) func(*Lang, string) []offer {
	return func(l *Lang, _ string) []offer {
		var out []offer
		at := map[string]int{}
		for _, p := range vocabulary(l) {
			i, known := at[p.meaning]
			if !known {
				i = len(out)
				at[p.meaning], out = i, append(out, offer{value: p.meaning})
			}
			out[i].also = append(out[i].also, strings.Join(p.words, " "))
		}
		return out
	}
}

func athleteOffers(l *Lang, _ string) []offer {
	var out []offer
	for _, a := range l.Roster {
		out = append(out, offer{value: strconv.Itoa(a.Shirt), label: a.Label(), also: []string{a.Nick}})
	}
	return out
}

// squadOffers offers a test, and behind it the athletes by name: a shirt alone does not say whose it is
// while the list grows.
func squadOffers(l *Lang, before string) []offer {
	if before == "" {
		return testNames(l)
	}
	var out []offer
	for _, a := range l.Roster {
		out = append(out, offer{value: a.Name + " ", also: []string{a.Nick, strconv.Itoa(a.Shirt)}})
	}
	return out
}

func testNames(l *Lang) []offer {
	var out []offer
	for _, t := range l.Protocol.Tests {
		if len(t.Of) == 0 && len(t.Choices) == 0 {
			out = append(out, offer{value: t.Key + " ", also: t.Words})
		}
	}
	return out
}

// testOffers offers tests by name, and those answered in words with each answer.
func testOffers(l *Lang, _ string) []offer {
	out := testNames(l)
	for _, t := range l.Protocol.Tests {
		for _, c := range t.Choices {
			o := offer{value: t.Key + " " + c}
			for _, w := range t.Words {
				o.also = append(o.also, w+" "+c)
			}
			out = append(out, o)
		}
	}
	return out
}

// findingOffers offers the phrases that answer several findings, then each finding and its denial.
func findingOffers(l *Lang, _ string) []offer {
	var out []offer
	for _, g := range l.Protocol.Groups {
		out = append(out, offer{value: g.Phrase, also: g.Words})
	}
	for _, f := range l.Protocol.Findings {
		yes, no := offer{value: spell(l, Mention{Key: f.Key, Yes: true}), also: f.Yes}, offer{value: spell(l, Mention{Key: f.Key}), also: f.No}
		for _, way := range f.Yes {
			no.also = append(no.also, "no "+way)
		}
		out = append(out, yes, no)
	}
	return out
}

func kitOffers(l *Lang, before string) []offer {
	out := meant(func(*Lang) []phrase { return kitWords.phrases })(l, before)
	for _, what := range kitWords.values {
		out = append(out, offer{value: "no-" + what})
	}
	return append(out, offer{value: "nothing"})
}

// comingDays offers today and the six days after it.
func comingDays(l *Lang, _ string) []offer { return days(l, "tomorrow", 1) }

// pastDays offers today and the six days before it.
func pastDays(l *Lang, _ string) []offer { return days(l, "yesterday", -1) }

func days(l *Lang, second string, step int) []offer {
	out := []offer{{value: "today"}, {value: second}}
	for i := 0; i < 7; i++ {
		names := weekdays[(int(l.Now.Weekday())+i*step+7)%7]
		o := offer{value: names[0], also: names}
		if i < 2 {
			out[i].also = names
			continue
		}
		out = append(out, o)
	}
	return out
}
