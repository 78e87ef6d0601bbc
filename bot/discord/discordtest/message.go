package discordtest

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// Message flags (Message Object, Message Flags).
const (
	flagSuppressEmbeds = 1 << 2
	flagEphemeral      = 1 << 6
	flagLoading        = 1 << 7
	flagSilent         = 1 << 12
	flagComponentsV2   = 1 << 15
)

type message struct {
	id           string
	channel      *Channel
	author       *User
	content      string
	embeds       []obj
	components   []obj
	gone         []obj // components that an edit took away
	files        []attachment
	flags        int
	sent, edited time.Time
	nonce        any
	mentions     []*User
	roles        []*Role
	everyone     bool
	allowed      *allowedMentions // as the bot gave them
	reply        *message
	replyTo      string
	notifies     bool         // a reply that mentions whom it answers
	interaction  *Interaction // that it answers
	webhook      bool         // said by a webhook of the channel's own
	viewer       *User        // of an ephemeral message; nil when everybody sees it
}

type attachment struct {
	File
	id, path string
}

// attach keeps files and makes them fetchable.
func (m *message) attach(files []File) {
	w := m.channel.w
	for _, f := range files {
		a := attachment{File: f, id: w.id()}
		a.path = fmt.Sprintf("/attachments/%s/%s/%s", m.channel.ID, a.id, f.Name)
		w.blobs[a.path] = f
		m.files = append(m.files, a)
	}
}

// json is the message as the API shows it. Without message content, fields that a user filled in are empty
// but for the app's own messages, direct messages, and messages that mention it (Gateway, Message Content
// Intent).
func (m *message) json(content bool) obj {
	o := obj{"id": m.id, "channel_id": m.channel.ID, "author": m.author.json(), "timestamp": stamp(m.sent), "edited_timestamp": nil,
		"tts": false, "pinned": false, "type": 0, "flags": m.flags, "mention_everyone": m.everyone,
		"content": "", "embeds": []obj{}, "components": []obj{}, "attachments": []obj{}}
	if !m.edited.IsZero() {
		o["edited_timestamp"] = stamp(m.edited)
	}
	mentions, roles := []obj{}, []string{}
	for _, u := range m.mentions {
		mentions = append(mentions, u.json())
	}
	for _, r := range m.roles {
		roles = append(roles, r.ID)
	}
	o["mentions"], o["mention_roles"] = mentions, roles
	if content || m.shown() {
		o["content"], o["embeds"], o["components"] = m.content, append([]obj{}, m.embeds...), append([]obj{}, m.components...)
		o["attachments"] = m.attachmentsJSON()
	}
	if m.webhook {
		o["webhook_id"] = m.author.ID
	}
	if m.nonce != nil {
		o["nonce"] = m.nonce
	}
	if m.replyTo != "" {
		o["type"] = 19
		o["message_reference"] = obj{"type": 0, "message_id": m.replyTo, "channel_id": m.channel.ID, "guild_id": m.channel.guildID()}
		if m.reply != nil && m.channel.find(m.replyTo) != nil {
			o["referenced_message"] = (&message{id: m.reply.id, channel: m.channel, author: m.reply.author, content: m.reply.content, sent: m.reply.sent, edited: m.reply.edited, mentions: m.reply.mentions}).json(content)
		}
	}
	if i := m.interaction; i != nil {
		o["application_id"], o["webhook_id"] = m.channel.w.appID, m.channel.w.appID
		o["interaction_metadata"] = obj{"id": i.ID, "type": i.kind, "user": i.user.json()}
		if i.kind == kindCommand {
			o["type"] = 20
		}
	}
	return o
}

// shown says whether the app sees the content without the intent.
func (m *message) shown() bool {
	bot := m.channel.w.bot
	return m.author == bot || m.channel.guild == nil || slices.Contains(m.mentions, bot)
}

func (m *message) attachmentsJSON() []obj {
	out := []obj{}
	for _, a := range m.files {
		out = append(out, obj{"id": a.id, "filename": a.Name, "size": len(a.Data), "content_type": a.Type,
			"url": "https://cdn.discordapp.com" + a.path, "proxy_url": "https://media.discordapp.net" + a.path})
	}
	return out
}

// post puts a message at the end of its channel, tells the gateway, and rings whom it pings.
func (w *World) post(m *message) {
	m.channel.messages = append(m.channel.messages, m)
	w.forget(m.channel)
	w.ping(m)
	if m.viewer == nil {
		m.event("MESSAGE_CREATE")
	}
}

// edit marks a message as edited and tells the gateway.
func (m *message) edit() {
	m.edited = m.channel.w.now
	m.updated()
}

func (m *message) updated() {
	if m.viewer == nil {
		m.event("MESSAGE_UPDATE")
	}
}

func (m *message) delete() {
	c := m.channel
	c.remove(m)
	if m.viewer != nil {
		return
	}
	data := obj{"id": m.id, "channel_id": c.ID}
	if c.guild != nil {
		data["guild_id"] = c.guild.ID
	}
	c.w.dispatch(event{name: "MESSAGE_DELETE", intent: m.intent(), guild: c.guild, channel: c, data: data})
}

func (m *message) intent() int {
	if m.channel.guild == nil {
		return intentDirectMessages
	}
	return intentGuildMessages
}

func (m *message) event(name string) {
	g := m.channel.guild
	m.channel.w.dispatch(event{name: name, intent: m.intent(), guild: g, channel: m.channel, each: func(s *session) obj {
		o := m.json(s.intents&intentMessageContent != 0)
		if g == nil {
			return o
		}
		o["guild_id"] = g.ID
		if g.members[m.author.ID] != nil {
			member := g.memberJSON(m.author)
			delete(member, "user")
			o["member"] = member
		}
		return o
	}})
}

// Purge removes several messages at once, as a moderator's app does: one event for all of them.
func (c *Channel) Purge(ids ...string) {
	c.w.t.Helper()
	c.w.change(func() {
		for _, id := range ids {
			m := c.find(id)
			if m == nil {
				c.w.mistake("no message %s in %s", id, c.Name)
			}
			c.remove(m)
		}
		data := obj{"ids": ids, "channel_id": c.ID}
		if c.guild != nil {
			data["guild_id"] = c.guild.ID
		}
		c.w.dispatch(event{name: "MESSAGE_DELETE_BULK", intent: intentGuildMessages, guild: c.guild, channel: c, data: data})
	})
}

// visibleTo says whether a person sees the message: ephemeral ones only whom they are for.
func (m *message) visibleTo(u *User) bool {
	if m.viewer != nil {
		return m.viewer == u
	}
	return m.channel.can(u, ViewChannel)
}

func trimmed(s string) string { return strings.TrimSpace(s) }
