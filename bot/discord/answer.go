package discord

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/bwmarrin/discordgo"

	"footing/bot"
)

// An interaction is answered twice: within three seconds with a promise, or with what only it can carry (a
// modal, suggestions); then with the reply, which takes the promise's place. Inbound.Answer is the token.

// mostPromises is how often a first answer is tried.
const mostPromises = 4

// answer puts a reply in the place of the promise, by the token, which is good for 15 minutes. That may be
// done twice. A follow-up may not, as it has no nonce and cannot be read back: later parts are said in the
// room, and what only its reader sees has none.
func (a *Adapter) answer(ctx context.Context, m bot.Message, out outgoing) (string, error) {
	if !a.promised(ctx, m.Answer) {
		return "", fmt.Errorf("%w: it was never promised", errTooLate)
	}
	url := discordgo.EndpointWebhookToken(a.appID(), m.Answer)
	var sent discordgo.Message
	if first(m.Key) {
		err := a.request(ctx, http.MethodPatch, url+"/messages/@original", out, &sent)
		if code(err) == unknownMessage {
			return "", fmt.Errorf("%w: somebody deleted the promise", errTooLate)
		}
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
	ctx, cancel := context.WithTimeout(ctx, a.Times.Promise)
	defer cancel()
	var err error
	for try := range mostPromises {
		err = a.request(ctx, http.MethodPost, discordgo.EndpointInteractionResponse(i.ID, i.Token), r, nil)
		if err == nil || try > 0 && code(err) == answeredAlready { // by the try before, whose answer was lost
			return nil
		}
		var no *bot.NotSent
		switch {
		case errors.As(err, &no) && no.After > 0: // a window is closed until then
			if !rest(ctx, no.After) {
				return fmt.Errorf("answering an interaction: %w", err)
			}
		case code(err) != 0 || errors.Is(err, errTooLate):
			return fmt.Errorf("answering an interaction: %w", err)
		}
	}
	return fmt.Errorf("answering an interaction: %w", err)
}

// rest waits, and reports whether there was time for it.
func rest(ctx context.Context, d time.Duration) bool {
	if end, limited := ctx.Deadline(); limited && time.Until(end) < d {
		return false
	}
	select {
	case <-ctx.Done():
		return false
	case <-time.After(d):
		return true
	}
}

func (a *Adapter) appID() string {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.app
}
