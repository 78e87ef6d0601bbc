package discordtest

import (
	"encoding/json"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// Kinds of interaction (Interaction Object, Interaction Type).
const (
	kindCommand      = 2
	kindComponent    = 3
	kindAutocomplete = 4
	kindModal        = 5
)

// Answering times (Interaction Callback): the first answer within 3 seconds, the token for 15 minutes.
const (
	AnswerWithin = 3 * time.Second
	TokenLife    = 15 * time.Minute
)

// Interaction is one thing a person did with the bot's commands or components, and what came of it.
type Interaction struct {
	w       *World
	ID      string
	Token   string
	kind    int
	user    *User
	channel *Channel
	source  *message // whose component it was
	made    time.Time
	focused int // option type of an autocomplete

	answer    int // the type of the first answer; 0 for none yet
	original  *message
	deferred  bool // the original still shows "thinking"
	choices   []choice
	modal     *modal
	followUps []*message
}

// Opts are the options a person fills in, by name: string, int, float64, bool, *User, *Channel, *Role or File.
type Opts map[string]any

// interact makes an interaction and tells the bot (Gateway Events, Interaction Create: needs no intent).
func (u *User) interact(kind int, c *Channel, source *message, data obj) *Interaction {
	w := u.w
	i := &Interaction{w: w, ID: w.id(), kind: kind, user: u, channel: c, source: source, made: w.now}
	i.Token = "token-" + i.ID
	w.interactions[i.Token] = i
	o := obj{"id": i.ID, "application_id": w.appID, "type": kind, "data": data, "channel_id": c.ID, "channel": c.json(), "token": i.Token, "version": 1,
		"locale": "en-GB", "entitlements": []obj{}, "app_permissions": strconv.FormatInt(c.may(w.bot), 10)}
	if c.guild == nil {
		o["user"], o["context"] = u.json(), 1
		o["authorizing_integration_owners"] = obj{"0": "0"}
	} else {
		member := c.guild.memberJSON(u)
		member["permissions"] = strconv.FormatInt(c.may(u), 10)
		o["member"], o["guild_id"], o["guild_locale"], o["context"] = member, c.guild.ID, "en-GB", 0
		o["authorizing_integration_owners"] = obj{"0": c.guild.ID}
	}
	if source != nil {
		o["message"] = source.json(true)
	}
	w.dispatch(event{name: "INTERACTION_CREATE", data: o})
	return i
}

// Presses presses a button of a message the user sees.
func (u *User) Presses(messageID, customID string) *Interaction {
	u.w.t.Helper()
	return u.presses(messageID, customID, false)
}

// PressesLate presses a button that the message has or once had: on this phone an edit that took it away
// has not arrived yet.
func (u *User) PressesLate(messageID, customID string) *Interaction {
	u.w.t.Helper()
	return u.presses(messageID, customID, true)
}

func (u *User) presses(messageID, customID string, late bool) *Interaction {
	u.w.t.Helper()
	var i *Interaction
	u.w.change(func() {
		m, c := u.component(messageID, customID, late)
		if c.Type != typeButton {
			u.w.mistake("%q is not a button", customID)
		}
		i = u.interact(kindComponent, m.channel, m, obj{"custom_id": customID, "component_type": typeButton, "id": 1})
	})
	return i
}

// Selects chooses values in a select menu of strings.
func (u *User) Selects(messageID, customID string, values ...string) *Interaction {
	u.w.t.Helper()
	var i *Interaction
	u.w.change(func() {
		m, c := u.component(messageID, customID, false)
		if least, most := value(c.MinValues, 1), value(c.MaxValues, 1); c.Type != typeSelect || len(values) < least || len(values) > most {
			u.w.mistake("%q takes %d to %d choices, and must be a select of strings", customID, least, most)
		}
		for _, v := range values {
			if !slices.ContainsFunc(c.Options, func(o selectOption) bool { return o.Value == v }) {
				u.w.mistake("%q does not offer %q", customID, v)
			}
		}
		i = u.interact(kindComponent, m.channel, m, obj{"custom_id": customID, "component_type": typeSelect, "values": append([]string{}, values...), "id": 1})
	})
	return i
}

// component finds a component that the user can use, or late, one they could use before.
func (u *User) component(messageID, customID string, late bool) (*message, component) {
	m := u.w.message(messageID)
	if m == nil || !m.visibleTo(u) {
		u.w.mistake("%s sees no message %s", u.Name, messageID)
	}
	shown := rows(m.components)
	if late {
		shown = append(shown, rows(m.gone)...)
	}
	for _, row := range shown {
		for _, c := range row.Components {
			if c.CustomID == customID && !c.Disabled {
				return m, c
			}
		}
	}
	u.w.mistake("message %s has no component %q that works", messageID, customID)
	return nil, component{}
}

func rows(components []obj) []component {
	var rows []component
	_ = json.Unmarshal(encode(components), &rows) // it was checked when it came
	return rows
}

// Slash uses a slash command. Subcommands follow the name after a space ("player add").
func (u *User) Slash(c *Channel, name string, options Opts) *Interaction {
	u.w.t.Helper()
	var i *Interaction
	u.w.change(func() {
		i = u.interact(kindCommand, c, nil, u.fill(c, name, options, "").data)
	})
	return i
}

// Autocompletes types into an option that completes itself: partial is what stands there so far, options
// what was filled in before. The suggestions are in the interaction's Choices.
func (u *User) Autocompletes(c *Channel, name, focused, partial string, options Opts) *Interaction {
	u.w.t.Helper()
	var i *Interaction
	u.w.change(func() {
		all := maps.Clone(options)
		if all == nil {
			all = Opts{}
		}
		all[focused] = partial
		form := u.fill(c, name, all, focused)
		i = u.interact(kindAutocomplete, c, nil, form.data)
		i.focused = form.focused
	})
	return i
}

// Submits fills in the modal that an interaction was answered with, by the custom ids of its text inputs.
// Inputs left out keep the value the modal came with.
func (u *User) Submits(from *Interaction, values map[string]string) *Interaction {
	u.w.t.Helper()
	var i *Interaction
	u.w.change(func() {
		if from.modal == nil || from.user != u {
			u.w.mistake("%s has no modal to submit", u.Name)
		}
		rows, seen := []obj{}, 0
		for _, row := range from.modal.Components {
			in := row.Components[0]
			text, given := values[in.CustomID]
			if !given {
				text = in.Value
			} else {
				seen++
			}
			n := utf8.RuneCountInString(text)
			required := in.Required == nil || *in.Required
			if n == 0 && required || n > 0 && n < value(in.MinLength, 0) || n > value(in.MaxLength, 4000) {
				u.w.mistake("the app does not let %q be submitted as %q", in.CustomID, text)
			}
			rows = append(rows, obj{"type": typeRow, "id": 1, "components": []obj{{"type": typeInput, "id": 2, "custom_id": in.CustomID, "value": text}}})
		}
		if seen < len(values) {
			u.w.mistake("the modal does not have all of %v", values)
		}
		i = u.interact(kindModal, from.channel, from.source, obj{"custom_id": from.modal.CustomID, "components": rows})
		from.modal = nil
	})
	return i
}

// command finds a command as the user would in that channel: the guild's own before the global ones.
func (u *User) command(c *Channel, name string) *command {
	for _, scope := range []string{c.guildID(), ""} {
		for _, x := range u.w.commands[scope] {
			if x.Name == name && x.Type == 1 && x.usable(u, c) {
				return x
			}
		}
	}
	u.w.mistake("%s finds no command /%s in %s", u.Name, name, c.Name)
	return nil
}

func words(name string) (string, []string) {
	all := strings.Fields(name)
	return all[0], all[1:]
}
