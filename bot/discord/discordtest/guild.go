package discordtest

import (
	"slices"
	"time"
)

// Guild is a Discord server. The bot is in it until Expel.
type Guild struct {
	w        *World
	ID       string
	Name     string
	everyone *Role
	botRole  *Role
	roles    []*Role
	channels []*Channel
	members  map[string]*member
}

// Role is a role of a guild.
type Role struct {
	guild       *Guild
	ID          string
	Name        string
	permissions int64
	mentionable bool
	managed     bool // as those of boosters and subscribers are, which people hold
}

type member struct {
	user   *User
	roles  []*Role
	joined time.Time
}

type overwrite struct {
	kind        int // 0 a role, 1 a member
	allow, deny int64
}

// Target is whom a channel's overwrite is about: a *Role or a *User.
type Target interface{ target() (id string, kind int) }

func (r *Role) target() (string, int) { return r.ID, 0 }
func (u *User) target() (string, int) { return u.ID, 1 }

// Mention is how the role is mentioned in a message's text.
func (r *Role) Mention() string { return "<@&" + r.ID + ">" }

// Guild makes a guild that has the bot in it.
func (w *World) Guild(name string) *Guild {
	g := &Guild{w: w, Name: name, members: map[string]*member{}}
	w.change(func() {
		g.ID = w.id()
		g.everyone = &Role{guild: g, ID: g.ID, Name: "@everyone", permissions: everyone}
		g.botRole = &Role{guild: g, ID: w.id(), Name: w.bot.Name}
		g.roles = []*Role{g.everyone, g.botRole}
		g.members[w.bot.ID] = &member{user: w.bot, roles: []*Role{g.botRole}, joined: w.now}
		w.guilds = append(w.guilds, g)
		w.dispatch(event{name: "GUILD_CREATE", intent: intentGuilds, guild: g, each: g.createJSON})
	})
	return g
}

// Everyone is the role that every member has.
func (g *Guild) Everyone() *Role { return g.everyone }

// BotRole is the role that came with the bot; it adds nothing until SetPermissions.
func (g *Guild) BotRole() *Role { return g.botRole }

// Role makes a role with these permissions on top of everyone's.
func (g *Guild) Role(name string, permissions ...int64) *Role {
	r := &Role{guild: g, Name: name}
	for _, p := range permissions {
		r.permissions |= p
	}
	g.w.change(func() {
		r.ID = g.w.id()
		g.roles = append(g.roles, r)
		g.w.dispatch(event{name: "GUILD_ROLE_CREATE", intent: intentGuilds, guild: g, data: obj{"guild_id": g.ID, "role": r.json()}})
	})
	return r
}

// SetManaged makes a role one that Discord itself gives to people, as that of a server's boosters.
func (r *Role) SetManaged() {
	r.guild.w.change(func() {
		r.managed = true
		r.updated()
	})
}

// SetPermissions changes what a role allows in the whole guild.
func (r *Role) SetPermissions(permissions int64) {
	r.guild.w.change(func() {
		r.permissions = permissions
		r.updated()
	})
}

// SetMentionable says whether anybody may ping the role.
func (r *Role) SetMentionable(yes bool) {
	r.guild.w.change(func() {
		r.mentionable = yes
		r.updated()
	})
}

func (r *Role) updated() {
	r.guild.w.dispatch(event{name: "GUILD_ROLE_UPDATE", intent: intentGuilds, guild: r.guild,
		data: obj{"guild_id": r.guild.ID, "role": r.json()}})
}

// Delete takes the role from everybody and removes it.
func (r *Role) Delete() {
	g := r.guild
	g.w.change(func() {
		g.roles = slices.DeleteFunc(g.roles, func(x *Role) bool { return x == r })
		for _, m := range g.members {
			m.roles = slices.DeleteFunc(m.roles, func(x *Role) bool { return x == r })
		}
		g.w.dispatch(event{name: "GUILD_ROLE_DELETE", intent: intentGuilds, guild: g, data: obj{"guild_id": g.ID, "role_id": r.ID}})
	})
}

// Member lets the user of that name join with these roles; the user is made if the world has none.
func (g *Guild) Member(name string, roles ...*Role) *User {
	u := g.w.User(name)
	g.w.change(func() {
		g.members[u.ID] = &member{user: u, roles: roles, joined: g.w.now}
		g.memberEvent("GUILD_MEMBER_ADD", u)
	})
	return u
}

// SetRoles gives a member these roles in place of those they had; the bot keeps its own role beside them.
func (g *Guild) SetRoles(u *User, roles ...*Role) {
	g.w.change(func() {
		m := g.members[u.ID]
		if m == nil {
			g.w.mistake("%s is not in %s", u.Name, g.Name)
		}
		if u == g.w.bot && !slices.Contains(roles, g.botRole) {
			roles = append([]*Role{g.botRole}, roles...)
		}
		m.roles = roles
		g.memberEvent("GUILD_MEMBER_UPDATE", u)
	})
}

// Remove lets a member leave.
func (g *Guild) Remove(u *User) {
	g.w.change(func() {
		delete(g.members, u.ID)
		g.w.dispatch(event{name: "GUILD_MEMBER_REMOVE", intent: intentGuildMembers, guild: g,
			data: obj{"guild_id": g.ID, "user": u.json()}})
	})
}

// memberEvent tells of a member. Updates of the bot itself need no intent (Gateway, Intents, Caveats).
func (g *Guild) memberEvent(name string, u *User) {
	intent := intentGuildMembers
	if u == g.w.bot && name == "GUILD_MEMBER_UPDATE" {
		intent = 0
	}
	data := g.memberJSON(u)
	data["guild_id"] = g.ID
	g.w.dispatch(event{name: name, intent: intent, guild: g, data: data})
}

// Expel removes the bot from the guild.
func (g *Guild) Expel() {
	g.w.change(func() {
		g.w.dispatch(event{name: "GUILD_DELETE", intent: intentGuilds, guild: g, data: obj{"id": g.ID}})
		delete(g.members, g.w.bot.ID)
		delete(g.w.commands, g.ID)
	})
}

// Invite brings the bot back into a guild it was expelled from.
func (g *Guild) Invite() {
	g.w.change(func() {
		g.members[g.w.bot.ID] = &member{user: g.w.bot, roles: []*Role{g.botRole}, joined: g.w.now}
		g.w.dispatch(event{name: "GUILD_CREATE", intent: intentGuilds, guild: g, each: g.createJSON})
	})
}

// Outage makes the guild unavailable for a while, as Discord's own outages do: an event, and nothing else
// (Gateway Events, Guild Delete).
func (g *Guild) Outage() {
	g.w.change(func() {
		g.w.dispatch(event{name: "GUILD_DELETE", intent: intentGuilds, guild: g, data: obj{"id": g.ID, "unavailable": true}})
	})
}

func (g *Guild) hasBot() bool { return g.members[g.w.bot.ID] != nil }
