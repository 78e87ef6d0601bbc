package discordtest

import (
	"cmp"
	"maps"
	"slices"
	"strconv"
)

// obj is a JSON object. Objects are written by hand, not with the client library's own types, so that a
// mistake in those cannot hide itself.
type obj = map[string]any

func (u *User) json() obj {
	return obj{"id": u.ID, "username": u.Name, "discriminator": "0", "global_name": u.Name, "avatar": nil, "bot": u.bot, "public_flags": 0}
}

func (r *Role) json() obj {
	tags := obj{} // Permissions, Role Tags Structure: null is true
	if r == r.guild.botRole {
		tags["bot_id"] = r.guild.w.bot.ID
	} else if r.managed {
		tags["premium_subscriber"] = nil
	}
	return obj{"id": r.ID, "name": r.Name, "color": 0, "hoist": false, "managed": r == r.guild.botRole || r.managed, "tags": tags,
		"mentionable": r.mentionable, "permissions": strconv.FormatInt(r.permissions, 10), "position": slices.Index(r.guild.roles, r), "flags": 0}
}

// memberJSON is a member with the user inside; the caller may add to it.
func (g *Guild) memberJSON(u *User) obj {
	m := g.members[u.ID]
	roles := []string{}
	for _, r := range m.roles {
		roles = append(roles, r.ID)
	}
	return obj{"user": u.json(), "nick": nil, "avatar": nil, "roles": roles, "joined_at": stamp(m.joined), "deaf": false, "mute": false, "flags": 0, "pending": false}
}

func (g *Guild) json() obj {
	roles := []obj{}
	for _, r := range g.roles {
		roles = append(roles, r.json())
	}
	return obj{"id": g.ID, "name": g.Name, "owner_id": "1", "roles": roles, "preferred_locale": "en-GB", "emojis": []obj{}, "features": []string{}}
}

// createJSON is what GUILD_CREATE carries (Gateway Events, Guild Create): without GUILD_MEMBERS the bot is
// the only member listed.
func (g *Guild) createJSON(s *session) obj {
	o := g.json()
	members := []obj{g.memberJSON(g.w.bot)}
	if s.intents&intentGuildMembers != 0 {
		members = nil
		for _, id := range slices.SortedFunc(maps.Keys(g.members), byID) {
			members = append(members, g.memberJSON(g.members[id].user))
		}
	}
	channels := []obj{}
	for _, c := range g.channels {
		if !c.deleted {
			channels = append(channels, c.json())
		}
	}
	o["members"], o["channels"], o["member_count"] = members, channels, len(g.members)
	o["joined_at"], o["large"], o["unavailable"] = stamp(g.members[g.w.bot.ID].joined), false, false
	o["threads"], o["voice_states"], o["presences"] = []obj{}, []obj{}, []obj{}
	return o
}

func (c *Channel) json() obj {
	last := any(nil)
	if n := len(c.messages); n > 0 {
		last = c.messages[n-1].id
	}
	if c.guild == nil {
		return obj{"id": c.ID, "type": 1, "last_message_id": last, "recipients": []obj{c.recipient.json()}}
	}
	overwrites := []obj{}
	for _, id := range slices.SortedFunc(maps.Keys(c.overwrites), byID) {
		o := c.overwrites[id]
		overwrites = append(overwrites, obj{"id": id, "type": o.kind,
			"allow": strconv.FormatInt(o.allow, 10), "deny": strconv.FormatInt(o.deny, 10)})
	}
	return obj{"id": c.ID, "type": 0, "guild_id": c.guild.ID, "name": c.Name, "position": slices.Index(c.guild.channels, c),
		"permission_overwrites": overwrites, "last_message_id": last, "nsfw": false, "topic": nil, "parent_id": nil}
}

// byID orders snowflakes by age; they are numbers in text.
func byID(a, b string) int { return cmp.Or(cmp.Compare(len(a), len(b)), cmp.Compare(a, b)) }
