package discordtest

import (
	"fmt"
	"slices"
	"time"
)

// NonceWindow is how long an enforced nonce is remembered, on the world's clock. The documentation says
// "the past few minutes" (Create Message, enforce_nonce); three is a choice.
const NonceWindow = 3 * time.Minute

type nonce struct {
	message *message
	at      time.Time
}

// channelFor finds a channel and asks whether the bot may do something there. A channel it cannot see is
// 50001, one where it lacks a permission 50013.
func (w *World) channelFor(c *call, permission int64) (*Channel, error) {
	channel := w.channels[c.PathValue("channel")]
	switch {
	case channel == nil:
		return nil, errUnknownChannel
	case !channel.can(w.bot, ViewChannel):
		return nil, errMissingAccess
	case !channel.can(w.bot, permission):
		return nil, errMissingPerms
	}
	return channel, nil
}

func (w *World) getChannel(c *call) (reply, error) {
	channel, err := w.channelFor(c, 0)
	if err != nil {
		return reply{}, err
	}
	return ok(channel.json())
}

func (w *World) typing(c *call) (reply, error) {
	_, err := w.channelFor(c, SendMessages)
	return done, err
}

// readsContent says whether REST shows message content: by what is switched on for the app, whatever a
// gateway session asked for (Gateway, HTTP Restrictions).
func (w *World) readsContent() bool { return w.privileged&intentMessageContent != 0 }

// getMessages pages through a channel, newest first (Get Channel Messages). Without READ_MESSAGE_HISTORY
// "no messages will be returned".
func (w *World) getMessages(c *call) (reply, error) {
	channel, err := w.channelFor(c, 0)
	if err != nil {
		return reply{}, err
	}
	n, err := limitOf(c, 50, 100)
	if err != nil {
		return reply{}, err
	}
	q := c.URL.Query()
	before, after, around := q.Get("before"), q.Get("after"), q.Get("around")
	f := &form{}
	if (before != "") && (after != "") || around != "" && before+after != "" { // from memory
		f.add("before", "MESSAGES_EXCLUSIVE", "before, after and around are mutually exclusive.")
		return reply{}, f.err()
	}
	out := []obj{}
	if channel.can(w.bot, ReadHistory) {
		for _, m := range channel.page(n, before, after, around) {
			out = append(out, m.json(w.readsContent()))
		}
	}
	slices.Reverse(out)
	return ok(out)
}

// page picks up to n public messages, oldest first: those next to the given id on the side asked for.
func (c *Channel) page(n int, before, after, around string) []*message {
	var all []*message
	for _, m := range c.messages {
		if m.viewer == nil {
			all = append(all, m)
		}
	}
	at := func(id string) int {
		i, _ := slices.BinarySearchFunc(all, id, func(m *message, id string) int { return byID(m.id, id) })
		return i
	}
	switch {
	case after != "":
		i := at(after)
		if i < len(all) && all[i].id == after {
			i++
		}
		return all[i:min(len(all), i+n)]
	case around != "":
		from := max(0, at(around)-n/2)
		return all[from:min(len(all), from+n)]
	case before != "":
		all = all[:at(before)]
	}
	return all[max(0, len(all)-n):]
}

// find finds a public message.
func (w *World) messageFor(c *call, permission int64) (*message, error) {
	channel, err := w.channelFor(c, permission)
	if err != nil {
		return nil, err
	}
	m := channel.find(c.PathValue("message"))
	if m == nil || m.viewer != nil {
		return nil, errUnknownMessage
	}
	return m, nil
}

func (w *World) getMessage(c *call) (reply, error) {
	m, err := w.messageFor(c, ReadHistory)
	if err != nil {
		return reply{}, err
	}
	return ok(m.json(w.readsContent()))
}

// createMessage follows Create Message.
func (w *World) createMessage(c *call) (reply, error) {
	channel, err := w.channelFor(c, SendMessages)
	if err != nil {
		return reply{}, err
	}
	in, files, err := c.fields()
	if err != nil {
		return reply{}, err
	}
	d, err := readDraft(in, files)
	if err != nil {
		return reply{}, err
	}
	if err := w.maySend(channel, d); err != nil {
		return reply{}, err
	}
	key := fmt.Sprint(channel.ID, " ", d.nonce)
	if old, ok := w.nonces[key]; ok && d.enforce && d.nonce != nil && w.now.Sub(old.at) < NonceWindow {
		return reply{200, old.message.json(true)}, nil
	}
	m := &message{channel: channel, author: w.bot, nonce: d.nonce, sent: w.now}
	if err := m.answers(d); err != nil {
		return reply{}, err
	}
	m.id = w.id()
	if err := d.apply(m); err != nil {
		return reply{}, err
	}
	m.mentionAll(m.notifies)
	w.post(m)
	if d.nonce != nil {
		w.nonces[key] = nonce{m, w.now}
	}
	return ok(m.json(true))
}

// maySend checks what sending this needs beyond SEND_MESSAGES.
func (w *World) maySend(channel *Channel, d *draft) error {
	if u := channel.recipient; u != nil {
		if !w.sharesGuild(u) {
			return errNoMutualGuild
		}
		if u.dmsClosed {
			return errCannotDM
		}
	}
	switch {
	case len(d.new) > 0 && !channel.can(w.bot, AttachFiles),
		len(d.embeds) > 0 && !channel.can(w.bot, EmbedLinks): // from memory
		return errMissingPerms
	case d.reference != nil && !channel.can(w.bot, ReadHistory):
		return errNoHistory
	}
	return nil
}

func (w *World) sharesGuild(u *User) bool {
	return slices.ContainsFunc(w.guilds, func(g *Guild) bool { return g.hasBot() && g.members[u.ID] != nil })
}

// answers makes a message a reply, where the draft asks for one.
func (m *message) answers(d *draft) error {
	if d.reference == nil || d.reference.MessageID == "" {
		return nil
	}
	m.reply = m.channel.find(d.reference.MessageID)
	if m.reply == nil {
		if must := d.reference.FailIfNotExists; must != nil && !*must {
			return nil
		}
		f := &form{}
		f.add("message_reference", "REPLIES_UNKNOWN_MESSAGE", "Unknown message")
		return f.err()
	}
	m.replyTo = m.reply.id
	m.notifies = d.allowed == nil || d.allowed.RepliedUser
	return nil
}

// editMessage follows Edit Message: only the bot's own, and edits ping nobody.
func (w *World) editMessage(c *call) (reply, error) {
	m, err := w.messageFor(c, 0)
	if err != nil {
		return reply{}, err
	}
	if m.author != w.bot {
		return reply{}, errNotTheAuthor
	}
	if err := m.change(c); err != nil {
		return reply{}, err
	}
	m.edit()
	return ok(m.json(true))
}

// change applies an edit's body; a refused one changes nothing.
func (m *message) change(c *call) error {
	in, files, err := c.fields()
	if err != nil {
		return err
	}
	d, err := readDraft(in, files)
	if err != nil {
		return err
	}
	changed := *m
	if err := d.apply(&changed); err != nil {
		return err
	}
	changed.mentionAll(m.notifies)
	*m = changed
	return nil
}

// deleteMessage follows Delete Message: others' messages need MANAGE_MESSAGES.
func (w *World) deleteMessage(c *call) (reply, error) {
	m, err := w.messageFor(c, 0)
	switch {
	case err != nil:
		return reply{}, err
	case m.author == w.bot || m.channel.can(w.bot, ManageMessages):
		m.delete()
		return done, nil
	case m.channel.guild == nil:
		return reply{}, errNotInDM
	}
	return reply{}, errMissingPerms
}
