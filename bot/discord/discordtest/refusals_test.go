package discordtest

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/bwmarrin/discordgo"
)

func letters(n int) string { return strings.Repeat("é", n) }

func times(n int, f func(i int) any) []any {
	var out []any
	for i := range n {
		out = append(out, f(i))
	}
	return out
}

func buttons(n int) func(int) any {
	return func(row int) any {
		return obj{"type": 1, "components": times(n, func(i int) any {
			return obj{"type": 2, "style": 1, "label": "Go", "custom_id": fmt.Sprint(row, "-", i)}
		})}
	}
}

func button(with obj) obj {
	b := obj{"type": 2, "style": 1, "label": "Go", "custom_id": "go"}
	for k, v := range with {
		b[k] = v
	}
	return obj{"content": "x", "components": []any{obj{"type": 1, "components": []any{b}}}}
}

func menu(with obj) obj {
	b := obj{"type": 3, "custom_id": "pick", "options": []any{obj{"label": "A", "value": "a"}}}
	for k, v := range with {
		b[k] = v
	}
	return obj{"content": "x", "components": []any{obj{"type": 1, "components": []any{b}}}}
}

func option1(i int) any { return obj{"label": "A", "value": fmt.Sprint(i)} }

// Limits of Create Message, Embed Limits, Component Reference and Allowed Mentions. Each row is one past the
// limit; its twin in TestWhatJustFits is at it.
func TestMessagesRefused(t *testing.T) {
	t.Parallel()
	w, s, room := quiet(t)
	for _, c := range []struct {
		name  string
		body  obj
		code  int
		field string
	}{
		{"empty", obj{"content": ""}, 50006, ""},
		{"white space", obj{"content": " \n "}, 50006, ""},
		{"buttons alone", obj{"components": []any{buttons(1)(0)}}, 50006, ""},
		{"long text", obj{"content": letters(2001)}, 50035, "content"},
		{"text that is a number", obj{"content": 7}, 50035, "content"},
		{"long nonce", obj{"content": "x", "nonce": letters(26)}, 50035, "nonce"},
		{"11 embeds", obj{"embeds": times(11, func(int) any { return obj{"title": "x"} })}, 50035, "embeds"},
		{"empty embed", obj{"embeds": []any{obj{}}}, 50035, "embeds.0.description"},
		{"long description", obj{"embeds": []any{obj{"description": letters(4097)}}}, 50035, "embeds.0.description"},
		{"long title", obj{"embeds": []any{obj{"title": letters(257)}}}, 50035, "embeds.0.title"},
		{"26 fields", obj{"embeds": []any{obj{"fields": times(26, func(int) any { return obj{"name": "a", "value": "b"} })}}}, 50035, "embeds.0.fields"},
		{"field without value", obj{"embeds": []any{obj{"fields": []any{obj{"name": "a", "value": " "}}}}}, 50035, "embeds.0.fields.0.value"},
		{"long field", obj{"embeds": []any{obj{"fields": []any{obj{"name": "a", "value": letters(1025)}}}}}, 50035, "embeds.0.fields.0.value"},
		{"long footer", obj{"embeds": []any{obj{"footer": obj{"text": letters(2049)}}}}, 50035, "embeds.0.footer.text"},
		{"embeds of 6001", obj{"embeds": []any{obj{"description": letters(4000)}, obj{"description": letters(2001)}}}, 50035, "embeds"},
		{"6 rows", obj{"content": "x", "components": times(6, buttons(1))}, 50035, "components"},
		{"6 buttons", obj{"content": "x", "components": times(1, buttons(6))}, 50035, "components.0.components"},
		{"row without buttons", obj{"content": "x", "components": times(1, buttons(0))}, 50035, "components.0.components"},
		{"button outside a row", obj{"content": "x", "components": []any{obj{"type": 2, "custom_id": "a", "label": "A", "style": 1}}}, 50035, "components.0.type"},
		{"custom id twice", obj{"content": "x", "components": []any{buttons(1)(0), buttons(1)(0)}}, 50035, "components.1.components.0.custom_id"},
		{"no custom id", button(obj{"custom_id": ""}), 50035, "components.0.components.0.custom_id"},
		{"long custom id", button(obj{"custom_id": letters(101)}), 50035, "components.0.components.0.custom_id"},
		{"long label", button(obj{"label": letters(81)}), 50035, "components.0.components.0.label"},
		{"no label", button(obj{"label": ""}), 50035, "components.0.components.0"},
		{"no style", button(obj{"style": 0}), 50035, "components.0.components.0.style"},
		{"link without url", button(obj{"style": 5}), 50035, "components.0.components.0.url"},
		{"text input in a message", button(obj{"type": 4}), 50035, "components.0.components.0.type"},
		{"26 options", menu(obj{"options": times(26, option1)}), 50035, "components.0.components.0.options"},
		{"no options", menu(obj{"options": []any{}}), 50035, "components.0.components.0.options"},
		{"option twice", menu(obj{"options": []any{option1(1), option1(1)}}), 50035, "components.0.components.0.options.1.value"},
		{"long option", menu(obj{"options": []any{obj{"label": letters(101), "value": "a"}}}), 50035, "components.0.components.0.options.0.label"},
		{"long placeholder", menu(obj{"placeholder": letters(151)}), 50035, "components.0.components.0.placeholder"},
		{"more to choose than there is", menu(obj{"max_values": 2}), 50035, "components.0.components.0.max_values"},
		{"mentions both ways", obj{"content": "x", "allowed_mentions": obj{"parse": []string{"users"}, "users": []string{"1"}}}, 50035, "allowed_mentions"},
		{"mentions of no kind", obj{"content": "x", "allowed_mentions": obj{"parse": []string{"all"}}}, 50035, "allowed_mentions.parse"},
		{"reply to nothing", obj{"content": "x", "message_reference": obj{"message_id": "7"}}, 50035, "message_reference"},
	} {
		_, err := s.Request("POST", discordgo.EndpointChannelMessages(room.ID), c.body)
		if got, at := faultOf(t, err); got != c.code || c.field != "" && !slices.Contains(at, c.field) {
			t.Errorf("%s: got %d at %v, want %d at %q", c.name, got, at, c.code, c.field)
		}
	}
	if n := len(room.Messages()); n != 0 {
		t.Errorf("%d refused messages stand in the channel", n)
	}
	noViolations(t, w)
}

func TestWhatJustFits(t *testing.T) {
	t.Parallel()
	_, s, room := quiet(t)
	for name, body := range map[string]obj{
		"text": {"content": letters(2000)}, "nonce": {"content": "x", "nonce": letters(25)},
		"embeds":      {"embeds": times(10, func(int) any { return obj{"title": "x"} })},
		"description": {"embeds": []any{obj{"description": letters(4096)}, obj{"description": letters(1904)}}},
		"rows":        {"content": "x", "components": times(5, buttons(5))},
		"button":      button(obj{"custom_id": letters(100), "label": letters(80)}),
		"menu":        menu(obj{"options": times(25, option1), "placeholder": letters(150), "max_values": 25}),
		"mentions":    {"content": "x", "allowed_mentions": obj{"parse": []string{}, "users": []string{"1"}}},
		"white space": {"content": letters(1999) + "x   "},
	} {
		if _, err := s.Request("POST", discordgo.EndpointChannelMessages(room.ID), body); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// quiet is a world with one channel and a session that is not connected to the gateway.
func quiet(t *testing.T) (*World, *discordgo.Session, *Channel) {
	t.Helper()
	w := New(t)
	room := w.Guild("harbour").Channel("treatment-room")
	return w, client(t, w, chatIntents), room
}

// faultOf is an API error's code and the fields it finds fault with.
func faultOf(t *testing.T, err error) (int, []string) {
	t.Helper()
	var rest *discordgo.RESTError
	if !errors.As(err, &rest) {
		return 0, nil
	}
	var body struct {
		Code   int
		Errors obj
	}
	if json.Unmarshal(rest.ResponseBody, &body) != nil {
		t.Errorf("an error that is not JSON: %s", rest.ResponseBody)
	}
	var paths []string
	var walk func(string, obj)
	walk = func(at string, o obj) {
		for key, v := range o {
			if _, leaf := v.([]any); leaf && key == "_errors" {
				paths = append(paths, at)
			} else if deeper, isObj := v.(obj); isObj {
				walk(join(at, key), deeper)
			}
		}
	}
	walk("", body.Errors)
	return body.Code, paths
}

// Opcodes and Status Codes, JSON Error Codes, on what the bot may reach.
func TestAccessRefused(t *testing.T) {
	t.Parallel()
	w := New(t)
	g := w.Guild("harbour")
	room, hidden, mute, bare, past := g.Channel("room"), g.PrivateChannel("hidden"), g.Channel("mute"), g.Channel("bare"), g.Channel("past")
	hidden.Overwrite(w.Bot(), 0, ViewChannel)
	mute.Overwrite(w.Bot(), 0, SendMessages)
	bare.Overwrite(w.Bot(), 0, EmbedLinks|AttachFiles|ReadHistory)
	gone, shut, stranger, other := g.Channel("gone"), g.Member("shut"), w.User("stranger"), w.Guild("other")
	gone.Delete()
	shut.CloseDMs()
	elsewhere := other.Channel("elsewhere")
	other.Expel()
	mere := g.Member("mere")
	said, own := mere.Says(room, "hello"), mere.Says(mere.DM(), "hello")
	before := mere.Says(bare, "hello")
	s := client(t, w, chatIntents)
	bot := client(t, w, chatIntents)
	bot.Token = "Bot wrong"

	send := func(c *Channel) error { _, err := s.ChannelMessageSend(c.ID, "x"); return err }
	invalid := 0
	for name, c := range map[string]struct {
		err          error
		status, code int
	}{
		"wrong token":          {second(bot.Channel(room.ID)), 401, 0},
		"no such route":        {second(s.ChannelMessagesPinned(room.ID)), 404, 0},
		"no such channel":      {second(s.ChannelMessageSend("7", "x")), 404, 10003},
		"deleted channel":      {send(gone), 404, 10003},
		"hidden channel":       {send(hidden), 403, 50001},
		"reading hidden":       {second(s.ChannelMessages(hidden.ID, 5, "", "", "")), 403, 50001},
		"not allowed to send":  {send(mute), 403, 50013},
		"embeds not allowed":   {second(s.ChannelMessageSendEmbed(bare.ID, &discordgo.MessageEmbed{Title: "x"})), 403, 50013},
		"files not allowed":    {second(s.ChannelFileSend(bare.ID, "a.txt", strings.NewReader("x"))), 403, 50013},
		"reply without past":   {second(s.ChannelMessageSendReply(bare.ID, "x", &discordgo.MessageReference{MessageID: before})), 403, 160002},
		"one message, no past": {second(s.ChannelMessage(bare.ID, before)), 403, 50013},
		"guild it left":        {second(s.Guild(other.ID)), 404, 10004},
		"channel it left":      {send(elsewhere), 403, 50001},
		"no such guild":        {second(s.GuildRoles("7")), 404, 10004},
		"no such member":       {second(s.GuildMember(g.ID, stranger.ID)), 404, 10007},
		"no such user":         {second(s.GuildMember(g.ID, "7")), 404, 10013},
		"listing members":      {second(s.GuildMembers(g.ID, "", 10)), 403, 50001},
		"no such message":      {second(s.ChannelMessage(past.ID, "7")), 404, 10008},
		"message elsewhere":    {second(s.ChannelMessage(past.ID, said)), 404, 10008},
		"another's edited":     {second(s.ChannelMessageEdit(room.ID, said, "x")), 403, 50005},
		"another's deleted":    {s.ChannelMessageDelete(room.ID, said), 403, 50013},
		"theirs in a DM":       {s.ChannelMessageDelete(mere.DM().ID, own), 403, 50003},
		"DMs shut":             {send(shut.DM()), 403, 50007},
		"no guild in common":   {send(stranger.DM()), 403, 50278},
		"DM with nobody":       {second(s.UserChannelCreate("7")), 400, 50033},
		"DM with itself":       {second(s.UserChannelCreate(w.AppID())), 400, 50033},
		"101 messages":         {second(s.ChannelMessages(room.ID, 101, "", "", "")), 400, 50035},
		"commands of others":   {second(s.ApplicationCommands("7", "")), 404, 10002},
		"commands where not":   {second(s.ApplicationCommands(w.AppID(), other.ID)), 403, 50001},
		"no such command":      {s.ApplicationCommandDelete(w.AppID(), "", "7"), 404, 10063},
		"too large a file":     {second(s.ChannelFileSend(room.ID, "a", strings.NewReader(strings.Repeat("x", 10<<20+1)))), 413, 40005},
	} {
		t.Run(name, func(t *testing.T) { refusedWith(t, c.err, c.status, c.code) })
		if c.status == 401 || c.status == 403 {
			invalid++
		}
	}
	if v := w.Violations(); len(v) != 1 || !strings.Contains(v[0], "pins") {
		t.Errorf("violations %q, want the unknown route", v)
	}
	if n := w.InvalidRequests(); n != invalid {
		t.Errorf("%d invalid requests, want the %d answered with 401 or 403", n, invalid)
	}
}

func second[T any](_ T, err error) error { return err }
