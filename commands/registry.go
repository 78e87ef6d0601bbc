package commands

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"footing/rehab"
)

// Privacy is where a command's reply may be seen.
type Privacy string

// The places. The zero value is refused at start-up.
const (
	MedicalOnly Privacy = "medical" // the medical channel
	Staff       Privacy = "staff"   // medical and coaching staff
	OwnOnly     Privacy = "own"     // the medical channel, or the athlete's own direct messages
	Anyone      Privacy = "anyone"  // nothing private in it
)

// Def declares a command. Its typed fields give the grammar, the help, the examples (which are
// tests) and the permission check.
type Def[T any] struct {
	Name    string
	Also    []string // other words for it
	Summary string
	Needs   rehab.Capability
	Privacy Privacy
	Self    bool // an athlete may leave out who: it is themselves
	Exact   bool // no slip is mended into its name: what it does is too big for that, or too many words are near
	Squad   bool // it adds to what is known of the squad as a whole
	Looks   bool // it only shows: its button may be pressed again, and leaves the others of its message
	// BeforeConsent marks what an athlete may use who has not agreed to be asked and written to.
	BeforeConsent bool
	Fields        func(*T) []Field
	Subject       func(*T) *rehab.Athlete
	Others        func(*T) []rehab.Athlete // every athlete of a line about several
	Examples      []string
	Run           func(context.Context, *Env, T) (Reply, error)
}

// Command is a declaration with its argument type put away.
type Command struct {
	Name          string
	Also          []string
	Summary       string
	Needs         rehab.Capability
	Privacy       Privacy
	Self          bool
	Exact         bool
	Squad         bool
	Looks         bool
	BeforeConsent bool
	Examples      []string

	ways    []phrase
	begin   func() *Call
	subject func(args any) *rehab.Athlete
	others  func(args any) []rehab.Athlete
}

// Example is a line that works; an athlete's own leaves out the shirt.
func (c *Command) Example(own bool) string { return c.examples(own)[0] }

// filled is a line that works and says something, where there is one.
func (c *Command) filled(own bool) string {
	list := c.examples(own)
	return list[max(0, slices.IndexFunc(list, func(e string) bool { return strings.Contains(e, " ") }))]
}

func (c *Command) examples(own bool) []string {
	out := slices.Clone(c.Examples)
	for i := range out {
		if own && c.Self {
			out[i] = shirtIn.ReplaceAllString(out[i], "$1")
		}
	}
	return out
}

// shirtIn finds the shirt of an example, behind its command.
var shirtIn = regexp.MustCompile(`^(\S+) \d+`)

// New makes a command of a declaration.
func New[T any](d Def[T]) *Command {
	c := &Command{Name: d.Name, Also: d.Also, Summary: d.Summary, Needs: d.Needs, Privacy: d.Privacy, Self: d.Self, Exact: d.Exact, Squad: d.Squad, Looks: d.Looks, BeforeConsent: d.BeforeConsent, Examples: d.Examples}
	c.ways = phrases(d.Name, append([]string{d.Name}, d.Also...)...)
	c.begin = func() *Call {
		args := new(T)
		call := &Call{Command: c, Args: args}
		if d.Fields != nil {
			call.Fields = d.Fields(args)
		}
		call.run = func(ctx context.Context, env *Env) (Reply, error) { return d.Run(ctx, env, *args) }
		return call
	}
	if d.Subject != nil {
		c.subject = func(args any) *rehab.Athlete { return d.Subject(args.(*T)) }
	}
	if d.Others != nil {
		c.others = func(args any) []rehab.Athlete { return d.Others(args.(*T)) }
	}
	return c
}

// SetSubject fills in who the call is about when an athlete left it out.
func (c *Call) SetSubject(a rehab.Athlete) {
	if c.Command.subject != nil {
		*c.Command.subject(c.Args) = a
	}
}

func (c *Command) takesNote() bool {
	return slices.ContainsFunc(c.begin().Fields, func(f Field) bool { return f.Name == "note" })
}

// nameLen is how many words of the command's name stand at the start of some words.
func (c *Command) nameLen(toks []token) int {
	_, n := longest(&reader{toks: toks}, c.ways)
	return n
}

// Usage is the command's grammar in one line.
func (c *Command) Usage() string {
	out := []string{c.Name}
	for _, f := range c.begin().Fields {
		u := "<" + f.Name + ">"
		if f.Optional {
			u = "[" + f.Name + "]"
		}
		out = append(out, u)
	}
	return strings.Join(out, " ")
}

// Registry is the ordered list of commands.
type Registry struct {
	list  []*Command
	names []phrase
}

// Command is the command that a line begins with, nil when it begins with none.
func (reg *Registry) Command(line string) *Command {
	return reg.at(&reader{toks: tokens(clean(line))})
}

// Looks reports whether a line of a button only shows something.
func (reg *Registry) Looks(line string) bool {
	c := reg.Command(line)
	return c != nil && c.Looks
}

// example is a line to begin with, for whoever writes: an athlete has little to do with the first command.
func (reg *Registry) example(l *Lang) string {
	own := l.Self.ID != 0
	i := slices.IndexFunc(reg.list, func(c *Command) bool { return !own && c.Needs == rehab.LogMedical || own && c.Self })
	return reg.list[max(i, 0)].Example(own)
}

// NewRegistry checks every declaration and reports every fault of all of them together.
func NewRegistry(list ...*Command) (*Registry, error) {
	reg := &Registry{list: list}
	var faults []error
	seen := map[string]string{}
	for _, c := range list {
		fault := func(format string, args ...any) {
			faults = append(faults, fmt.Errorf("command %q: "+format, append([]any{c.Name}, args...)...))
		}
		if len(c.ways) == 0 {
			fault("has no name")
		}
		for _, w := range c.ways {
			if by, taken := seen[strings.Join(w.words, " ")]; taken {
				fault("%q already means %s", strings.Join(w.words, " "), by)
			}
			seen[strings.Join(w.words, " ")] = c.Name
		}
		if !slices.Contains(rehab.Capabilities(), c.Needs) {
			fault("needs an unknown capability %q", c.Needs)
		}
		if !slices.Contains([]Privacy{MedicalOnly, Staff, OwnOnly, Anyone}, c.Privacy) {
			fault("has no privacy")
		}
		if c.Summary == "" {
			fault("has no summary")
		}
		if len(c.Examples) == 0 {
			fault("has no example")
		}
		faults = append(faults, c.fieldFaults()...)
		reg.names = append(reg.names, c.ways...)
	}
	return reg, errors.Join(faults...)
}

func (c *Command) fieldFaults() []error {
	var faults []error
	seen := map[string]bool{}
	for _, f := range c.begin().Fields {
		switch {
		case f.Name == "" || f.match == nil || f.text == nil:
			faults = append(faults, fmt.Errorf("command %q: field %q is not complete", c.Name, f.Name))
		case seen[f.Name]:
			faults = append(faults, fmt.Errorf("command %q: field %q is there twice", c.Name, f.Name))
		case f.Name == "athlete" && c.subject == nil:
			faults = append(faults, fmt.Errorf("command %q: has an athlete but no subject", c.Name))
		}
		seen[f.Name] = true
	}
	return faults
}

// Commands lists the commands in order.
func (reg *Registry) Commands() []*Command { return reg.list }

// at finds the command named at the reader's position. One about the squad as a whole is named first
// or not at all: behind who, match and training say where a sprain happened.
func (reg *Registry) at(r *reader) *Command {
	name, n := longest(r, reg.names)
	if n == 0 {
		return nil
	}
	for _, c := range reg.list {
		if c.Name == name && (r.at == 0 || !c.Squad) {
			return c
		}
	}
	return nil
}

// All is every command, in the order help lists them.
func All() (*Registry, error) {
	return NewRegistry(Help, Sprain, Screen, LiftHold, Test, Morning, Ready, AdvanceCmd, StayCmd, StepBackCmd, ReturnCmd, PlayOnCmd, Support,
		Plan, DrillCmd, DrillsCmd, Done, PreventionCmd, Effort, Load, AcceptProtocol, Wrong, HistoryCmd, OutlookCmd, Clinic, BaselineCmd, UnavailableCmd,
		ModifiedCmd, LimitCmd, AvailableCmd, SeenCmd, Report, Who,
		TrainingCmd, MatchCmd, MoveCmd, CancelCmd, SessionsCmd, CalendarCmd, AttendedCmd, MinutesCmd, ExposureCmd, RemindCmd, RemindersCmd,
		Undo, UndoMessage, Keep, Drop, NoteCmd, Past, Roster, Add, Change, Remove, Import,
		InviteCmd, LinkMe, LinkCmd, NotThem, Unlink, ConsentCmd, Withdraw, GuardianCmd, MyData, SetUp, Settings)
}
