package discordtest

import "strconv"

// Forged is an interaction as Discord's own app would not send it: to try what a bot trusts.
type Forged struct {
	Press   string           // the custom id of a button that need not be there
	Command string           // a slash command, without looking at what it declares
	Options []map[string]any // its options as JSON: name, type, value
	Modal   string           // the custom id of a form that need not be open
	Inputs  map[string]string
	Roles   []string // ids of roles that the member claims besides their own
	Guild   *Guild   // where it is said to come from, when that is not the channel's own
}

// Forges sends a forged interaction from a channel.
func (u *User) Forges(c *Channel, f Forged) *Interaction {
	var i *Interaction
	u.w.change(func() {
		kind, data := kindComponent, obj{"custom_id": f.Press, "component_type": typeButton, "id": 1}
		switch {
		case f.Command != "":
			kind, data = kindCommand, obj{"id": u.w.id(), "name": f.Command, "type": 1, "options": f.Options}
		case f.Modal != "":
			rows := []obj{}
			for name, text := range f.Inputs {
				rows = append(rows, obj{"type": typeRow, "id": 1, "components": []obj{{"type": typeInput, "id": 2, "custom_id": name, "value": text}}})
			}
			kind, data = kindModal, obj{"custom_id": f.Modal, "components": rows}
		}
		if g := c.guild; g != nil && g.members[u.ID] != nil {
			m := g.members[u.ID]
			defer func(own []*Role) { m.roles = own }(m.roles)
			for _, id := range f.Roles {
				m.roles = append(m.roles[:len(m.roles):len(m.roles)], &Role{guild: g, ID: id, Name: "claimed " + strconv.Quote(id)})
			}
		}
		if f.Guild != nil {
			defer func(own *Guild) { c.guild = own }(c.guild)
			c.guild = f.Guild
		}
		i = u.interact(kind, c, nil, data)
	})
	return i
}

// Automaton is another bot, a member of the guild with these roles.
func (g *Guild) Automaton(name string, roles ...*Role) *User {
	u := g.Member(name, roles...)
	g.w.change(func() { u.bot = true })
	return u
}

// Webhook posts a message in a channel as one of its webhooks does, under any name: its author is nobody's
// account and no member (Message Object, webhook_id).
func (c *Channel) Webhook(name, text string) (id string) {
	c.w.change(func() {
		m := &message{channel: c, author: &User{w: c.w, ID: c.w.id(), Name: name}, content: text, id: c.w.id(), sent: c.w.now, webhook: true}
		m.mentionAll(false)
		c.w.post(m)
		id = m.id
	})
	return id
}
