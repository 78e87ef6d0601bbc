package discord

import (
	"context"

	"github.com/bwmarrin/discordgo"

	"footing/bot"
)

// promise is the first answer to an interaction, on its way. What may be said in its room is worked out
// meanwhile; only the reply waits for it.
type promise struct {
	placed chan struct{} // closed when alone is known
	alone  bool          // only whoever asked may see the answer
	ended  chan struct{}
	kept   bool // known when it ended
}

// promises sends the first answer, of which a.vows knows until it ended.
func (a *Adapter) promises(ctx context.Context, i *discordgo.InteractionCreate, in bot.Inbound) *promise {
	p := &promise{placed: make(chan struct{}), alone: true, ended: make(chan struct{})}
	a.mu.Lock()
	a.vows[i.Token] = p
	a.mu.Unlock()
	go func() {
		defer func() {
			a.mu.Lock()
			delete(a.vows, i.Token)
			a.mu.Unlock()
			close(p.ended)
		}()
		defer a.bot.Recover("gateway")
		func() {
			defer close(p.placed)
			p.alone = a.alone(ctx, in)
		}()
		err := a.defers(ctx, i, p.alone)
		if err != nil {
			a.Log.Warn("an interaction could not be answered in time", "error", explain(err))
		}
		p.kept = err == nil
	}()
	return p
}

// mayGoOn reports whether the interaction is to be carried out. What only they may read could be said nowhere
// without the promise: then they read that it failed, and so it did. Elsewhere the reply is said at its place.
func (p *promise) mayGoOn(context.Context) bool {
	<-p.placed
	if !p.alone {
		return true
	}
	<-p.ended
	return p.kept
}

// promised waits for the first answer to an interaction, and reports whether there can be one: of one that is no
// longer on its way nothing is known, and Discord says.
func (a *Adapter) promised(ctx context.Context, token string) bool {
	a.mu.Lock()
	p := a.vows[token]
	a.mu.Unlock()
	if p == nil {
		return true
	}
	select {
	case <-ctx.Done():
		return false
	case <-p.ended:
		return p.kept
	}
}
