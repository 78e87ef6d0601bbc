package commands

import (
	"context"
	"strconv"
	"strings"

	"footing/rehab"
)

// Scored is one athlete's result on a squad day.
type Scored struct {
	Athlete rehab.Athlete
	Result  Measured
}

// Squad is a field that takes one test for several athletes: "knee-to-wall: 7 9/12 l/r, 12 10/11".
// Commas part the athletes; each starts with a shirt. A pair is left/right once l/r was said, right/left once r/l was.
func Squad(to *[]Scored) Field {
	var lang *Lang
	return Field{
		Name: "squad", Usage: "knee-to-wall l/r: 7 9/12, 12 10/11", Optional: true, many: true,
		Kind: KindWords, About: "one test of several athletes: knee-to-wall l/r: 7 9/12, 12 10/11", offers: squadOffers,
		match: func(r *reader) (int, func() error, error) {
			lang = r.lang
			if r.at != r.start {
				return 0, nil, nil
			}
			key, n := longest(r, r.lang.tests)
			if n == 0 {
				return 0, nil, nil
			}
			t, _ := r.lang.Protocol.Test(key)
			list, size, err := scores(r.skip(n), t)
			if err != nil {
				return len(r.toks) - r.at, func() error { return err }, nil // nothing else can make sense of it
			}
			return n + size, func() error { *to = list; return nil }, nil
		},
		text: func() string {
			if len(*to) == 0 {
				return ""
			}
			var out []string
			for _, s := range *to {
				out = append(out, strconv.Itoa(s.Athlete.Shirt)+strings.TrimPrefix(s.Result.text(), s.Result.Test))
			}
			return (*to)[0].Result.Test + " : " + strings.Join(out, ", ")
		},
		check: func() error {
			for _, s := range *to {
				t, _ := lang.Protocol.Test(s.Result.Test)
				if err := s.Result.check(t); err != nil {
					return refuse("%s: %s", s.Athlete.Label(), err)
				}
			}
			return nil
		},
	}
}

// scores reads the athletes and their values after a test's name.
func scores(r *reader, t rehab.Test) ([]Scored, int, error) {
	from := r.at
	both := ""
	for _, t := range r.toks[r.at:] {
		if t.text == "l/r" || t.text == "r/l" {
			both = t.text
		}
	}
	for r.peek(0) == ":" || both != "" && r.peek(0) == both {
		r = r.skip(1)
	}
	var out []Scored
	for !r.done() && !strings.HasPrefix(r.peek(0), noteMark) {
		end := r.at + 1
		for end < len(r.toks) && !(&reader{line: r.line, toks: r.toks, at: r.at}).comma(end-r.at) && !strings.HasPrefix(r.toks[end].text, noteMark) {
			end++
		}
		one := &reader{lang: r.lang, line: r.line, toks: r.toks[:end], at: r.at, start: r.at}
		a, n, err := who(one)
		if err != nil {
			return nil, 0, err
		}
		if n == 0 {
			return nil, 0, refuse("Who? A squad line is: test %s: shirt value, shirt value. I do not know “%s”; nothing was saved.", t.Key, r.toks[r.at].raw)
		}
		m, size, err := values(one.skip(n), t, false)
		if err != nil {
			return nil, 0, refuse("%s: %s", a.Label(), err)
		}
		if r.at+n+size < end {
			return nil, 0, refuse("%s: I do not know “%s”; nothing was saved.", a.Label(), r.toks[r.at+n+size].raw)
		}
		m.inOrder(both)
		out = append(out, Scored{a, m})
		r = r.skip(end - r.at)
	}
	return out, r.at - from, nil
}

// logSquad records each athlete's result as if it had been sent alone. All of it counts or none.
func logSquad(ctx context.Context, env *Env, a testArgs) (Reply, error) {
	if a.Note != "" {
		return Reply{}, refuse("A note belongs to one athlete: send it by itself, for example note %d: text. Nothing was saved.", a.Squad[0].Athlete.Shirt)
	}
	reply := Reply{Health: true}
	for _, s := range a.Squad {
		one, err := logTests(ctx, env, testArgs{Athlete: s.Athlete, Tests: []Measured{s.Result}, At: a.At, squad: true})
		if err != nil {
			return Reply{}, err
		}
		reply.Entries = append(reply.Entries, one.Entries...)
		reply.Lines = append(reply.Lines, one.Lines...)
	}
	return reply, nil
}
