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

	known []phrase          // every phrase some field knows
	fixed map[string]string // words looked at, and the known word each stands for or ""
}

// Run carries the command out. Entries that restate what an edited line had recorded keep their place
// in the order of logging.
func (c *Call) Run(ctx context.Context, env *Env) (Reply, error) {
	reply, err := c.run(ctx, env)
	for i, e := range reply.Entries {
		reply.Entries[i].First = env.firstSeq(e)
	}
	for i, p := range reply.Put {
		reply.Put[i].Entry.First = env.firstSeq(p.Entry)
	}
	return reply, err
}

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
		if f.Name == "athlete" && !f.given {
			t = "" // an athlete left themselves out; so does the line that answers them
		}
		if t != "" {
			out = append(out, t)
		}
	}
	return strings.Join(out, " ")
}

// connectors are words that carry nothing here.
var connectors = []string{"and", "but", "with", "at", "on", "in", "during", "now", "is", "was", "also", "then", "a"}

// fillers carry nothing even before free text.
var fillers = []string{"the", "ankle", "his", "her", "their"}

// maxLine is the longest line, in bytes; the longest useful one has a tenth of it.
const maxLine = 1500

// maxWords is how many words a line may have; the longest useful one has a third.
const maxWords = 120

// Parse reads one line. The error is a *Refusal or a *Question meant for the user; with it comes the
// call as far as its command was known, so that whoever may not use it is told only that.
func (reg *Registry) Parse(line string, l *Lang) (*Call, error) {
	call, err := reg.parse(line, l)
	return call, warned(err, line, l)
}

func (reg *Registry) parse(line string, l *Lang) (*Call, error) {
	if line = clean(line); len(line) > maxLine {
		return nil, refuse("That line is too long: %d letters at most. Nothing was saved.", maxLine)
	}
	body, note := line, ""
	if at := noteStart.FindStringIndex(line); at != nil {
		body, note = line[:at[0]], strings.TrimSpace(line[at[1]:])
	}
	body = tidy(body)
	toks := tokens(body)
	cmd, at, fixed, err := reg.name(toks, l)
	if err != nil || note != "" && !cmd.takesNote() {
		// "note:" is the command itself, or part of free text
		body, note, toks = tidy(line), "", tokens(tidy(line))
		cmd, at, fixed, err = reg.name(toks, l)
	}
	if err != nil {
		if call := reg.guess(line, l); call != nil {
			return call, nil
		}
		if call, err := reg.flagged(line, l); err != nil {
			return call, err
		}
		if l.Self.ID != 0 {
			return nil, reg.misread(line, l)
		}
		return nil, err
	}
	if noteStart.MatchString(line) && note == "" && cmd.takesNote() {
		return nil, refuse("The note is empty. Type it after note:")
	}
	call := cmd.begin()
	if fixed != "" {
		call.Corrected = append(call.Corrected, fixed)
	}
	if len(toks) > maxWords {
		return nil, refuse("That line has too many words: %d at most. Nothing was saved.", maxWords)
	}
	toks = call.arguments(toks, at)
	if note != "" {
		toks = append(toks, token{noteMark, note, len(body)})
	}
	r := &reader{lang: l, line: body, toks: toks, free: call.takesText(), mended: &call.Corrected}
	if err := call.read(r); err != nil {
		var q *Question
		if errors.As(err, &q) {
			for i, o := range q.Options {
				q.Options[i].Line = strings.TrimSpace(body[:o.from]+o.text+body[o.to:]) + rehab.Prefixed(" note: ", note)
			}
		}
		return call, err
	}
	return call, call.finish(l)
}

// arguments are the words of a line without the command's name and, where no free text starts at one,
// without colons. A question mark behind a question asks nothing more.
func (c *Call) arguments(toks []token, at int) []token {
	from, to := at, at+c.Command.nameLen(toks[at:])
	if from > 0 && toks[from-1].text == ":" {
		from-- // "7: sprain left"
	}
	toks = slices.Delete(slices.Clone(toks), from, to)
	if n := len(toks); n > 0 && toks[n-1].text == "?" && slices.Contains([]rehab.Capability{rehab.ReadMedical, rehab.ReadAvailability, rehab.ReadCalendar}, c.Command.Needs) {
		toks = toks[:n-1]
	}
	if c.takesText() {
		return toks
	}
	return slices.DeleteFunc(toks, func(t token) bool { return t.text == ":" })
}

// takesText reports whether free text may follow a colon.
func (c *Call) takesText() bool {
	return slices.ContainsFunc(c.Fields, func(f Field) bool { return f.colon })
}

// name finds the command: the first words of the line, or those after a shirt or name put first.
func (reg *Registry) name(toks []token, l *Lang) (cmd *Command, at int, fixed string, err error) {
	if len(toks) == 0 {
		return nil, 0, "", refuse("Type a command, for example: %s. Type help for the list.", reg.example(l))
	}
	r := &reader{lang: l, toks: toks}
	if cmd := reg.at(r); cmd != nil {
		return cmd, 0, "", nil
	}
	_, n, err := whoTwice(r)
	if n > 0 || err != nil {
		next := r.skip(max(n, 1))
		if next.peek(0) == ":" {
			next = next.skip(1)
		}
		if reg.at(next) != nil {
			return reg.at(next), next.at, "", nil
		}
	}
	for _, i := range []int{0, 1} {
		if i >= len(toks) {
			break
		}
		if w, ok := corrected(toks[i].text, reg.names); ok && sideOf(toks[i].text) == rehab.None && reg.mendable(w) {
			fixed = fmt.Sprintf("%s as %s", toks[i].raw, w)
			toks[i].text = w
			if cmd := reg.at(r.skip(i)); cmd != nil && (i == 0 || isWho(r)) {
				return cmd, i, fixed, nil
			}
			toks[i].text = Fold(toks[i].raw)
		}
	}
	return nil, 0, "", reg.unknownCommand(toks[min(n, len(toks)-1)], l)
}

func (reg *Registry) unknownCommand(t token, l *Lang) error {
	var close []string
	for _, n := range near(t.text, reg.names, 2) {
		if n.word != t.text {
			close = append(close, n.word)
		}
	}
	if len(close) == 0 {
		return refuse("I do not know the command “%s”. Type help for the list, for example: %s", t.raw, reg.example(l))
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
	c.mend(r)
	best, took, set, trouble := c.longest(r)
	switch {
	case best >= 0:
		c.Fields[best].given = true
		return took, set()
	case trouble != nil:
		return 0, trouble
	case c.connects(r):
		return 1, nil
	}
	return c.takeRest(r)
}

// longest finds the field that takes most of the words at the reader.
func (c *Call) longest(r *reader) (best, took int, set func() error, trouble error) {
	best = -1
	for i := range c.Fields {
		n, f, err := c.Fields[i].match(r)
		if err != nil {
			trouble = err
		}
		if n > took {
			best, took, set = i, n, f
		}
	}
	return best, took, set, trouble
}

// connects reports whether the word at the reader carries nothing. Before words that only free text can
// take it is part of that text: "stay 7 in pain".
func (c *Call) connects(r *reader) bool {
	switch w := r.peek(0); {
	case w == ":" || slices.Contains(fillers, w):
		return true
	case !slices.Contains(connectors, w):
		return false
	case !c.hasRest() || r.at+1 == len(r.toks):
		return true
	}
	best, _, _, _ := c.longest(r.skip(1))
	return best >= 0
}

func (c *Call) hasRest() bool {
	return slices.ContainsFunc(c.Fields, func(f Field) bool { return f.rest && !f.given })
}

// takeRest gives the rest of the line to the free text.
func (c *Call) takeRest(r *reader) (int, error) {
	for i := range c.Fields {
		f := &c.Fields[i]
		w := r.peek(0)
		if !f.rest || f.given || f.exact && (numberShape.MatchString(w) || pairShape.MatchString(w) || slices.Contains(halves, w)) {
			continue
		}
		end := len(r.toks) - r.at
		colon := token{":", ":", r.toks[r.at].from}
		rest := &reader{lang: r.lang, line: r.line, toks: slices.Insert(slices.Clone(r.toks), r.at, colon), at: r.at}
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
	says := fmt.Sprintf("I do not know “%s”; nothing was saved.", t.raw) + c.nearest(t.text, r.at == r.start, r.lang)
	return c.rescued(says, "For example: "+c.Command.filled(r.lang.Self.ID != 0), r.line, r.lang)
}

// nearest lists the known words close to one that is not known, and the names where one may stand.
func (c *Call) nearest(word string, names bool, l *Lang) string {
	var close []string
	if names {
		for _, a := range nearNames(l, word) {
			close = append(close, a.Label())
		}
	}
	for _, n := range near(word, c.vocabulary(l), max(1, slips(word))) {
		if n.word != word { // known, but not here
			close = append(close, n.word)
		}
	}
	if len(close) == 0 {
		return ""
	}
	return " Near: " + strings.Join(close[:min(4, len(close))], ", ") + "."
}

// rescued refuses words that were not understood, and sees to it that a red flag among them is not lost.
func (c *Call) rescued(says, hint, text string, l *Lang) *Refusal {
	refusal := refuse("%s %s", says, hint)
	if flag := RedFlag(text, l); flag != "" {
		refusal.Says = says + " " + flagSays(flag, l)
	} else if a := c.Subject(); a.ID != 0 && c.Command.Needs != rehab.ManageRoster && c.Command.Needs != rehab.Decide && !slices.ContainsFunc(c.Fields, func(f Field) bool { return f.Name == "findings" }) {
		refusal.Buttons = []Button{{Label: "Keep as note", Line: fmt.Sprintf("note %d: %s", a.Shirt, strings.TrimSpace(text)), About: a.ID}}
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
		return refuse("%s: what %s? For example: %s", c.Command.Name, f.Name, c.Command.filled(l.Self.ID != 0))
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

// Athletes is everyone the call is about.
func (c *Call) Athletes() []rehab.Athlete {
	var out []rehab.Athlete
	if a := c.Subject(); a.ID != 0 {
		out = append(out, a)
	}
	if c.Command.others != nil {
		out = append(out, c.Command.others(c.Args)...)
	}
	return out
}
