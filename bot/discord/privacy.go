package discord

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"github.com/bwmarrin/discordgo"

	"footing/bot"
	"footing/rehab"
)

// roomLife is how long what is known of who reads the medical channel is taken on trust before detail is
// said there. Events tell of changes at once, but not while the gateway is away.
const roomLife = 10 * time.Minute

// checkRoom tells the bot whether the team's medical channel is private, by what is kept, and says why not.
func (a *Adapter) checkRoom(ctx context.Context, id string) (fault string, err error) {
	t, err := a.bot.Team(ctx, id)
	if err != nil {
		return "", err
	}
	return a.faultOf(ctx, t), nil
}

// faultOf is checkRoom for a team that was just read.
func (a *Adapter) faultOf(ctx context.Context, t rehab.Team) (fault string) {
	id := t.Key
	a.mu.Lock()
	g := a.guilds[id]
	if g != nil {
		fault = g.fault(t.Rooms, a.self)
	}
	a.mu.Unlock()
	if g == nil { // another process has its events
		return t.RoomFault
	}
	if fault == t.RoomFault {
		return fault
	}
	if err := a.bot.RoomFault(ctx, id, fault); err != nil {
		a.Log.Error("the medical channel's privacy was not noted", "guild", id)
	}
	return fault
}

// private gives a message as it may be said: to a medical room that others can read, without detail. What
// is known of that is asked for anew when it is old; while it cannot be had, nothing is said.
func (a *Adapter) private(ctx context.Context, m bot.Message) (bot.Message, error) {
	if m.Place != bot.MedicalRoom {
		return m, nil
	}
	if err := a.readGuild(ctx, m.Team); err != nil {
		return m, err
	}
	fault := ""
	if m.Known != nil {
		fault = a.faultOf(ctx, *m.Known)
	} else if f, err := a.checkRoom(ctx, m.Team); err != nil {
		return m, fmt.Errorf("looking who reads the medical channel: %w", err)
	} else {
		fault = f
	}
	if fault != "" {
		m = bot.Guarded(m, fault)
	}
	return m, nil
}

// readGuild asks for a server's roles and channels when what is kept of them is old, or is not there: a
// process that only sends hears no events.
func (a *Adapter) readGuild(ctx context.Context, id string) error {
	a.mu.Lock()
	was, changes := a.guilds[id], 0
	fresh := was != nil && a.Clock().Sub(was.read) < roomLife
	if was != nil {
		changes = was.changes
	}
	a.mu.Unlock()
	if fresh {
		return nil
	}
	var g toldGuild
	if err := a.request(ctx, http.MethodGet, discordgo.EndpointGuild(id), nil, &g); err != nil {
		return err
	}
	if err := a.request(ctx, http.MethodGet, discordgo.EndpointGuildChannels(id), nil, &g.Channels); err != nil {
		return err
	}
	k := newGuild(&g)
	k.read = a.Clock()
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.guilds[id] == was && (was == nil || was.changes == changes) { // else events have told something newer
		a.guilds[id] = k
	}
	return nil
}
