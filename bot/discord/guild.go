package discord

import (
	"slices"
	"strings"
	"time"

	"github.com/bwmarrin/discordgo"

	"footing/rehab"
)

// guild is what is kept of a server to judge who is who and who reads which channel. Nothing of its people.
type guild struct {
	id, name, owner string
	read            time.Time // when all of it was last told or asked for; events only tell what changes
	changes         int       // events since
	roles           map[string]*role
	channels        map[string]*discordgo.Channel
}

// role is a role with its tags, of which the library knows nothing.
type role struct {
	discordgo.Role
	Tags struct {
		Bot string `json:"bot_id"`
	} `json:"tags"`
}

// toldGuild is a server as Discord tells of it.
type toldGuild struct {
	discordgo.Guild
	Roles []*role `json:"roles"`
}

func newGuild(g *toldGuild) *guild {
	out := &guild{id: g.ID, name: g.Name, owner: g.OwnerID, roles: map[string]*role{}, channels: map[string]*discordgo.Channel{}}
	for _, r := range g.Roles {
		out.roles[r.ID] = r
	}
	for _, c := range g.Channels {
		out.channels[c.ID] = c
	}
	return out
}

// mayManage reports whether somebody owns the server or may manage it.
func (g *guild) mayManage(user string, roles []string) bool {
	const manages = discordgo.PermissionAdministrator | discordgo.PermissionManageGuild
	return g.owner == user || g.permissions(roles)&manages != 0
}

// permissions are those of some roles in the whole server, everyone's included.
func (g *guild) permissions(roles []string) int64 {
	var out int64
	for id, r := range g.roles {
		if id == g.id || slices.Contains(roles, id) {
			out |= r.Permissions
		}
	}
	return out
}

// fault says why a team's medical channel is not private, "" when it is: who besides its medical roles, bots and
// the server's administrators may read it; self is the bot. Those of boosters and subscribers are managed too, but
// people hold them. A channel that is not there has another fault.
func (g *guild) fault(rooms rehab.Rooms, self string) string {
	c := g.channels[rooms.Medical]
	if c == nil {
		return ""
	}
	var readers, over []string
	for id, r := range g.roles {
		if slices.Contains(rooms.MedicalRoles, id) || r.Tags.Bot != "" {
			continue
		}
		if r.Permissions&discordgo.PermissionAdministrator != 0 {
			if id == g.id || slices.Contains(rooms.CoachRoles, id) {
				over = append(over, g.called(id))
			}
			continue
		}
		if g.reads(c, id) {
			readers = append(readers, g.called(id))
		}
	}
	people := 0
	for _, o := range c.PermissionOverwrites {
		if o.Type == discordgo.PermissionOverwriteTypeMember && o.ID != self && o.Allow&discordgo.PermissionViewChannel != 0 {
			people++
		}
	}
	if people > 0 {
		readers = append(readers, "people named one by one")
	}
	return strings.TrimSpace(faulty(readers, "View Channel") + " " + faulty(over, "Administrator"))
}

// faulty says who can read the channel, and what to take from them.
func faulty(readers []string, right string) string {
	if len(readers) == 0 {
		return ""
	}
	slices.Sort(readers)
	return "This channel can also be read by " + strings.Join(readers, ", ") + ": take “" + right + "” from them."
}

// called is how a role is named to people.
func (g *guild) called(id string) string {
	if id == g.id {
		return "everyone"
	}
	return "the role " + g.roles[id].Name
}

// reads reports whether someone with one role may see a channel.
func (g *guild) reads(c *discordgo.Channel, role string) bool {
	may := g.permissions([]string{role})&discordgo.PermissionViewChannel != 0
	for _, id := range []string{g.id, role} { // everyone's overwrite first, then the role's
		for _, o := range c.PermissionOverwrites {
			if o.ID != id || o.Type != discordgo.PermissionOverwriteTypeRole {
				continue
			}
			if o.Deny&discordgo.PermissionViewChannel != 0 {
				may = false
			}
			if o.Allow&discordgo.PermissionViewChannel != 0 {
				may = true
			}
		}
	}
	return may
}
