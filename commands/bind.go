package commands

import (
	"errors"
	"maps"
	"slices"
	"strings"
)

// Bind reads a command from named options, each with its own field only: what is typed into one is
// never taken for another. An empty option is one that was not given. The call's Text is the line that
// says the same. Errors are a *Refusal or a *Question as from Parse, with the call as far as its
// command was known.
func (reg *Registry) Bind(command string, options map[string]string, l *Lang) (*Call, error) {
	call, err := reg.bind(command, options, l)
	var q *Question
	if errors.As(err, &q) {
		err = reg.answered(q, command, options, l)
	}
	return call, warned(err, strings.Join(slices.Collect(maps.Values(options)), "\n"), l)
}

func (reg *Registry) bind(command string, options map[string]string, l *Lang) (*Call, error) {
	cmd := reg.named(command)
	if cmd == nil {
		return nil, refuse("I do not know the command “%s”. Type help for the list.", clean(command))
	}
	call := cmd.begin()
	for _, name := range slices.Sorted(maps.Keys(options)) {
		if !slices.ContainsFunc(call.Fields, func(f Field) bool { return f.Name == name }) {
			return call, refuse("%s has no option “%s”. It takes: %s.", cmd.Name, clean(name), cmd.Usage())
		}
	}
	var question error
	for i, f := range call.Fields {
		err := call.take(i, strings.TrimSpace(clean(options[f.Name])), l)
		if q, ok := err.(*Question); ok {
			q.option = f.Name
			question = q
		} else if err != nil {
			return call, err
		}
	}
	if question != nil {
		return call, question // only once nothing else is wrong: an answer is to be a whole line
	}
	if err := call.finish(l); err != nil {
		return call, err
	}
	return call, reg.sameLine(call, l)
}

// answered gives each answer of a question the line it stands for. The answer takes the place of the
// words that were asked about in their option, and all is read again.
func (reg *Registry) answered(q *Question, command string, options map[string]string, l *Lang) error {
	var labels []string
	for _, o := range q.Options {
		labels = append(labels, o.Label)
	}
	for i, o := range q.Options {
		told := maps.Clone(options)
		told[q.option] = o.Line
		call, err := reg.bind(command, told, l)
		if _, again := err.(*Question); again {
			return refuse("%s: %s Say which: %s. Nothing was saved.", q.option, q.Asks, strings.Join(labels, ", "))
		}
		if err != nil {
			return err
		}
		q.Options[i].Line = call.Text()
	}
	return q
}

// Options are the values one would give a call's named options: what Bind reads.
func (c *Call) Options() map[string]string {
	out := map[string]string{}
	for _, f := range c.Fields {
		if t := f.text(); t != "" {
			out[f.Name] = strings.TrimSuffix(strings.TrimPrefix(t, f.lead), f.tail)
		}
	}
	return out
}

// sameLine makes sure that the line a call is kept as says what its options said. Free text that a
// line would take apart is refused.
func (reg *Registry) sameLine(c *Call, l *Lang) error {
	again, err := reg.Parse(c.Text(), l)
	if refusal, ok := err.(*Refusal); ok {
		return refusal
	}
	for i, f := range c.Fields {
		if err != nil || again.Command != c.Command || again.Fields[i].text() != f.text() {
			return refuse("%s: “%s” means something else in a line. Say it in other words; nothing was saved.", f.Name, f.text())
		}
	}
	return nil
}

// way is one way to read an option: its text as it would stand in a line, and how much of that line
// stands before and behind what was typed.
type way struct {
	*reader
	lead, tail int
}

// ways are the ways to read the text of an option: as it is, with the words that go before and behind
// it in a line, and where the athlete is expected. Free text is only ever that.
func (f Field) ways(value string, l *Lang) []way {
	before := token{text: "\x00"} // no typed word; stands where the athlete does
	if f.lead == noteLead {
		return []way{{reader: &reader{lang: l, line: value, toks: []token{before, {noteMark, value, 0}}, at: 1}}}
	}
	in := func(lead, tail string, first bool) way {
		line := lead + tidy(value) + tail
		toks := tokens(line)
		if !f.colon {
			toks = slices.DeleteFunc(toks, func(t token) bool { return t.text == ":" })
		}
		if !first {
			toks = append([]token{before}, toks...)
		}
		return way{&reader{lang: l, line: line, toks: toks, at: boolInt(!first)}, len(lead), len(tail)}
	}
	if f.colon {
		return []way{in(f.lead, "", false)}
	}
	out := []way{in("", "", false)}
	if f.lead != "" || f.tail != "" {
		out = append(out, in(f.lead, f.tail, false))
	}
	return append(out, in("", "", true))
}

// take reads the text of an option with its field. The first way that understands all of it counts;
// otherwise what is said is what went wrong on the way that came furthest.
func (c *Call) take(i int, value string, l *Lang) error {
	f := c.Fields[i]
	if value == "" {
		return nil
	}
	if len(value) > maxLine {
		return refuse("%s is too long: %d letters at most. Nothing was saved.", f.Name, maxLine)
	}
	var trouble error
	var stuck way
	for n, w := range f.ways(value, l) {
		if len(w.toks) > maxWords {
			return refuse("%s has too many words: %d at most. Nothing was saved.", f.Name, maxWords)
		}
		err := c.Command.begin().alone(i, w)
		if err == nil {
			return c.alone(i, f.ways(value, l)[n])
		}
		if trouble == nil || trouble == errNotRead && (err != errNotRead || w.left() < stuck.left()) {
			trouble, stuck = err, w
		}
	}
	if q, ok := trouble.(*Question); ok {
		q.place(stuck)
	}
	if trouble == errNotRead {
		return c.notRead(f, value, stuck)
	}
	return trouble
}

// place makes the line of each answer what the option would have to be.
func (q *Question) place(w way) {
	for i, o := range q.Options {
		line := w.line[:o.from] + o.text + w.line[o.to:]
		q.Options[i].Line = line[w.lead : len(line)-w.tail]
	}
}

// alone reads words with one field and no other.
func (c *Call) alone(i int, w way) error {
	one := &Call{Command: c.Command, Args: c.Args, Fields: c.Fields[i : i+1 : i+1]}
	w.mended = &one.Corrected
	for !w.done() {
		n, err := one.step(w.reader)
		if err != nil {
			return err
		}
		if n == 0 {
			return errNotRead
		}
		w.at += n
	}
	if !one.Fields[0].given {
		return errNotRead
	}
	c.Corrected = append(c.Corrected, one.Corrected...)
	return nil
}

// errNotRead says that a word was not understood; the reader stands at it.
var errNotRead = errors.New("not understood")

// left is how many words were not read.
func (w way) left() int { return len(w.toks) - w.at }

// notRead refuses an option and names the word that stopped it.
func (c *Call) notRead(f Field, value string, w way) error {
	word, near := value, ""
	if !w.done() {
		t := w.toks[w.at]
		one := &Call{Command: c.Command, Fields: []Field{f}}
		word, near = t.raw, one.nearest(t.text, f.Kind == KindAthlete, w.lang)
	}
	says := f.Name + ": I do not know “" + word + "”; nothing was saved." + near
	return c.rescued(says, "It takes: "+f.describe(), value, w.lang)
}
