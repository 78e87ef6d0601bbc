package discord

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"

	"github.com/bwmarrin/discordgo"

	"footing/bot"
	"footing/commands"
)

// schema is every command as Discord lists it.
func schema(list []bot.Listed) []*discordgo.ApplicationCommand {
	var out []*discordgo.ApplicationCommand
	for _, c := range list {
		where := []discordgo.InteractionContextType{discordgo.InteractionContextGuild}
		if c.Privacy == commands.OwnOnly || c.Privacy == commands.Anyone {
			where = append(where, discordgo.InteractionContextBotDM)
		}
		cmd := &discordgo.ApplicationCommand{Type: discordgo.ChatApplicationCommand, Name: c.Name, Description: clip(c.Summary, 100), Contexts: &where, Options: []*discordgo.ApplicationCommandOption{}}
		for _, o := range c.Options {
			cmd.Options = append(cmd.Options, option(o))
		}
		// A form asks for free text that was left out, so that it is not required here.
		slices.SortStableFunc(cmd.Options, func(x, y *discordgo.ApplicationCommandOption) int {
			switch {
			case x.Required == y.Required:
				return 0
			case x.Required:
				return -1
			}
			return 1
		})
		out = append(out, cmd)
	}
	return out
}

func option(o commands.NamedOption) *discordgo.ApplicationCommandOption {
	out := &discordgo.ApplicationCommandOption{
		Type: discordgo.ApplicationCommandOptionString, Name: o.Name, Description: clip(o.Description, 100),
		Required: o.Required && o.Kind != commands.KindText, Autocomplete: o.Completes && !picked(o.Kind),
	}
	for _, c := range o.Choices {
		out.Choices = append(out.Choices, &discordgo.ApplicationCommandOptionChoice{Name: c, Value: c})
	}
	switch o.Kind {
	case commands.KindInteger:
		out.Type = discordgo.ApplicationCommandOptionInteger
	case commands.KindNumber:
		out.Type = discordgo.ApplicationCommandOptionNumber
	case commands.KindRole:
		out.Type = discordgo.ApplicationCommandOptionRole
	case commands.KindChannel:
		out.Type = discordgo.ApplicationCommandOptionChannel
		out.ChannelTypes = []discordgo.ChannelType{discordgo.ChannelTypeGuildText}
	case commands.KindAccount:
		out.Type = discordgo.ApplicationCommandOptionUser
	case commands.KindFile:
		out.Type = discordgo.ApplicationCommandOptionAttachment
	}
	if (o.Kind == commands.KindInteger || o.Kind == commands.KindNumber) && o.Min != o.Max {
		low := o.Min
		out.MinValue, out.MaxValue = &low, o.Max
	}
	return out
}

// picked reports whether Discord has a picker of its own for a kind.
func picked(k commands.Kind) bool {
	return k == commands.KindRole || k == commands.KindChannel || k == commands.KindAccount
}

// uploadCommands gives Discord the commands when what it has differs.
func (a *Adapter) uploadCommands(ctx context.Context) error {
	url := discordgo.EndpointApplicationGlobalCommands(a.appID())
	want := schema(a.bot.Commands())
	var have []*discordgo.ApplicationCommand
	if err := a.request(ctx, http.MethodGet, url, nil, &have); err != nil {
		return fmt.Errorf("reading the commands: %w", err)
	}
	if same(want, have) {
		return nil
	}
	if err := a.request(ctx, http.MethodPut, url, want, nil); err != nil {
		return fmt.Errorf("uploading the commands: %w", err)
	}
	return nil
}

// same compares what is ours in two lists of commands, whatever their order.
func same(want, have []*discordgo.ApplicationCommand) bool {
	plain := func(list []*discordgo.ApplicationCommand) []string {
		var out []string
		for _, c := range list {
			k := discordgo.ApplicationCommand{Type: c.Type, Name: c.Name, Description: c.Description, Contexts: c.Contexts, Options: c.Options}
			if k.Options == nil {
				k.Options = []*discordgo.ApplicationCommandOption{}
			}
			text, _ := json.Marshal(k)
			out = append(out, string(text))
		}
		slices.Sort(out)
		return out
	}
	return slices.Equal(plain(want), plain(have))
}
