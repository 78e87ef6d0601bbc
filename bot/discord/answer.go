package discord

import (
	"context"
	"fmt"
	"net/http"
	"strings"

	"github.com/bwmarrin/discordgo"

	"footing/bot"
)

// An interaction is answered twice: within three seconds with a promise, or with what only it can carry (a
// modal, suggestions); then with the reply, which takes the promise's place. Inbound.Answer is the token.

// answer puts a reply in the place of the promise; later parts of it follow on. Both name the token, which
// is good for 15 minutes.
func (a *Adapter) answer(ctx context.Context, m bot.Message, out outgoing) (string, error) {
	url := discordgo.EndpointWebhookToken(a.appID(), m.Answer)
	var sent discordgo.Message
	if first(m.Key) {
		err := a.request(ctx, http.MethodPatch, url+"/messages/@original", out, &sent)
		return sent.ID, err
	}
	if _, alone := m.Place.Alone(); alone {
		out.Flags = discordgo.MessageFlagsEphemeral
		err := a.request(ctx, http.MethodPost, url, out, &sent)
		return sent.ID, err
	}
	return "", fmt.Errorf("%w: further parts are said in the room", errTooLate)
}

// first reports whether a key is of the first thing said to an event: "…/0.0", or a fixed sentence.
func first(key string) bool {
	last := key[strings.LastIndex(key, "/")+1:]
	return last == "0.0" || !strings.Contains(last, ".")
}

// defers promises an answer. Alone, only whoever asked will see it.
func (a *Adapter) defers(ctx context.Context, i *discordgo.InteractionCreate, alone bool) error {
	r := discordgo.InteractionResponse{Type: discordgo.InteractionResponseDeferredChannelMessageWithSource, Data: &discordgo.InteractionResponseData{}}
	if alone {
		r.Data.Flags = discordgo.MessageFlagsEphemeral
	}
	return a.respond(ctx, i, r)
}

func (a *Adapter) respond(ctx context.Context, i *discordgo.InteractionCreate, r discordgo.InteractionResponse) error {
	err := a.request(ctx, http.MethodPost, discordgo.EndpointInteractionResponse(i.ID, i.Token), r, nil)
	if err != nil {
		return fmt.Errorf("answering an interaction: %w", err)
	}
	return nil
}

func (a *Adapter) appID() string {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.app
}
