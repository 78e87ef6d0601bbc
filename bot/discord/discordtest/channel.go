package discordtest

// Channel is a guild's text channel, or one user's direct messages with the bot.
type Channel struct {
	w          *World
	ID         string
	Name       string
	guild      *Guild
	recipient  *User // of direct messages
	overwrites map[string]overwrite
	messages   []*message
	deleted    bool
}

// Channel makes a text channel that follows the guild's permissions.
func (g *Guild) Channel(name string) *Channel {
	c := &Channel{w: g.w, Name: name, guild: g, overwrites: map[string]overwrite{}}
	g.w.change(func() {
		c.ID = g.w.id()
		g.w.channels[c.ID] = c
		g.channels = append(g.channels, c)
		c.event("CHANNEL_CREATE")
	})
	return c
}

// PrivateChannel makes a text channel that only these and the bot see.
func (g *Guild) PrivateChannel(name string, who ...Target) *Channel {
	c := g.Channel(name)
	c.Overwrite(g.Everyone(), 0, ViewChannel)
	for _, t := range append(who, g.w.bot) {
		c.Overwrite(t, ViewChannel, 0)
	}
	return c
}

// Overwrite sets what a role or a member may and may not do here, in place of an earlier overwrite for them.
func (c *Channel) Overwrite(who Target, allow, deny int64) {
	c.w.change(func() {
		id, kind := who.target()
		c.overwrites[id] = overwrite{kind: kind, allow: allow, deny: deny}
		c.event("CHANNEL_UPDATE")
	})
}

// Delete removes the channel and what was said in it.
func (c *Channel) Delete() {
	c.w.change(func() {
		c.event("CHANNEL_DELETE")
		c.deleted = true
		delete(c.w.channels, c.ID)
	})
}

func (c *Channel) event(name string) {
	c.w.dispatch(event{name: name, intent: intentGuilds, guild: c.guild, data: c.json()})
}

// IsDM says whether these are direct messages.
func (c *Channel) IsDM() bool { return c.guild == nil }

func (c *Channel) guildID() string {
	if c.guild == nil {
		return ""
	}
	return c.guild.ID
}

func (c *Channel) find(id string) *message {
	for _, m := range c.messages {
		if m.id == id {
			return m
		}
	}
	return nil
}

func (c *Channel) remove(m *message) {
	for i, x := range c.messages {
		if x == m {
			c.messages = append(c.messages[:i:i], c.messages[i+1:]...)
			return
		}
	}
}

// ChannelOf finds a channel by its id; nil when there is none.
func (w *World) ChannelOf(id string) *Channel {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.channels[id]
}
