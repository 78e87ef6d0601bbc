package discordtest

import (
	"slices"
	"strings"
	"unicode/utf8"
)

// User is a person, or the bot.
type User struct {
	w         *World
	ID        string
	Name      string
	bot       bool
	dm        *Channel
	dmsClosed bool
}

// File is something attached to a message.
type File struct {
	Name string
	Type string // media type
	Data []byte
}

// User finds a user by name, or makes one who is in no guild.
func (w *World) User(name string) *User {
	var u *User
	w.change(func() {
		for _, x := range w.users {
			if x.Name == name {
				u = x
				return
			}
		}
		u = &User{w: w, ID: w.id(), Name: name}
		w.users[u.ID] = u
	})
	return u
}

// Mention is how the user is mentioned in a message's text.
func (u *User) Mention() string { return "<@" + u.ID + ">" }

// DM is the user's direct messages with the bot.
func (u *User) DM() *Channel {
	var c *Channel
	u.w.change(func() { c = u.openDM() })
	return c
}

func (u *User) openDM() *Channel {
	if u.dm == nil {
		u.dm = &Channel{w: u.w, ID: u.w.id(), recipient: u}
		u.w.channels[u.dm.ID] = u.dm
	}
	return u.dm
}

// CloseDMs makes the user refuse direct messages from bots.
func (u *User) CloseDMs() { u.w.change(func() { u.dmsClosed = true }) }

// OpenDMs makes the user take direct messages again, as new users do.
func (u *User) OpenDMs() { u.w.change(func() { u.dmsClosed = false }) }

// Says sends a message and returns its id.
func (u *User) Says(c *Channel, text string, files ...File) string {
	u.w.t.Helper()
	return u.send(c, text, nil, files)
}

// Replies answers another message of the channel, which mentions its author, and returns the reply's id.
func (u *User) Replies(c *Channel, to, text string, files ...File) string {
	u.w.t.Helper()
	return u.send(c, text, &to, files)
}

func (u *User) send(c *Channel, text string, to *string, files []File) string {
	u.w.t.Helper()
	m := &message{channel: c, author: u, content: strings.TrimSpace(text)}
	u.w.change(func() {
		switch {
		case !c.can(u, SendMessages):
			u.w.mistake("%s cannot send messages in %s", u.Name, c.Name)
		case m.content == "" && len(files) == 0:
			u.w.mistake("%s says nothing", u.Name)
		case utf8.RuneCountInString(m.content) > 4000: // 2000, and 4000 with a subscription
			u.w.mistake("a message of %s is longer than 4000", u.Name)
		}
		if to != nil {
			if m.reply = c.find(*to); m.reply == nil {
				u.w.mistake("%s replies to a message that is not there", u.Name)
			}
			m.replyTo = *to
			m.notifies = !m.reply.author.bot || m.reply.author == u.w.bot
		}
		m.id, m.sent = u.w.id(), u.w.now
		m.attach(files)
		m.mentionAll(m.notifies)
		u.w.post(m)
	})
	return m.id
}

// Edits changes the text of a message the user sent.
func (u *User) Edits(id, text string) {
	u.w.t.Helper()
	u.w.change(func() {
		m := u.own(id)
		m.content = strings.TrimSpace(text)
		m.mentionAll(m.notifies)
		m.edit()
	})
}

// Deletes removes a message: the user's own, or anybody's where they may manage messages.
func (u *User) Deletes(id string) {
	u.w.t.Helper()
	u.w.change(func() {
		m := u.w.message(id)
		if m == nil || m.author != u && !m.channel.can(u, ManageMessages) {
			u.w.mistake("%s cannot delete message %s", u.Name, id)
		}
		m.delete()
	})
}

func (u *User) own(id string) *message {
	m := u.w.message(id)
	if m == nil || m.author != u {
		u.w.mistake("%s has no message %s", u.Name, id)
	}
	return m
}

// PreviewLink adds a link's preview to a message some time after it was sent: an update whose text and
// edited_timestamp are as they were. A partial update, as documented for the gateway ("may contain only a
// subset of the full message object"), carries the embeds alone.
func (w *World) PreviewLink(id string, partial bool) {
	w.t.Helper()
	w.change(func() {
		m := w.message(id)
		if m == nil {
			w.mistake("no message %s", id)
		}
		m.embeds = append(slices.Clone(m.embeds), obj{"type": "link", "url": "https://example.org/", "title": "A page"})
		if !partial {
			m.updated()
			return
		}
		w.dispatch(event{name: "MESSAGE_UPDATE", intent: m.intent(), guild: m.channel.guild, channel: m.channel, each: func(s *session) obj {
			data := obj{"id": m.id, "channel_id": m.channel.ID, "embeds": m.json(s.intents&intentMessageContent != 0)["embeds"]}
			if m.channel.guild != nil {
				data["guild_id"] = m.channel.guild.ID
			}
			return data
		}})
	})
}

// message finds a message of any channel that exists.
func (w *World) message(id string) *message {
	for _, c := range w.channels {
		if m := c.find(id); m != nil {
			return m
		}
	}
	return nil
}
