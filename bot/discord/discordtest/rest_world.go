package discordtest

import (
	"encoding/json"
	"maps"
	"slices"
	"strconv"
)

// Flags of an application below 100 guilds whose privileged intents are switched on (Application Resource,
// Application Flags).
const (
	flagPresenceLimited = 1 << 13
	flagMembersLimited  = 1 << 15
	flagContentLimited  = 1 << 19
)

func (w *World) appFlags() int {
	flags := 0
	for intent, flag := range map[int]int{intentGuildPresences: flagPresenceLimited, intentGuildMembers: flagMembersLimited, intentMessageContent: flagContentLimited} {
		if w.privileged&intent != 0 {
			flags |= flag
		}
	}
	return flags
}

func (w *World) getGateway(*call) (reply, error) { return ok(obj{"url": w.gateway.url()}) }

func (w *World) getGatewayBot(*call) (reply, error) {
	return ok(obj{"url": w.gateway.url(), "shards": 1, "session_start_limit": obj{"total": 1000,
		"remaining": max(0, 1000-w.gateway.identifies), "reset_after": 86400000, "max_concurrency": 1}})
}

func (w *World) getApplication(*call) (reply, error) {
	return ok(obj{"id": w.appID, "name": w.bot.Name, "description": "", "icon": nil, "flags": w.appFlags(), "bot": w.bot.json(), "bot_public": false})
}

func (w *World) getUser(c *call) (reply, error) {
	id := c.PathValue("user")
	if id == "@me" {
		id = w.bot.ID
	}
	if u := w.users[id]; u != nil {
		return ok(u.json())
	}
	return reply{}, errUnknownUser
}

func (w *World) getOwnGuilds(*call) (reply, error) {
	out := []obj{}
	for _, g := range w.guilds {
		if g.hasBot() {
			out = append(out, obj{"id": g.ID, "name": g.Name, "owner": false,
				"permissions": strconv.FormatInt(g.base(g.members[w.bot.ID]), 10), "features": []string{}})
		}
	}
	return ok(out)
}

// createDM opens direct messages (Create DM). That works for people who refuse them; sending does not.
func (w *World) createDM(c *call) (reply, error) {
	var in struct {
		RecipientID string `json:"recipient_id"`
	}
	if json.Unmarshal(c.body, &in) != nil {
		return reply{}, errInvalidJSON
	}
	u := w.users[in.RecipientID]
	if u == nil || u.bot { // from memory
		return reply{}, errRecipient
	}
	return ok(u.openDM().json())
}

// guild finds a guild the bot is in. Others are unknown to it (from memory: 10004, not 50001).
func (w *World) guild(c *call) (*Guild, error) {
	for _, g := range w.guilds {
		if g.ID == c.PathValue("guild") && g.hasBot() {
			return g, nil
		}
	}
	return nil, errUnknownGuild
}

func (w *World) getGuild(c *call) (reply, error) {
	g, err := w.guild(c)
	if err != nil {
		return reply{}, err
	}
	return ok(g.json())
}

func (w *World) getRoles(c *call) (reply, error) {
	g, err := w.guild(c)
	if err != nil {
		return reply{}, err
	}
	return ok(g.json()["roles"])
}

// getChannels lists all channels, those the bot may not see included (from memory).
func (w *World) getChannels(c *call) (reply, error) {
	g, err := w.guild(c)
	if err != nil {
		return reply{}, err
	}
	out := []obj{}
	for _, channel := range g.channels {
		if !channel.deleted {
			out = append(out, channel.json())
		}
	}
	return ok(out)
}

func (w *World) getMember(c *call) (reply, error) {
	g, err := w.guild(c)
	if err != nil {
		return reply{}, err
	}
	u := w.users[c.PathValue("user")]
	switch {
	case u == nil:
		return reply{}, errUnknownUser
	case g.members[u.ID] == nil:
		return reply{}, errUnknownMember
	}
	return ok(g.memberJSON(u))
}

// getMembers needs the GUILD_MEMBERS intent switched on for the app (List Guild Members).
func (w *World) getMembers(c *call) (reply, error) {
	g, err := w.guild(c)
	if err != nil {
		return reply{}, err
	}
	if w.privileged&intentGuildMembers == 0 {
		return reply{}, errMissingAccess
	}
	n, err := limitOf(c, 1, 1000)
	if err != nil {
		return reply{}, err
	}
	out := []obj{}
	for _, id := range slices.SortedFunc(maps.Keys(g.members), byID) {
		if byID(id, c.FormValue("after")) > 0 && len(out) < n {
			out = append(out, g.memberJSON(g.members[id].user))
		}
	}
	return ok(out)
}

// limitOf reads ?limit=, from 1 to most.
func limitOf(c *call, otherwise, most int) (int, error) {
	text := c.URL.Query().Get("limit")
	if text == "" {
		return otherwise, nil
	}
	n, err := strconv.Atoi(text)
	f := &form{}
	if err != nil || n < 1 || n > most {
		f.add("limit", "NUMBER_TYPE_MAX", "int value should be between 1 and "+strconv.Itoa(most)+".")
	}
	return n, f.err()
}
