package commands

import (
	"slices"
	"strings"

	"footing/rehab"
)

// Mention is one thing said about the examination: a finding, or a phrase that answers several.
type Mention struct {
	Key   string // of the finding, or the group's phrase
	Group bool
	Yes   bool
}

var (
	denyBefore = []string{"no", "not", "non", "without", "nil", "denies", "negative"}
	denyAfter  = []string{"-", "neg", "negative", "no", "nil", "absent", "clear", "none"}
	saysYes    = []string{"+", "pos", "positive", "yes", "present"}
)

// Findings is a field that takes what the examination found and did not find.
func Findings(to *[]Mention) Field {
	return Field{
		Name: "findings", Usage: "tender none, walked, walks, circulation ok, squeeze -, er -, no modifiers", Optional: true, many: true,
		words: func(l *Lang) []phrase { return l.findings },
		match: func(r *reader) (int, func() error, error) {
			m, n, err := mention(r)
			return n, func() error { return say(to, m) }, err
		},
		text: func() string { return "" }, // replaced below: it needs the protocol
	}.spelled(to)
}

// mention reads one finding, with the denial before or after it. A phrase that is itself a denial
// ("no modifiers", "could not walk") wins over "no" and a finding.
func mention(r *reader) (Mention, int, error) {
	meaning, n := longest(r, r.lang.findings)
	if slices.Contains(denyBefore, r.peek(0)) {
		if key, m := longest(r.skip(1), r.lang.denial); m+1 > n && m > 0 {
			return Mention{Key: key}, m + 1, nil
		}
	}
	if n == 0 {
		return Mention{}, 0, nil
	}
	key := meaning[1:]
	switch meaning[0] {
	case '=':
		return Mention{Key: key, Group: true, Yes: true}, n, nil
	case '-':
		return Mention{Key: key}, n, nil
	case '?':
		if slices.Contains(denyAfter, r.peek(n)) {
			return Mention{Key: key}, n + 1, nil
		}
		f, _ := r.lang.Protocol.Finding(key)
		return Mention{}, 0, refuse("%s: ok or not ok? Type %s, or %s.", key, f.Yes[0], f.No[0])
	}
	switch {
	case slices.Contains(denyAfter, r.peek(n)) && !startsDenial(r, n):
		return Mention{Key: key}, n + 1, nil
	case slices.Contains([]string{"not", "isnt"}, r.peek(n)) && slices.Contains([]string{"tender", "painful", "present", "sore", "there"}, r.peek(n+1)):
		return Mention{Key: key}, n + 2, nil
	case slices.Contains(saysYes, r.peek(n)):
		return Mention{Key: key, Yes: true}, n + 1, nil
	}
	if shared, ok := sharedDenial(r, n); ok {
		f, _ := r.lang.Protocol.Finding(key)
		return Mention{}, 0, refuse("Does %q deny both? Say it for each: %s -, %s -.", shared, f.Yes[0], r.peek(n+1))
	}
	return Mention{Key: key, Yes: true}, n, nil
}

// sharedDenial spots "squeeze and er neg" and "squeeze/er -", where one denial may be meant for two.
func sharedDenial(r *reader, n int) (string, bool) {
	next := r.skip(n)
	if next.peek(0) == "and" {
		next = next.skip(1)
	} else if next.done() || !strings.Contains(r.line[r.toks[r.at+n-1].from:next.toks[next.at].from], "/") {
		return "", false
	}
	_, m := longest(next, r.lang.denial)
	if m == 0 || !slices.Contains(denyAfter, next.peek(m)) {
		return "", false
	}
	return next.peek(m), true
}

// startsDenial reports whether the word after a finding denies the next one rather than this one:
// in "walks no squeeze" the "no" belongs to squeeze.
func startsDenial(r *reader, n int) bool {
	if w := r.peek(n); w != "no" && w != "nil" {
		return false
	}
	next := r.skip(n + 1)
	if r.comma(n) != r.comma(n+1) {
		return r.comma(n) // "x, no y" denies y; "x no, y" denies x
	}
	_, denied := longest(next, r.lang.denial)
	_, whole := longest(r.skip(n), r.lang.findings)
	contact := slices.Contains([]string{"contact", "limp"}, next.peek(0))
	return denied > 0 || whole > 0 || contact
}

// comma reports whether a comma stands before the n-th word from here.
func (r *reader) comma(n int) bool {
	if n == 0 || r.at+n >= len(r.toks) {
		return false
	}
	return strings.ContainsAny(r.line[r.toks[r.at+n-1].from:r.toks[r.at+n].from], ",;")
}

// say adds a mention; the same thing may be said twice, never both ways.
func say(to *[]Mention, m Mention) error {
	for _, old := range *to {
		if old.Key == m.Key && old.Group == m.Group {
			if old.Yes != m.Yes {
				return refuse("%s is both there and not there in this line. Say one.", m.Key)
			}
			return nil
		}
	}
	*to = append(*to, m)
	return nil
}

func (f Field) spelled(to *[]Mention) Field {
	var lang *Lang
	match := f.match
	f.match = func(r *reader) (int, func() error, error) {
		lang = r.lang
		return match(r)
	}
	f.text = func() string {
		var out []string
		for _, m := range *to {
			out = append(out, spell(lang, m))
		}
		return strings.Join(out, ", ")
	}
	f.check = func() error {
		_, err := answers(lang, *to)
		return err
	}
	return f
}

// spell is a mention as one would type it.
func spell(l *Lang, m Mention) string {
	if m.Group {
		return m.Key
	}
	f, _ := l.Protocol.Finding(m.Key)
	switch {
	case m.Yes:
		return f.Yes[0]
	case len(f.No) > 0:
		return f.No[0]
	}
	return "no " + f.Yes[0]
}

// answers spreads the mentions into one answer per finding, and refuses a finding answered both ways.
func answers(l *Lang, list []Mention) ([]rehab.Answer, error) {
	var out []rehab.Answer
	put := func(key string, yes bool) error {
		for _, a := range out {
			if a.Finding == key && a.Yes != yes {
				f, _ := l.Protocol.Finding(key)
				return refuse("%s is both there and not there in this line. Say one.", f.Name)
			}
			if a.Finding == key {
				return nil
			}
		}
		out = append(out, rehab.Answer{Finding: key, Yes: yes})
		return nil
	}
	for _, m := range list {
		if !m.Group {
			if err := put(m.Key, m.Yes); err != nil {
				return nil, err
			}
			continue
		}
		for _, g := range l.Protocol.Groups {
			if g.Phrase != m.Key {
				continue
			}
			for _, key := range g.No {
				if err := put(key, false); err != nil {
					return nil, err
				}
			}
			for _, key := range g.Yes {
				if err := put(key, true); err != nil {
					return nil, err
				}
			}
		}
	}
	return out, nil
}
