package commands

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"footing/rehab"
)

// Call is a command with its arguments read: from text or from named options, it is the same.
type Call struct {
	Command   *Command
	Fields    []Field
	Corrected []string // "inverson as inversion"
	Args      any      // the typed arguments, for comparing in tests
	run       func(context.Context, *Env) (Reply, error)
}

// Run carries the command out.
func (c *Call) Run(ctx context.Context, env *Env) (Reply, error) { return c.run(ctx, env) }

// Text is the call as one would type it: parsing it gives the same call.
func (c *Call) Text() string {
	return c.TextWith("", "")
}

// TextWith is the call as one would type it with one field told otherwise.
func (c *Call) TextWith(field, value string) string {
	out := []string{c.Command.Name}
	for _, f := range c.Fields {
		t := f.text()
		if f.Name == field {
			t = value
		}
		if t != "" {
			out = append(out, t)
		}
	}
	return strings.Join(out, " ")
}

// connectors are words that carry nothing here.
var connectors = []string{"and", "with", "at", "on", "the", "is", "was", "ankle", "also", "then", "today's", "a", "his", "her", "their"}

// Parse reads one line. The error is a *Refusal or a *Question meant for the user.
func (reg *Registry) Parse(line string, l *Lang) (*Call, error) {
	line = clean(line)
	body, note := line, ""
	if at := noteStart.FindStringIndex(line); at != nil {
		body, note = line[:at[0]], strings.TrimSpace(line[at[1]:])
		if note == "" {
			return nil, refuse("The note is empty. Type it after note:")
		}
	}
	toks := tokens(body)
	if len(toks) == 0 {
		return nil, refuse("Type a command, for example: %s. Type help for the list.", reg.list[1].Examples[0])
	}
	cmd, at, fixed, err := reg.name(toks, l)
	if err != nil {
		return nil, err
	}
	call := cmd.begin()
	if fixed != "" {
		call.Corrected = append(call.Corrected, fixed)
	}
	toks = slices.Delete(slices.Clone(toks), at, at+cmd.nameLen(toks[at:]))
	if note != "" {
		toks = append(toks, token{noteMark, note, len(body)})
	}
	r := &reader{lang: l, line: body, toks: toks}
	if err := call.read(r); err != nil {
		var q *Question
		if errors.As(err, &q) {
			for i, o := range q.Options {
				q.Options[i].Line = line[:o.from] + o.text + line[o.to:]
			}
		}
		return nil, err
	}
	return call, call.finish(l)
}

// name finds the command: the first words of the line, or those after a shirt or name put first.
func (reg *Registry) name(toks []token, l *Lang) (cmd *Command, at int, fixed string, err error) {
	r := &reader{lang: l, toks: toks}
	if cmd := reg.at(r); cmd != nil {
		return cmd, 0, "", nil
	}
	if _, n, err := who(r); n > 0 || err != nil {
		if next := r.skip(max(n, 1)); reg.at(next) != nil {
			return reg.at(next), next.at, "", nil
		}
	}
	for _, i := range []int{0, 1} {
		if i >= len(toks) {
			break
		}
		if w, ok := corrected(toks[i].text, reg.names); ok {
			fixed = fmt.Sprintf("%s as %s", toks[i].raw, w)
			toks[i].text = w
			if cmd := reg.at(r.skip(i)); cmd != nil && (i == 0 || isWho(r)) {
				return cmd, i, fixed, nil
			}
			toks[i].text = Fold(toks[i].raw)
		}
	}
	return nil, 0, "", reg.unknownCommand(toks[0])
}

func isWho(r *reader) bool {
	_, n, err := who(r)
	return n == 1 || err != nil
}

func (reg *Registry) unknownCommand(t token) error {
	var close []string
	for _, n := range near(t.text, reg.names, 2) {
		close = append(close, n.word)
	}
	if len(close) == 0 {
		return refuse("I do not know the command “%s”. Type help for the list, for example: %s", t.raw, reg.list[1].Examples[0])
	}
	return refuse("I do not know the command “%s”. Near: %s. Type help for the list.", t.raw, strings.Join(close[:min(3, len(close))], ", "))
}

// read offers each word to every field; the longest match takes it.
func (c *Call) read(r *reader) error {
	for !r.done() {
		n, err := c.step(r)
		if err != nil {
			return err
		}
		if n == 0 {
			return c.unknown(r)
		}
		r.at += n
	}
	return nil
}

func (c *Call) step(r *reader) (int, error) {
	best, took := -1, 0
	var set func() error
	var trouble error
	for i := range c.Fields {
		n, f, err := c.Fields[i].match(r)
		if err != nil {
			trouble = err
		}
		if n > took {
			best, took, set = i, n, f
		}
	}
	switch {
	case best >= 0:
		c.Fields[best].given = true
		return took, set()
	case trouble != nil:
		return 0, trouble
	case slices.Contains(connectors, r.peek(0)) || r.peek(0) == ":":
		return 1, nil
	case c.correct(r):
		return c.step(r)
	}
	return c.takeRest(r)
}

// correct mends the word at the reader when only one known word can be meant.
func (c *Call) correct(r *reader) bool {
	var vocabulary []phrase
	for _, f := range c.Fields {
		if f.words != nil {
			vocabulary = append(vocabulary, f.words(r.lang)...)
		}
	}
	t := &r.toks[r.at]
	w, ok := corrected(t.text, vocabulary)
	if !ok || w == t.text || c.hasRest() {
		return false
	}
	c.Corrected = append(c.Corrected, fmt.Sprintf("%s as %s", t.raw, w))
	t.text = w
	n, _, err := 0, error(nil), error(nil)
	for _, f := range c.Fields {
		if n, _, err = f.match(r); n > 0 || err != nil {
			return true
		}
	}
	// A word of a longer phrase may stand here wrongly spelt in its later words too.
	return c.correctNext(r, vocabulary)
}

// correctNext mends the next word as well when the first alone matched nothing ("bone-outr").
func (c *Call) correctNext(r *reader, vocabulary []phrase) bool {
	if r.at+1 >= len(r.toks) {
		return false
	}
	t := &r.toks[r.at+1]
	w, ok := corrected(t.text, vocabulary)
	if !ok || w == t.text {
		return false
	}
	c.Corrected = append(c.Corrected, fmt.Sprintf("%s as %s", t.raw, w))
	t.text = w
	for _, f := range c.Fields {
		if n, _, err := f.match(r); n > 0 || err != nil {
			return true
		}
	}
	return false
}

func (c *Call) hasRest() bool {
	return slices.ContainsFunc(c.Fields, func(f Field) bool { return f.rest && !f.given })
}

func (c *Call) takeRest(r *reader) (int, error) {
	for i := range c.Fields {
		f := &c.Fields[i]
		if !f.rest || f.given {
			continue
		}
		end := len(r.toks) - r.at
		line, toks := r.line, r.toks
		if strings.HasPrefix(toks[len(toks)-1].text, noteMark) {
			end--
			line, toks = line[:toks[len(toks)-1].from], toks[:len(toks)-1]
		}
		if end == 0 {
			continue
		}
		rest := &reader{lang: r.lang, line: line, toks: append(slices.Clone(toks[:r.at]), append([]token{{":", ":", toks[r.at].from}}, toks[r.at:]...)...), at: r.at}
		n, set, err := f.match(rest)
		if err != nil || n == 0 {
			return 0, err
		}
		f.given = true
		return end, set()
	}
	return 0, nil
}

// unknown names the word that stopped the line, the nearest ones, and an example that works.
func (c *Call) unknown(r *reader) error {
	t := r.toks[r.at]
	var vocabulary []phrase
	for _, f := range c.Fields {
		if f.words != nil {
			vocabulary = append(vocabulary, f.words(r.lang)...)
		}
	}
	says := fmt.Sprintf("I do not know “%s”; nothing was saved.", t.raw)
	var close []string
	for _, n := range near(t.text, vocabulary, 2) {
		close = append(close, n.word)
	}
	if r.at == r.start {
		for _, a := range nearNames(r.lang, t.text) {
			close = append(close, a.Label())
		}
	}
	if len(close) > 0 {
		says += " Near: " + strings.Join(close[:min(4, len(close))], ", ") + "."
	}
	refusal := refuse("%s For example: %s", says, c.Command.Examples[0])
	if a := c.Subject(); a.ID != 0 && !slices.ContainsFunc(c.Fields, func(f Field) bool { return f.Name == "findings" }) {
		refusal.Buttons = []Button{{Label: "Keep as note", Line: fmt.Sprintf("note %d: %s", a.Shirt, strings.TrimSpace(r.line))}}
	}
	return refusal
}

// finish checks the values and that nothing needed is missing.
func (c *Call) finish(l *Lang) error {
	for _, f := range c.Fields {
		if f.check != nil {
			if err := f.check(); err != nil {
				return err
			}
		}
	}
	for _, f := range c.Fields {
		if f.Optional || f.given {
			continue
		}
		if f.Name == "athlete" {
			if c.Command.Self {
				continue // whoever writes, when they are an athlete
			}
			return refuse("Who? Start with a shirt or a name: %s", c.Command.Examples[0])
		}
		if f.Name == "side" {
			continue // asked with buttons once the athlete is known
		}
		return refuse("%s: what %s? For example: %s", c.Command.Name, f.Name, c.Command.Examples[0])
	}
	return nil
}

// Subject is the athlete the call is about, or the zero Athlete.
func (c *Call) Subject() rehab.Athlete {
	if c.Command.subject == nil {
		return rehab.Athlete{}
	}
	return *c.Command.subject(c.Args)
}
