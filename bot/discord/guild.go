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
	roles           map[string]*discordgo.Role
	channels        map[string]*discordgo.Channel
}

func newGuild(g *discordgo.Guild) *guild {
	out := &guild{id: g.ID, name: g.Name, owner: g.OwnerID, roles: map[string]*discordgo.Role{}, channels: map[string]*discordgo.Channel{}}
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

// fault says why a team's medical channel is not private, "" when it is: who besides its medical roles and
// the server's administrators may read it; self is the bot. A channel that is not there has another fault.
func (g *guild) fault(rooms rehab.Rooms, self string) string {
	c := g.channels[rooms.Medical]
	if c == nil {
		return ""
	}
	var readers []string
	for id, r := range g.roles {
		if slices.Contains(rooms.MedicalRoles, id) || r.Permissions&discordgo.PermissionAdministrator != 0 || r.Managed {
			continue
		}
		if g.reads(c, id) {
			name := "the role " + r.Name
			if id == g.id {
				name = "everyone"
			}
			readers = append(readers, name)
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
	if len(readers) == 0 {
		return ""
	}
	slices.Sort(readers)
	return "This channel can also be read by " + strings.Join(readers, ", ") + ": take “View Channel” from them."
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
