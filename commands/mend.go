package commands

import (
	"fmt"
	"slices"
)

// vocabulary is every phrase some field of the command knows.
func (c *Call) vocabulary(l *Lang) []phrase {
	if c.known != nil {
		return c.known
	}
	c.fixed = map[string]string{}
	for _, f := range c.Fields {
		if f.words != nil {
			c.known = append(c.known, f.words(l)...)
		}
	}
	for _, p := range c.known {
		for _, w := range p.words {
			c.fixed[w] = w // a known word stays what it is
		}
	}
	return c.known
}

// mend corrects the words at the reader when that makes a longer known phrase of them than they are
// as typed: "no contcat", "calf rase". Free text is left alone.
func (c *Call) mend(r *reader) {
	if c.hasRest() || len(c.Fields) == 0 {
		return
	}
	if c.known == nil {
		c.known = c.vocabulary(r.lang)
	}
	vocabulary := c.known
	_, best := longest(r, vocabulary)
	if _, n, _ := who(r); n > best {
		return
	}
	fix := func(w string) string {
		if _, done := c.fixed[w]; !done {
			c.fixed[w], _ = corrected(w, vocabulary)
		}
		return c.fixed[w]
	}
	var found []string
	for _, p := range vocabulary {
		if len(p.words) > best && r.means(p.words, fix) {
			found, best = p.words, len(p.words)
		}
	}
	for i, w := range found {
		if t := &r.toks[r.at+i]; t.text != w {
			c.Corrected = append(c.Corrected, fmt.Sprintf("%s as %s", t.raw, w))
			t.text = w
		}
	}
}

// means reports whether the words from here are some words once their slips are mended.
func (r *reader) means(ws []string, fix func(string) string) bool {
	for i, w := range ws {
		if got := r.peek(i); got != w && fix(got) != w {
			return false
		}
	}
	return true
}

// mendable reports whether a slip may be mended into a word: not into the name of a command too big
// for that.
func (reg *Registry) mendable(w string) bool {
	return !slices.ContainsFunc(reg.list, func(c *Command) bool {
		return c.Exact && slices.ContainsFunc(c.ways, func(p phrase) bool { return slices.Contains(p.words, w) })
	})
}
