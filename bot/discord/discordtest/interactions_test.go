package discordtest

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"
)

// asSent is the interaction with what the library needs to answer it.
func (i *Interaction) asSent() *discordgo.Interaction {
	return &discordgo.Interaction{ID: i.ID, Token: i.Token, AppID: i.w.appID}
}

func register(t *testing.T, w *World, s *discordgo.Session, commands ...*discordgo.ApplicationCommand) {
	t.Helper()
	_, err := s.ApplicationCommandBulkOverwrite(w.AppID(), "", commands)
	must(t, 0, err)
}

var (
	one        = 1
	sprainTest = &discordgo.ApplicationCommand{Name: "sprain", Description: "Log an ankle sprain.", Options: []*discordgo.ApplicationCommandOption{
		{Type: 3, Name: "athlete", Description: "Who", Required: true, Autocomplete: true},
		{Type: 3, Name: "side", Description: "Which ankle", Required: true, Choices: []*discordgo.ApplicationCommandOptionChoice{{Name: "Left", Value: "left"}, {Name: "Right", Value: "right"}}},
		{Type: 4, Name: "pain", Description: "0 to 10", MaxValue: 10},
		{Type: 6, Name: "seen-by", Description: "Who saw it"},
		{Type: 3, Name: "note", Description: "Note", MinLength: &one, MaxLength: 20},
	}}
)

// One of each kind through the gateway and back: a slash command that completes itself, a deferred answer,
// buttons, a select menu and a modal.
func TestInteractionsRoundTrip(t *testing.T) {
	t.Parallel()
	w := New(t)
	g := w.Guild("harbour")
	room := g.Channel("physio")
	mere, lou := g.Member("mere", g.Role("medic")), g.Member("lou")
	s := client(t, w, chatIntents)
	s.AddHandler(func(s *discordgo.Session, i *discordgo.InteractionCreate) {
		r := &discordgo.InteractionResponse{}
		switch i.Type {
		case discordgo.InteractionApplicationCommandAutocomplete:
			typed := i.ApplicationCommandData().Options[0]
			if !typed.Focused {
				typed = nil
			}
			r.Type, r.Data = 8, &discordgo.InteractionResponseData{Choices: []*discordgo.ApplicationCommandOptionChoice{{Name: typed.StringValue() + "!", Value: "7"}}}
		case discordgo.InteractionApplicationCommand:
			r.Type, r.Data = 5, &discordgo.InteractionResponseData{Flags: discordgo.MessageFlagsEphemeral}
		case discordgo.InteractionMessageComponent:
			r.Type, r.Data = 9, &discordgo.InteractionResponseData{CustomID: "why", Title: "Why", Components: []discordgo.MessageComponent{
				discordgo.ActionsRow{Components: []discordgo.MessageComponent{discordgo.TextInput{CustomID: "reason", Label: "Reason", Style: 1, Required: true, MaxLength: 10}}}}}
			if d := i.MessageComponentData(); len(d.Values) > 0 {
				r.Type, r.Data = 7, &discordgo.InteractionResponseData{Content: "picked " + d.Values[0]}
			}
		case discordgo.InteractionModalSubmit:
			in := i.ModalSubmitData().Components[0].(*discordgo.ActionsRow).Components[0].(*discordgo.TextInput)
			r.Type, r.Data = 4, &discordgo.InteractionResponseData{Content: in.CustomID + "=" + in.Value}
		}
		_ = s.InteractionRespond(i.Interaction, r)
		if i.Type == discordgo.InteractionApplicationCommand {
			d := i.ApplicationCommandData()
			text := d.GetOption("athlete").StringValue() + d.GetOption("side").StringValue() + d.Resolved.Users[d.GetOption("seen-by").Value.(string)].Username + i.Member.User.Username
			_, _ = s.InteractionResponseEdit(i.Interaction, &discordgo.WebhookEdit{Content: &text, Components: &[]discordgo.MessageComponent{
				discordgo.ActionsRow{Components: []discordgo.MessageComponent{discordgo.Button{Label: "Why", CustomID: "ask"}}},
				discordgo.ActionsRow{Components: []discordgo.MessageComponent{discordgo.SelectMenu{CustomID: "pick", Options: []discordgo.SelectMenuOption{{Label: "A", Value: "a"}}}}}}})
		}
	})
	open(t, w, s)
	register(t, w, s, sprainTest)

	typing := mere.Autocompletes(room, "sprain", "athlete", "me", nil)
	w.Wait("suggestions", func() bool { return len(typing.Choices()) == 1 && typing.Choices()[0].Name == "me!" })

	slash := mere.Slash(room, "sprain", Opts{"athlete": "7", "side": "Left", "pain": 4, "seen-by": lou})
	w.Wait("the answer", func() bool { m, ok := slash.Answer(); return ok && m.Ephemeral && m.Content == "7leftloumere" })
	if len(room.Messages()) != 0 || len(lou.Sees(room)) != 0 || len(mere.Sees(room)) != 1 {
		t.Error("the ephemeral answer is not mere's alone")
	}
	answer, _ := slash.Answer()
	if got := answer.Buttons(); !slices.Equal(got, []string{"ask", "pick"}) {
		t.Errorf("components: %v", got)
	}
	press := mere.Presses(answer.ID, "ask")
	w.Wait("the modal", func() bool { title, in, ok := press.Modal(); return ok && title == "Why" && in[0] == "reason" })
	submit := mere.Submits(press, map[string]string{"reason": "fell"})
	w.Wait("the modal's answer", func() bool { return room.Last().Content == "reason=fell" })
	mere.Selects(answer.ID, "pick", "a")
	w.Wait("the update", func() bool { m, _ := slash.Answer(); return m.Content == "picked a" && len(m.Rows) == 0 })
	if m, ok := submit.Answer(); !ok || m.Ephemeral {
		t.Errorf("the modal was answered with %+v", m)
	}
	noViolations(t, w)
}

// Interaction Callback: one first answer within 3 seconds, then 15 minutes of follow-ups.
func TestInteractionDeadlines(t *testing.T) {
	t.Parallel()
	w, s, room := quiet(t)
	lou := room.guild.Member("lou")
	register(t, w, s, &discordgo.ApplicationCommand{Name: "squad", Description: "d"})
	say := &discordgo.InteractionResponse{Type: 4, Data: &discordgo.InteractionResponseData{Content: "x"}}
	text := "y"
	edit := &discordgo.WebhookEdit{Content: &text}

	late := lou.Slash(room, "squad", nil)
	w.Advance(AnswerWithin + time.Millisecond)
	refusedWith(t, s.InteractionRespond(late.asSent(), say), 404, 10062)
	if !late.Failed() {
		t.Error("lou does not read that it failed")
	}
	refusedWith(t, s.InteractionRespond(&discordgo.Interaction{ID: "7", Token: "7"}, say), 404, 10062)

	i := lou.Slash(room, "squad", nil)
	_, err := s.InteractionResponseEdit(i.asSent(), edit)
	refusedWith(t, err, 404, 10015)
	w.Advance(AnswerWithin)
	if err := s.InteractionRespond(i.asSent(), say); err != nil {
		t.Error(err)
	}
	refusedWith(t, s.InteractionRespond(i.asSent(), say), 400, 40060)
	w.Advance(TokenLife - AnswerWithin)
	if _, err := s.InteractionResponseEdit(i.asSent(), edit); err != nil || room.Last().Content != "y" {
		t.Errorf("at 15 minutes: %v", err)
	}
	_, err = s.FollowupMessageCreate(i.asSent(), true, &discordgo.WebhookParams{Content: "z"})
	must(t, 0, err)
	if f := i.FollowUps(); len(f) != 1 || f[0].Content != "z" {
		t.Errorf("follow-ups: %v", f)
	}
	if err := s.InteractionResponseDelete(i.asSent()); err != nil {
		t.Error(err)
	}
	_, err = s.InteractionResponse(i.asSent())
	refusedWith(t, err, 404, 10008)
	w.Advance(time.Millisecond)
	_, err = s.FollowupMessageCreate(i.asSent(), true, &discordgo.WebhookParams{Content: "z"})
	refusedWith(t, err, 401, 50027)
}

// Create Followup Message: straight after a deferral it fills in the deferred message, whose flags stay.
func TestFollowUpAfterDeferral(t *testing.T) {
	t.Parallel()
	w, s, room := quiet(t)
	lou := room.guild.Member("lou")
	register(t, w, s, &discordgo.ApplicationCommand{Name: "squad", Description: "d"})
	i := lou.Slash(room, "squad", nil)
	if err := s.InteractionRespond(i.asSent(), &discordgo.InteractionResponse{Type: 5}); err != nil {
		t.Fatal(err)
	}
	if !room.Last().Thinking {
		t.Error("nobody sees it thinking")
	}
	for _, text := range []string{"a", "b"} {
		_, err := s.FollowupMessageCreate(i.asSent(), true, &discordgo.WebhookParams{Content: text + lou.Mention(), Flags: discordgo.MessageFlagsEphemeral})
		must(t, 0, err)
	}
	if all := lou.Sees(room); len(all) != 2 || all[0].Ephemeral || all[0].Thinking || !all[0].Edited.IsZero() || !all[1].Ephemeral {
		t.Errorf("lou sees %+v", all)
	}
	if p := w.Pings(); len(p) != 1 {
		t.Errorf("rang %v, want the first alone: ephemeral messages ring nobody", p)
	}
}

func TestAnswersRefused(t *testing.T) {
	t.Parallel()
	w, s, room := quiet(t)
	lou := room.guild.Member("lou")
	register(t, w, s, sprainTest, &discordgo.ApplicationCommand{Name: "squad", Description: "d"})
	m, err := s.ChannelMessageSendComplex(room.ID, &discordgo.MessageSend{Content: "x", Components: []discordgo.MessageComponent{
		discordgo.ActionsRow{Components: []discordgo.MessageComponent{discordgo.Button{Label: "Go", CustomID: "go"}}}}})
	must(t, m, err)
	input := func(with obj) any {
		in := obj{"type": 4, "custom_id": "a", "label": "A", "style": 1}
		for k, v := range with {
			in[k] = v
		}
		return obj{"type": 1, "components": []any{in}}
	}
	ask := func(rows ...any) obj {
		return obj{"type": 9, "data": obj{"custom_id": "m", "title": "T", "components": rows}}
	}
	slash := func() *Interaction { return lou.Slash(room, "squad", nil) }
	press := func() *Interaction { return lou.Presses(m.ID, "go") }
	typing := func() *Interaction { return lou.Autocompletes(room, "sprain", "athlete", "x", nil) }
	submit := func() *Interaction {
		i := press()
		_, err := s.Request("POST", discordgo.EndpointInteractionResponse(i.ID, i.Token), ask(input(nil)))
		must(t, 0, err)
		return lou.Submits(i, map[string]string{"a": "b"})
	}
	suggestion := func(i int) any { return obj{"name": strings.Repeat("x", i+1), "value": "v"} }
	for _, c := range []struct {
		name  string
		of    func() *Interaction
		body  obj
		code  int
		field string
	}{
		{"pong", slash, obj{"type": 1}, 50035, "type"},
		{"update of a command", slash, obj{"type": 7, "data": obj{"content": "x"}}, 50035, "type"},
		{"suggestions for a command", slash, obj{"type": 8}, 50035, "type"},
		{"message for an autocomplete", typing, obj{"type": 4, "data": obj{"content": "x"}}, 50035, "type"},
		{"modal after a modal", submit, ask(input(nil)), 50035, "type"},
		{"empty", slash, obj{"type": 4, "data": obj{"content": ""}}, 50006, ""},
		{"no data", press, obj{"type": 4}, 50006, ""},
		{"long", slash, obj{"type": 4, "data": obj{"content": letters(2001)}}, 50035, "data.content"},
		{"long update", press, obj{"type": 7, "data": obj{"content": letters(2001)}}, 50035, "data.content"},
		{"26 suggestions", typing, obj{"type": 8, "data": obj{"choices": times(26, suggestion)}}, 50035, "data.choices"},
		{"suggestion of another type", typing, obj{"type": 8, "data": obj{"choices": []any{obj{"name": "a", "value": 7}}}}, 50035, "data.choices.0.value"},
		{"6 rows", slash, ask(times(6, func(i int) any { return input(obj{"custom_id": letters(i + 1)}) })...), 50035, "data.components"},
		{"no rows", slash, ask(), 50035, "data.components"},
		{"no title", slash, obj{"type": 9, "data": obj{"custom_id": "m", "components": []any{input(nil)}}}, 50035, "data.title"},
		{"long title", slash, obj{"type": 9, "data": obj{"custom_id": "m", "title": letters(46), "components": []any{input(nil)}}}, 50035, "data.title"},
		{"input twice", slash, ask(input(nil), input(nil)), 50035, "data.components.1.components.0.custom_id"},
		{"long label", slash, ask(input(obj{"label": letters(46)})), 50035, "data.components.0.components.0.label"},
		{"no style", slash, ask(input(obj{"style": 0})), 50035, "data.components.0.components.0.style"},
		{"long placeholder", slash, ask(input(obj{"placeholder": letters(101)})), 50035, "data.components.0.components.0.placeholder"},
		{"too long to fill in", slash, ask(input(obj{"max_length": 4001})), 50035, "data.components.0.components.0.max_length"},
		{"button in a modal", slash, ask(input(obj{"type": 2})), 50035, "data.components.0.components.0.type"},
	} {
		i := c.of()
		_, err := s.Request("POST", discordgo.EndpointInteractionResponse(i.ID, i.Token), c.body)
		if got, at := faultOf(t, err); got != c.code || c.field != "" && !slices.Contains(at, c.field) {
			t.Errorf("%s: got %d at %v, want %d at %q", c.name, got, at, c.code, c.field)
		}
		if i.Answered() {
			t.Errorf("%s: counts as answered", c.name)
		}
	}
}
