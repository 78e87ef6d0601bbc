package discord

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/bwmarrin/discordgo"

	"footing/bot"
	"footing/commands"
)

// interaction gives an interaction its first answer at once, and hands it over. The answer is on its way
// meanwhile: the gateway's reader, which calls this, waits for nothing.
func (a *Adapter) interaction(ctx context.Context, i *discordgo.InteractionCreate) {
	in, ok := a.inbound(i)
	if !ok {
		return
	}
	switch i.Type {
	case discordgo.InteractionApplicationCommandAutocomplete:
		go a.suggest(ctx, i, in)
		return
	case discordgo.InteractionApplicationCommand:
		in.Kind, in.Command = bot.Created, i.ApplicationCommandData().Name
		in.Options = options(i.ApplicationCommandData().Options)
		if field, missing := a.asksText(in); missing {
			go a.ask(ctx, i, modal(in, field))
			return
		}
	case discordgo.InteractionModalSubmit:
		in.Kind, in.Command, in.Options = bot.Created, "", nil
		if !submitted(i.ModalSubmitData(), &in) {
			return
		}
	case discordgo.InteractionMessageComponent:
		in.Kind, in.Token = bot.Pressed, i.MessageComponentData().CustomID
	default:
		return
	}
	in.Message = "i" + i.ID
	in.Ready = a.promises(ctx, i, in).mayGoOn
	if f := attached(i); f != nil {
		in.Fetch = a.fetching(f)
	}
	a.submit(in)
}

// ask shows a form.
func (a *Adapter) ask(ctx context.Context, i *discordgo.InteractionCreate, form discordgo.InteractionResponse) {
	defer a.bot.Recover("gateway")
	if err := a.respond(ctx, i, form); err != nil {
		a.Log.Warn("no form could be shown", "error", explain(err))
	}
}

// inbound is what all interactions have in common.
func (a *Adapter) inbound(i *discordgo.InteractionCreate) (bot.Inbound, bool) {
	sent, err := sentAt(i.ID)
	in := bot.Inbound{Team: i.GuildID, Channel: i.ChannelID, Answer: i.Token, Sent: sent}
	user := i.User
	if i.Member != nil {
		const manages = discordgo.PermissionAdministrator | discordgo.PermissionManageGuild
		if user = i.Member.User; user == nil {
			return in, false
		}
		in.ChatRoles = a.known(i.GuildID, i.Member)
		_, in.Owns = a.rights(i.GuildID, user.ID, in.ChatRoles)
		in.Manager = in.Owns || i.Member.Permissions&manages != 0
	}
	if user == nil || err != nil {
		return in, false
	}
	in.Author, in.Name = user.ID, display(user, i.Member)
	if i.GuildID == "" {
		in.Place = bot.DirectTo(user.ID)
	}
	return in, true
}

// alone reports whether only whoever asked may see the answer: everywhere but in direct messages and in the
// team's own rooms.
func (a *Adapter) alone(ctx context.Context, in bot.Inbound) bool {
	if in.Team == "" {
		return false
	}
	t, err := a.bot.Team(ctx, in.Team)
	if err != nil || !t.Ready {
		return true
	}
	return in.Channel != t.Rooms.Staff && (in.Channel != t.Rooms.Medical || t.RoomFault != "")
}

// attached is the file that came with a slash command, nil without one.
func attached(i *discordgo.InteractionCreate) *discordgo.MessageAttachment {
	if i.Type != discordgo.InteractionApplicationCommand || i.ApplicationCommandData().Resolved == nil {
		return nil
	}
	for _, f := range i.ApplicationCommandData().Resolved.Attachments {
		return f
	}
	return nil
}

// options are a slash command's options as text. A file is none.
func options(list []*discordgo.ApplicationCommandInteractionDataOption) map[string]string {
	out := map[string]string{}
	for _, o := range list {
		if o.Type == discordgo.ApplicationCommandOptionAttachment {
			continue
		}
		switch v := o.Value.(type) {
		case string:
			out[o.Name] = v
		case float64:
			out[o.Name] = strconv.FormatFloat(v, 'f', -1, 64)
		case bool:
			out[o.Name] = strconv.FormatBool(v)
		}
	}
	return out
}

// suggest answers while somebody types.
func (a *Adapter) suggest(ctx context.Context, i *discordgo.InteractionCreate, in bot.Inbound) {
	defer a.bot.Recover("gateway")
	data := i.ApplicationCommandData()
	in.Command = data.Name
	focused, typed := "", ""
	for _, o := range data.Options {
		if o.Focused {
			focused, typed = o.Name, fmt.Sprint(o.Value)
		}
	}
	list, err := a.bot.Complete(ctx, in, focused, typed)
	if err != nil {
		a.Log.Warn("nothing could be suggested", "interaction", i.ID)
	}
	r := discordgo.InteractionResponse{Type: discordgo.InteractionApplicationCommandAutocompleteResult, Data: &discordgo.InteractionResponseData{Choices: []*discordgo.ApplicationCommandOptionChoice{}}}
	for _, s := range list {
		r.Data.Choices = append(r.Data.Choices, &discordgo.ApplicationCommandOptionChoice{Name: calm(s.Label), Value: s.Value})
	}
	if err := a.respond(ctx, i, r); err != nil {
		a.Log.Warn("suggestions came too late", "interaction", i.ID, "error", explain(err))
	}
}

// asksText finds a command's free text that was not given: a form asks for it.
func (a *Adapter) asksText(in bot.Inbound) (string, bool) {
	for _, c := range a.bot.Commands() {
		if c.Name != in.Command {
			continue
		}
		for _, o := range c.Options {
			if o.Kind == commands.KindText && o.Required && in.Options[o.Name] == "" {
				return o.Name, true
			}
		}
	}
	return "", false
}

// modal asks for one text. Its id carries the command and what was told already.
func modal(in bot.Inbound, field string) discordgo.InteractionResponse {
	id := in.Command + "\x1f" + field
	for _, name := range []string{"athlete", "side", "course"} {
		if v := in.Options[name]; v != "" {
			id += "\x1f" + name + "=" + v
		}
	}
	return discordgo.InteractionResponse{Type: discordgo.InteractionResponseModal, Data: &discordgo.InteractionResponseData{
		CustomID: clip(id, 100), Title: clip(upperFirst(in.Command), 45),
		Components: []discordgo.MessageComponent{discordgo.ActionsRow{Components: []discordgo.MessageComponent{
			discordgo.TextInput{CustomID: field, Label: clip(upperFirst(field), 45), Style: discordgo.TextInputParagraph, Required: true, MaxLength: 1000},
		}}},
	}}
}

// submitted reads a form back into the command it was for. A forged id makes a command that is refused.
func submitted(d discordgo.ModalSubmitInteractionData, in *bot.Inbound) bool {
	parts := strings.Split(d.CustomID, "\x1f")
	if len(parts) < 2 {
		return false
	}
	in.Command, in.Options = parts[0], map[string]string{}
	for _, p := range parts[2:] {
		if name, v, ok := strings.Cut(p, "="); ok {
			in.Options[name] = v
		}
	}
	for _, row := range d.Components {
		cells, ok := row.(*discordgo.ActionsRow)
		if !ok {
			continue
		}
		for _, c := range cells.Components {
			if t, ok := c.(*discordgo.TextInput); ok {
				in.Options[parts[1]] = t.Value
			}
		}
	}
	return true
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
