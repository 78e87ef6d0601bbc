package discordtest

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/bwmarrin/discordgo"
)

// Application Command Structure, Naming, Option Structure and Option Choice Structure.
func TestCommandsRefused(t *testing.T) {
	t.Parallel()
	w, s, _ := quiet(t)
	command := func(with obj) obj {
		c := obj{"name": "sprain", "description": "d"}
		for k, v := range with {
			c[k] = v
		}
		return c
	}
	withOption := func(options ...any) obj { return command(obj{"options": options}) }
	option := func(with obj) any {
		o := obj{"type": 3, "name": "o", "description": "d"}
		for k, v := range with {
			o[k] = v
		}
		return o
	}
	numbered := func(i int) any { return option(obj{"name": fmt.Sprint("o", i)}) }
	choiceOf := func(i int) any { return obj{"name": fmt.Sprint(i), "value": "v"} }
	for _, c := range []struct {
		name  string
		body  obj
		field string
	}{
		{"upper case", command(obj{"name": "Sprain"}), "name"},
		{"a space", command(obj{"name": "ankle sprain"}), "name"},
		{"long name", command(obj{"name": letters(33)}), "name"},
		{"no name", command(obj{"name": ""}), "name"},
		{"no description", command(obj{"description": ""}), "description"},
		{"long description", command(obj{"description": letters(101)}), "description"},
		{"menu with description", command(obj{"type": 3}), "description"},
		{"26 options", withOption(times(26, numbered)...), "options"},
		{"option name", withOption(option(obj{"name": "O"})), "options.0.name"},
		{"option twice", withOption(option(nil), option(nil)), "options.1.name"},
		{"option without description", withOption(option(obj{"description": ""})), "options.0.description"},
		{"no such type", withOption(option(obj{"type": 12})), "options.0.type"},
		{"required after optional", withOption(numbered(1), option(obj{"required": true})), "options.1"},
		{"26 choices", withOption(option(obj{"choices": times(26, choiceOf)})), "options.0.choices"},
		{"long choice", withOption(option(obj{"choices": []any{obj{"name": letters(101), "value": "a"}}})), "options.0.choices.0.name"},
		{"long value", withOption(option(obj{"choices": []any{obj{"name": "a", "value": letters(101)}}})), "options.0.choices.0.value"},
		{"choice of another type", withOption(option(obj{"choices": []any{obj{"name": "a", "value": 1}}})), "options.0.choices.0.value"},
		{"choice twice", withOption(option(obj{"choices": []any{choiceOf(1), choiceOf(1)}})), "options.0.choices.1.name"},
		{"choices and autocomplete", withOption(option(obj{"autocomplete": true, "choices": times(1, choiceOf)})), "options.0"},
		{"choices for a user", withOption(option(obj{"type": 6, "choices": times(1, choiceOf)})), "options.0"},
		{"lengths", withOption(option(obj{"max_length": 6001})), "options.0.max_length"},
		{"length of a number", withOption(option(obj{"type": 4, "max_length": 6})), "options.0.max_length"},
		{"range of a text", withOption(option(obj{"max_value": 6})), "options.0.max_value"},
		{"range upside down", withOption(option(obj{"type": 4, "min_value": 7, "max_value": 6})), "options.0.min_value"},
		{"subcommand beside an option", withOption(option(nil), option(obj{"type": 1, "name": "s"})), "options"},
		{"required subcommand", withOption(option(obj{"type": 1, "required": true})), "options.0.type"},
		{"group in a group", withOption(option(obj{"type": 2, "options": []any{option(obj{"type": 2})}})), "options.0.options.0.type"},
		{"more than 8000 letters", withOption(times(2, func(i int) any {
			return option(obj{"name": fmt.Sprint("o", i), "choices": times(25, func(i int) any { return obj{"name": fmt.Sprint(i, letters(90)), "value": letters(100)} })})
		})...), "name"},
	} {
		_, err := s.Request("POST", discordgo.EndpointApplicationGlobalCommands(w.AppID()), c.body)
		if got, at := faultOf(t, err); got != 50035 || !slices.Contains(at, c.field) {
			t.Errorf("%s: got %d at %v, want 50035 at %q", c.name, got, at, c.field)
		}
	}
	if got := w.Commands(nil); len(got) != 0 {
		t.Errorf("registered all the same: %v", got)
	}
}

func TestCommandsKept(t *testing.T) {
	t.Parallel()
	w, s, room := quiet(t)
	g := room.guild
	many := make([]*discordgo.ApplicationCommand, 100)
	for i := range many {
		many[i] = &discordgo.ApplicationCommand{Name: fmt.Sprint("c", i), Description: letters(100)}
	}
	all, err := s.ApplicationCommandBulkOverwrite(w.AppID(), g.ID, many)
	must(t, all, err)
	_, err = s.ApplicationCommandCreate(w.AppID(), g.ID, &discordgo.ApplicationCommand{Name: "more", Description: "d"})
	refusedWith(t, err, 400, 30032)
	_, err = s.ApplicationCommandBulkOverwrite(w.AppID(), g.ID, append(many, many[0]))
	refusedWith(t, err, 400, 30032)
	_, err = s.ApplicationCommandBulkOverwrite(w.AppID(), g.ID, []*discordgo.ApplicationCommand{many[0], many[0]})
	if code, at := faultOf(t, err); code != 50035 || !slices.Equal(at, []string{"1.name"}) {
		t.Errorf("twice the same name: %d at %v", code, at)
	}
	again, err := s.ApplicationCommandCreate(w.AppID(), g.ID, &discordgo.ApplicationCommand{Name: "c7", Description: "new"})
	if must(t, again, err).ID != all[7].ID || again.Description != "new" {
		t.Errorf("replaced: %+v", again)
	}
	edited, err := s.ApplicationCommandEdit(w.AppID(), g.ID, again.ID, &discordgo.ApplicationCommand{Name: "c7", Description: "newer"})
	if must(t, edited, err).ID != all[7].ID || edited.Description != "newer" {
		t.Errorf("edited: %+v", edited)
	}
	few, err := s.ApplicationCommandBulkOverwrite(w.AppID(), g.ID, many[3:4])
	if must(t, few, err)[0].ID != all[3].ID || !slices.Equal(w.Commands(g), []string{"c3"}) {
		t.Errorf("overwritten: %v", w.Commands(g))
	}
	if err := s.ApplicationCommandDelete(w.AppID(), g.ID, few[0].ID); err != nil {
		t.Error(err)
	}
	listed, err := s.ApplicationCommands(w.AppID(), g.ID)
	if len(must(t, listed, err)) != 0 {
		t.Errorf("listed: %v", listed)
	}
}

// strict is a test that may fail without failing this one.
type strict struct {
	testing.TB
	said string
}

func (s *strict) Helper() {}
func (s *strict) Fatalf(format string, args ...any) {
	s.said = fmt.Sprintf(format, args...)
	panic(s)
}

// What Discord's own app does not let a person do is a mistake of the test.
func TestMistakesOfATest(t *testing.T) {
	t.Parallel()
	w, s, room := quiet(t)
	g := room.guild
	mere, lou, muted := g.Member("mere"), g.Member("lou"), g.Member("muted")
	room.Overwrite(muted, 0, SendMessages|UseCommands)
	hidden := g.PrivateChannel("hidden", mere)
	manage := int64(ManageMessages)
	register(t, w, s, sprainTest, &discordgo.ApplicationCommand{Name: "staff", Description: "d", DefaultMemberPermissions: &manage})
	m, err := s.ChannelMessageSendComplex(room.ID, &discordgo.MessageSend{Content: "x", Components: []discordgo.MessageComponent{
		discordgo.ActionsRow{Components: []discordgo.MessageComponent{discordgo.Button{Label: "Go", CustomID: "go"}, discordgo.Button{Label: "Off", CustomID: "off", Disabled: true}}},
		discordgo.ActionsRow{Components: []discordgo.MessageComponent{discordgo.SelectMenu{CustomID: "pick", Options: []discordgo.SelectMenuOption{{Label: "A", Value: "a"}}}}}}})
	must(t, m, err)
	secret := mere.Says(hidden, "x")
	fine := Opts{"athlete": "7", "side": "left"}
	with := func(name string, v any) Opts {
		o := Opts{name: v}
		for k, v := range fine {
			if _, set := o[k]; !set {
				o[k] = v
			}
		}
		return o
	}
	for name, do := range map[string]func(){
		"speaking where muted":       func() { muted.Says(room, "x") },
		"speaking where unseen":      func() { lou.Says(hidden, "x") },
		"saying nothing":             func() { lou.Says(room, " ") },
		"editing another's":          func() { lou.Edits(secret, "x") },
		"deleting another's":         func() { lou.Deletes(m.ID) },
		"a button that is not there": func() { lou.Presses(m.ID, "stop") },
		"a button that is off":       func() { lou.Presses(m.ID, "off") },
		"pressing a menu":            func() { lou.Presses(m.ID, "pick") },
		"choosing what is not there": func() { lou.Selects(m.ID, "pick", "b") },
		"choosing nothing":           func() { lou.Selects(m.ID, "pick") },
		"no such command":            func() { lou.Slash(room, "squad", nil) },
		"a command for staff":        func() { lou.Slash(room, "staff", nil) },
		"commands not allowed":       func() { muted.Slash(room, "sprain", fine) },
		"a required option left out": func() { lou.Slash(room, "sprain", Opts{"athlete": "7"}) },
		"no such option":             func() { lou.Slash(room, "sprain", with("age", 7)) },
		"no such choice":             func() { lou.Slash(room, "sprain", with("side", "middle")) },
		"past the range":             func() { lou.Slash(room, "sprain", with("pain", 11)) },
		"half a number":              func() { lou.Slash(room, "sprain", with("pain", 1.5)) },
		"past the length":            func() { lou.Slash(room, "sprain", with("note", letters(21))) },
		"text for a user":            func() { lou.Slash(room, "sprain", with("seen-by", "mere")) },
		"no autocomplete":            func() { lou.Autocompletes(room, "sprain", "note", "x", nil) },
		"no modal":                   func() { lou.Submits(lou.Presses(m.ID, "go"), nil) },
	} {
		w.t = &strict{TB: t}
		if func() (failed bool) {
			defer func() { failed = recover() == any(w.t) }()
			do()
			return false
		}() == false {
			t.Errorf("%s: allowed", name)
		} else if said := w.t.(*strict).said; !strings.HasPrefix(said, "discordtest: ") {
			t.Errorf("%s: said %q", name, said)
		}
	}
	w.t = t
	lou.Slash(room, "sprain", with("pain", 10))
}
