package commands

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"footing/rehab"
)

type helpArgs struct{ Topic string }

// Help lists the commands, or explains one, or lists the words.
var Help = New(Def[helpArgs]{
	Name:          "help",
	Also:          []string{"?", "commands"},
	Summary:       "The commands; help sprain for one; help findings, help tests for the words.",
	Needs:         rehab.Ask,
	Privacy:       Anyone,
	BeforeConsent: true,
	Fields:        func(a *helpArgs) []Field { return []Field{Opt(Rest("topic", "a command, or words", &a.Topic))} },
	Examples:      []string{"help", "help sprain", "help findings", "help tests"},
	Run: func(_ context.Context, env *Env, a helpArgs) (Reply, error) {
		switch topic := Fold(strings.TrimSpace(a.Topic)); topic {
		case "":
			return lines(helpList(env)...), nil
		case "words":
			return lines("help findings: what an examination finds, and how to deny it.", "help tests: tests, their units and kit."), nil
		case "findings":
			return lines(findingWords(env.Lang)...), nil
		case "tests":
			return lines(testWords(env.Lang)...), nil
		default:
			return helpOne(env, topic)
		}
	},
})

func helpList(env *Env) []string {
	out := []string{"One line each: what, who, then facts in any order."}
	for _, c := range env.Registry.list {
		if rehab.May(env.Actor.Roles, c.Needs) && !slices.Contains([]*Command{Drop, Keep, UndoMessage, NotThem}, c) && (c != LinkMe || env.Actor.Athlete == 0) {
			out = append(out, c.Example(env.Lang.Self.ID != 0)+" — "+c.Summary)
		}
	}
	return append(out, "Typed wrong? Edit that message, it corrects the record; undo takes back your last one.",
		"More: help findings, help tests, or help and a command.")
}

func helpOne(env *Env, topic string) (Reply, error) {
	r := &reader{toks: tokens(clean(topic))}
	c := env.Registry.at(r)
	if c == nil {
		return Reply{}, refuse("There is no command “%s”. Type help for the list.", topic)
	}
	out := []string{c.Usage() + " — " + c.Summary}
	for _, f := range c.begin().Fields {
		if f.Usage != "" {
			out = append(out, f.Name+": "+f.Usage)
		}
	}
	for _, e := range c.Examples {
		out = append(out, "For example: "+e)
	}
	return lines(out...), nil
}

// findingWords lists the canonical findings and the other ways to say them.
func findingWords(l *Lang) []string {
	out := []string{"Findings (deny with no x, x -, x neg):"}
	for _, f := range l.Protocol.Findings {
		if f.Derived {
			continue
		}
		out = append(out, join(" / ", f.Yes[0], strings.Join(f.No, " / "))+also(f.Yes[1:]))
	}
	for _, g := range l.Protocol.Groups {
		out = append(out, fmt.Sprintf("%s = %s%s", g.Phrase, g.Says, also(g.Words)))
	}
	return out
}

// testWords lists the tests.
func testWords(l *Lang) []string {
	out := []string{"Tests (a pair is injured/other; x is a failed trial; not-done and why):"}
	for _, t := range l.Protocol.Tests {
		if len(t.Of) > 0 {
			continue
		}
		out = append(out, example(t)+" ("+join(", ", t.Unit, t.Kit, rehab.Prefixed("or ", t.Instead))+")"+also(t.Words[1:]))
	}
	return out
}

func also(ws []string) string {
	if len(ws) == 0 {
		return ""
	}
	return "; also " + strings.Join(ws, ", ")
}
