package discord

import (
	"context"
	"encoding/json"
	"errors"
	"strings"
	"time"

	"github.com/bwmarrin/discordgo"

	"footing/bot"
)

// handlers only note and enqueue: they run one after the other on the gateway's reader.
func (a *Adapter) handlers(ctx context.Context, s *discordgo.Session) {
	on(a, s, func(r *discordgo.Ready) { a.ready(ctx) })
	on(a, s, func(e *discordgo.Event) { a.toldRoles(ctx, e) })
	on(a, s, func(g *discordgo.GuildDelete) { a.left(ctx, g) })
	on(a, s, func(g *discordgo.GuildUpdate) {
		a.change(ctx, g.ID, func(k *guild) { k.owner, k.name = g.OwnerID, g.Name })
	})
	on(a, s, func(r *discordgo.GuildRoleDelete) {
		a.change(ctx, r.GuildID, func(k *guild) { delete(k.roles, r.RoleID) })
	})
	on(a, s, func(c *discordgo.ChannelCreate) { a.channelChanged(ctx, c.Channel) })
	on(a, s, func(c *discordgo.ChannelUpdate) { a.channelChanged(ctx, c.Channel) })
	on(a, s, func(c *discordgo.ChannelDelete) {
		a.change(ctx, c.GuildID, func(k *guild) { delete(k.channels, c.ID) })
	})
	on(a, s, func(m *discordgo.MessageCreate) { a.told(ctx, m.Message, bot.Created) })
	on(a, s, func(m *discordgo.MessageUpdate) {
		if m.EditedTimestamp != nil { // else a link got its preview
			a.told(ctx, m.Message, bot.Edited)
		}
	})
	on(a, s, func(m *discordgo.MessageDelete) { a.gone(ctx, m.GuildID, m.ChannelID, m.ID) })
	on(a, s, func(m *discordgo.MessageDeleteBulk) { a.gone(ctx, m.GuildID, m.ChannelID, m.Messages...) })
	on(a, s, func(i *discordgo.InteractionCreate) { a.interaction(ctx, i) })
}

// on has an event handled. A panic of one handler ends neither the connection nor the process.
func on[T any](a *Adapter, s *discordgo.Session, handle func(*T)) {
	s.AddHandler(func(_ *discordgo.Session, e *T) {
		defer a.bot.Recover("gateway")
		handle(e)
	})
}

func (a *Adapter) ready(context.Context) {
	a.mu.Lock()
	defer a.mu.Unlock()
	select {
	case <-a.up:
	default:
		close(a.up)
	}
}

// toldRoles reads the events that tell of roles from what Discord sent, as the library leaves their tags out.
func (a *Adapter) toldRoles(ctx context.Context, e *discordgo.Event) {
	switch e.Struct.(type) {
	case *discordgo.GuildCreate:
		var g toldGuild
		if json.Unmarshal(e.RawData, &g) == nil {
			a.joined(ctx, &g)
		}
	case *discordgo.GuildRoleCreate, *discordgo.GuildRoleUpdate:
		var r struct {
			Guild string `json:"guild_id"`
			Role  *role  `json:"role"`
		}
		if json.Unmarshal(e.RawData, &r) == nil {
			a.change(ctx, r.Guild, func(k *guild) { k.roles[r.Role.ID] = r.Role })
		}
	}
}

// joined keeps what is told of a server, and tells the bot of it.
func (a *Adapter) joined(ctx context.Context, g *toldGuild) {
	if g.Unavailable {
		return
	}
	k := newGuild(g)
	k.read = a.Clock()
	a.mu.Lock()
	a.guilds[g.ID] = k
	a.mu.Unlock()
	if _, err := a.bot.Join(ctx, g.ID, g.Name); err != nil {
		a.Log.Error("a server was not noted", "guild", g.ID)
	}
	_, _ = a.checkRoom(ctx, g.ID) // before medical detail is said it is looked at again
}

// left tells the bot that it was removed. A server that is only down is not left.
func (a *Adapter) left(ctx context.Context, g *discordgo.GuildDelete) {
	if g.Unavailable {
		return
	}
	a.mu.Lock()
	delete(a.guilds, g.ID)
	a.mu.Unlock()
	if err := a.bot.Leave(ctx, g.ID); err != nil {
		a.Log.Error("leaving a server was not noted", "guild", g.ID)
	}
}

// change changes what is kept of a server, and looks at its medical channel again.
func (a *Adapter) change(ctx context.Context, id string, f func(*guild)) {
	if a.changed(id, f) {
		_, _ = a.checkRoom(ctx, id)
	}
}

func (a *Adapter) changed(id string, f func(*guild)) bool {
	a.mu.Lock()
	defer a.mu.Unlock() // also when an event is not as it should be and f panics
	g := a.guilds[id]
	if g != nil {
		f(g)
		g.changes++
	}
	return g != nil
}

func (a *Adapter) channelChanged(ctx context.Context, c *discordgo.Channel) {
	if c.GuildID == "" {
		return
	}
	a.change(ctx, c.GuildID, func(k *guild) { k.channels[c.ID] = c })
}

// TeamChanged implements bot.Watcher: other channels and roles are looked at at once.
func (a *Adapter) TeamChanged(ctx context.Context, team string) { _, _ = a.checkRoom(ctx, team) }

// told hands a message over that the gateway told of.
func (a *Adapter) told(ctx context.Context, m *discordgo.Message, kind bot.Kind) {
	in, yes, err := a.said(ctx, m, kind)
	if err != nil {
		a.Log.Warn("a message was not taken; it is read back", "message", m.ID)
	}
	if yes {
		a.submit(in)
	}
}

// said is a message as the bot takes it, and whether it is for the bot: in direct messages, where it is
// mentioned, and, when message text may be read, in the medical channel. An error says that this is not known.
func (a *Adapter) said(ctx context.Context, m *discordgo.Message, kind bot.Kind) (in bot.Inbound, yes bool, err error) {
	if m.Author == nil || m.Author.Bot || m.WebhookID != "" || m.Type != discordgo.MessageTypeDefault && m.Type != discordgo.MessageTypeReply {
		return in, false, nil
	}
	text, mentioned := a.unmentioned(m.Content)
	in = bot.Inbound{Kind: kind, Team: m.GuildID, Message: m.ID, Author: m.Author.ID, Name: display(m.Author, m.Member), Text: text, Channel: m.ChannelID, Sent: m.Timestamp}
	if kind == bot.Edited {
		in.Sent = *m.EditedTimestamp
	}
	if m.GuildID == "" {
		in.Place = bot.DirectTo(m.Author.ID)
		a.keepDM(ctx, m, in.Sent)
	} else {
		in.ChatRoles = a.known(m.GuildID, m.Member)
		in.Manager, in.Owns = a.rights(m.GuildID, m.Author.ID, in.ChatRoles)
		if !mentioned && !a.Content {
			return in, false, nil
		}
		if !mentioned {
			if listens, err := a.bot.Listens(ctx, m.GuildID, m.ChannelID); err != nil || !listens {
				return in, false, err
			}
		}
	}
	if strings.TrimSpace(text) == "" {
		return in, false, nil // nothing, or text that may not be read: never an edit
	}
	if len(m.Attachments) > 0 {
		in.Fetch = a.fetching(m.Attachments[0])
	}
	return in, true, nil
}

// unmentioned is a text without the mentions of the bot itself.
func (a *Adapter) unmentioned(text string) (string, bool) {
	a.mu.Lock()
	self := a.self
	a.mu.Unlock()
	plain := strings.NewReplacer("<@"+self+">", " ", "<@!"+self+">", " ").Replace(text)
	return strings.TrimSpace(plain), plain != text
}

// known are the roles of a member that the server has: one that was deleted stands for nobody, whatever the
// team's settings still say.
func (a *Adapter) known(guild string, m *discordgo.Member) (roles []string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	g := a.guilds[guild]
	switch {
	case m == nil:
		return nil
	case g == nil: // not told of yet: what was missed is read back before
		return m.Roles
	}
	for _, id := range m.Roles {
		if g.roles[id] != nil {
			roles = append(roles, id)
		}
	}
	return roles
}

func (a *Adapter) rights(guild, user string, roles []string) (manages, owns bool) {
	a.mu.Lock()
	defer a.mu.Unlock()
	g := a.guilds[guild]
	if g == nil {
		return false, false
	}
	return g.mayManage(user, roles), g.owner == user
}

// keepDM keeps the channel that somebody wrote from, so that it need not be opened. Whoever wrote after they
// refused direct messages takes them again.
func (a *Adapter) keepDM(ctx context.Context, m *discordgo.Message, at time.Time) {
	a.mu.Lock()
	a.dms[m.ChannelID] = m.Author.ID
	a.mu.Unlock()
	kept, closed, err := a.bot.Store.DirectChannel(ctx, m.Author.ID)
	refused := !closed.IsZero() && !at.After(closed)
	if err == nil && kept == m.ChannelID && (refused || closed.IsZero()) {
		return
	}
	if err := a.bot.KeepDirect(ctx, m.Author.ID, m.ChannelID, refused); err != nil {
		a.Log.Warn("a direct channel was not kept", "channel", m.ChannelID)
	}
}

// display is how somebody is called on a server, with the account's own name where that is another:
// anyone chooses what they are called.
func display(u *discordgo.User, m *discordgo.Member) string {
	called := u.GlobalName
	if m != nil && m.Nick != "" {
		called = m.Nick
	}
	if called == "" || called == u.Username {
		return u.Username
	}
	return called + " (" + u.Username + ")"
}

// sentAt is when an interaction was made: its id carries the time.
func sentAt(id string) (time.Time, error) {
	at, err := discordgo.SnowflakeTimestamp(id)
	if err != nil {
		return time.Time{}, errors.New("an id that is none")
	}
	return at, nil
}
