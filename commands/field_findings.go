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
	denyBefore = []string{"no", "not", "non", "without", "nil", "denies", "neg", "negative"}
	denyAfter  = []string{"-", "neg", "negative", "no", "nil", "absent", "clear", "none"}
	saysYes    = []string{"+", "pos", "positive", "yes", "present"}
	yesBefore  = []string{"pos", "positive"}
)

// Findings is a field that takes what the examination found and did not find.
func Findings(to *[]Mention) Field {
	return Field{
		Name: "findings", Usage: "tender none, walked, walks, circulation ok, squeeze -, er -, no modifiers", Optional: true, many: true,
		Kind: KindWords, About: "what is there and what is not, with commas between: tender none, walks, no squeeze", offers: findingOffers,
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
	if slices.Contains(denyBefore, r.peek(0)) && r.comma(1) {
		if key, m := longest(r.skip(1), r.lang.denial); m > 0 {
			f, _ := r.lang.Protocol.Finding(key)
			return Mention{}, 0, refuse("Does “%s” deny %s? Write: no %s, or take the comma out. Nothing was saved.", r.toks[r.at].raw, f.Yes[0], f.Yes[0])
		}
	}
	if slices.Contains(denyBefore, r.peek(0)) {
		if key, m := longest(r.skip(1), r.lang.denial); m+1 > n && m > 0 && !r.parted(m+1) {
			if n > 0 && meaning[0] == '+' { // "no pulse absent"
				return Mention{}, 0, refuse("“%s”: there or not? Say it in one word. Nothing was saved.", r.phrase(0, m+1))
			}
			return Mention{Key: key}, m + 1, nil
		}
	}
	if n == 0 && slices.Contains(yesBefore, r.peek(0)) {
		key, m := longest(r.skip(1), r.lang.denial)
		return Mention{Key: key, Yes: true}, (m + 1) * min(m, 1), nil
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
	f, _ := r.lang.Protocol.Finding(key)
	if w := r.peek(n); (w == "is" || w == "was") && (slices.Contains(denyAfter, r.peek(n+1)) || slices.Contains(saysYes, r.peek(n+1))) {
		return Mention{Key: key, Yes: slices.Contains(saysYes, r.peek(n+1))}, n + 2, nil
	}
	switch {
	case r.peek(n) == "-" && !f.Signed && r.pause(n):
		return Mention{}, 0, refuse("Is the “-” after %s a no? Write: no %s, or part them with a comma. Nothing was saved.", f.Yes[0], f.Yes[0])
	case slices.Contains(denyAfter, r.peek(n)):
		switch whose(r, n, f) {
		case this:
			return Mention{Key: key}, n + 1, nil
		case unclear:
			return Mention{}, 0, refuse("Is the “%s” for %s or for what follows? Put a comma before or after it. Nothing was saved.", r.toks[r.at+n].raw, f.Yes[0])
		}
		return Mention{Key: key, Yes: true}, n, nil
	case slices.Contains([]string{"not", "isnt"}, r.peek(n)) && slices.Contains([]string{"tender", "painful", "present", "sore", "there"}, r.peek(n+1)):
		return Mention{Key: key}, n + 2, nil
	case slices.Contains(saysYes, r.peek(n)), strings.HasPrefix(f.Name, "tender") && slices.Contains([]string{"tender", "sore", "painful"}, r.peek(n)):
		return Mention{Key: key, Yes: true}, n + 1, nil
	}
	if other, ok := sharedDenial(r, n, key); ok {
		o, _ := r.lang.Protocol.Finding(other)
		return Mention{}, 0, refuse("Is %s denied too? Say it for each: no %s, no %s. Nothing was saved.", f.Yes[0], f.Yes[0], o.Yes[0])
	}
	return Mention{Key: key, Yes: true}, n, nil
}

// pause reports whether the dash at the n-th word stands between words with space on both sides, where
// a thumb may have meant a pause: "tender lat mal - limping".
func (r *reader) pause(n int) bool {
	at := r.at + n
	if at+1 >= len(r.toks) || r.comma(n+1) {
		return false
	}
	dash := r.toks[at].from
	return dash > 0 && r.line[dash-1] == ' ' && dash+1 < len(r.line) && r.line[dash+1] == ' '
}

// sharedDenial spots two findings of one kind where a single denial may be meant for both: "squeeze
// and er neg", "squeeze/er -", "squeeze, er neg", "no squeeze, er". It gives the other finding.
func sharedDenial(r *reader, n int, key string) (string, bool) {
	next := r.skip(n)
	joined := false
	if w := next.peek(0); w == "and" || w == "or" {
		next, joined = next.skip(1), true
	} else if !next.done() {
		between := r.line[r.toks[r.at+n-1].from:next.toks[next.at].from]
		joined = strings.ContainsAny(between, "/&")
	}
	other, m := longest(next, r.lang.denial)
	if m == 0 || !joined && !alike(r.lang, key, other) {
		return deniedBefore(r, key)
	}
	if slices.Contains(denyAfter, next.peek(m)) && next.closes(m) {
		return other, true
	}
	if meaning, size := longest(next, r.lang.findings); size > m && meaning[0] == '-' && !r.saysHurt(n) {
		return other, true // "lat mal and med mal not tender"
	}
	return deniedBefore(r, key)
}

// saysHurt reports whether the n words from here say themselves that it hurts.
func (r *reader) saysHurt(n int) bool {
	return slices.ContainsFunc(r.toks[r.at:r.at+n], func(t token) bool {
		return slices.Contains([]string{"tender", "sore", "painful", "pain"}, t.text)
	})
}

// deniedBefore looks back for "no x" just before a bare finding of the same kind.
func deniedBefore(r *reader, key string) (string, bool) {
	if r.at > 0 && r.toks[r.at-1].text == "but" {
		return "", false // "not numb but cold"
	}
	for size := 1; size <= 4 && r.at-size > r.start; size++ {
		before := *r
		before.at = r.at - size
		if w := r.toks[r.at-1].text; w == "and" || w == "or" {
			before.at--
		}
		if before.at <= r.start {
			break
		}
		other, m := longest(&before, r.lang.denial)
		if m > 0 && (before.at+m == r.at || before.at+m+1 == r.at) && slices.Contains(denyBefore, r.toks[before.at-1].text) && alike(r.lang, key, other) {
			return other, true
		}
	}
	return "", false
}

// alike reports whether two findings feed rules of one outcome, so that they are examined together.
func alike(l *Lang, a, b string) bool {
	outcome := func(key string) string {
		for _, r := range l.Protocol.Rules {
			if slices.Contains(r.Any, key) {
				return r.Outcome
			}
		}
		return ""
	}
	return outcome(a) != "" && outcome(a) == outcome(b)
}

// whose tells what a denial behind a finding denies.
type owner int

const (
	this    owner = iota // the finding before it: "squeeze neg, walks"
	next                 // what follows: "walks no squeeze"
	unclear              // either: "squeeze neg er"
)

// whose decides for the denial at the n-th word, behind a finding. A comma tells, and so does the end.
// Without one a bare "no" may belong to either side: only good news ("walks") is never what it denies.
func whose(r *reader, n int, f rehab.Finding) owner {
	w := r.peek(n)
	follows := r.skip(n + 1)
	key, m := longest(follows, r.lang.denial)
	whole, size := longest(follows, r.lang.findings)
	other, _ := r.lang.Protocol.Finding(key)
	bare := m > 0 && size == m && whole[0] == '+' && !other.Well &&
		!slices.Contains(denyAfter, follows.peek(m)) && !slices.Contains(saysYes, follows.peek(m))
	before, after := r.comma(n), r.comma(n+1)
	switch w {
	case "no", "nil":
		switch {
		case before && !after:
			return next
		case r.closes(n):
			return this
		case f.Well && !other.Well:
			return next
		}
		return unclear
	case "neg", "negative":
		switch {
		case r.closes(n) || !bare:
			return this
		case f.Well || before && !f.Signed:
			return next
		}
		return unclear
	case "-":
		if bare && !after && !r.glued(n) {
			return unclear
		}
	}
	return this
}

// comma reports whether a comma stands before the n-th word from here.
func (r *reader) comma(n int) bool {
	if r.at+n == 0 || r.at+n >= len(r.toks) || r.toks[r.at+n].from > len(r.line) {
		return false // the last: a name is read without its line
	}
	return strings.ContainsAny(r.line[r.toks[r.at+n-1].from:r.toks[r.at+n].from], ",;")
}

// parted reports whether a comma stands between the n words from here.
func (r *reader) parted(n int) bool {
	for i := 1; i < n; i++ {
		if r.comma(i) {
			return true
		}
	}
	return false
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
		for i, m := range *to {
			words := spell(lang, m)
			if i > 0 && m.Yes && !m.Group && !(*to)[i-1].Yes && alike(lang, m.Key, (*to)[i-1].Key) {
				words += " +" // or it would be asked whether the denial is meant for both
			}
			out = append(out, words)
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
