package discord

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"time"

	"github.com/bwmarrin/discordgo"

	"footing/rehab"
)

// Finding is one thing that was looked at: in order when Cure is empty.
type Finding struct{ What, Cure string }

// The flags of an application that may read message text (Discord's documentation of application flags).
const mayReadText = 1<<18 | 1<<19

// Check looks whether Discord lets the bot do its work: token, intents, the clock, and in every team its
// rooms and rights there. Each fault comes with what to change.
func (a *Adapter) Check(ctx context.Context, teams []rehab.Team) []Finding {
	var stop *Fatal
	switch err := a.Know(ctx); {
	case errors.As(err, &stop):
		return []Finding{{"token", stop.Says}}
	case err != nil:
		return []Finding{{"Discord", "It did not say who the bot is: look at the network, then try again."}}
	}
	out := []Finding{{What: "token"}, a.checkIntent(ctx)}
	if len(teams) == 0 {
		out = append(out, Finding{"teams", "No team is set up yet: invite the bot to a server; whoever owns or manages it types setup there."})
	}
	for _, t := range teams {
		out = append(out, a.checkTeam(ctx, t)...)
	}
	return out
}

func (a *Adapter) checkIntent(ctx context.Context) Finding {
	var app struct {
		Flags int `json:"flags"`
	}
	err := a.request(ctx, http.MethodGet, discordgo.EndpointApplication("@me"), nil, &app)
	switch {
	case err != nil:
		return Finding{"application", "Discord did not say what the application may do: try again."}
	case !a.Content:
		return Finding{What: "intents: direct messages, mentions and slash commands"}
	case app.Flags&mayReadText == 0:
		return Finding{"intents", "The application may not read message text: turn on Message Content Intent on its Bot page, or leave --content out."}
	}
	return Finding{What: "intents: plain lines in the medical channel too"}
}

// checkTeam looks at a team's server, rooms and the bot's rights in them.
func (a *Adapter) checkTeam(ctx context.Context, t rehab.Team) []Finding {
	name := fmt.Sprintf("team %d", t.ID)
	var g toldGuild
	if err := a.request(ctx, http.MethodGet, discordgo.EndpointGuild(t.Key), nil, &g); err != nil {
		return []Finding{{name, "The bot is not on that server any more: invite it again, or leave it."}}
	}
	if err := a.request(ctx, http.MethodGet, discordgo.EndpointGuildChannels(t.Key), nil, &g.Channels); err != nil {
		return []Finding{{name, "The server's channels cannot be listed: give the bot View Channels."}}
	}
	k := newGuild(&g)
	me, err := a.member(ctx, t.Key, a.self)
	if err != nil {
		return []Finding{{name, "The bot cannot see itself on that server: invite it again."}}
	}
	var out []Finding
	for _, r := range []struct{ what, id string }{{"medical channel", t.Rooms.Medical}, {"staff channel", t.Rooms.Staff}} {
		f := Finding{What: name + ", " + r.what}
		switch c := k.channels[r.id]; {
		case c == nil:
			f.Cure = "It is gone: run setup again and choose one."
		case k.in(c, a.self, me.Roles)&needed != needed:
			f.Cure = "Give the bot there: View Channel, Send Messages, Embed Links, Attach Files, Read Message History."
		}
		out = append(out, f)
	}
	roles := Finding{What: name + ", roles"}
	for _, id := range slices.Concat(t.Rooms.MedicalRoles, t.Rooms.CoachRoles) {
		if k.roles[id] == nil {
			roles.Cure = "A chosen role is gone: run setup again and choose one."
		}
	}
	return append(out, roles, Finding{name + ", privacy", k.fault(t.Rooms, a.self)})
}

const needed = discordgo.PermissionViewChannel | discordgo.PermissionSendMessages | discordgo.PermissionEmbedLinks | discordgo.PermissionAttachFiles | discordgo.PermissionReadMessageHistory

// in is what somebody may do in a channel (Discord's documentation of permission overwrites).
func (g *guild) in(c *discordgo.Channel, user string, roles []string) int64 {
	may := g.permissions(roles)
	if may&discordgo.PermissionAdministrator != 0 || g.owner == user {
		return discordgo.PermissionAll
	}
	var allow, deny int64
	for _, o := range c.PermissionOverwrites {
		switch {
		case o.ID == g.id:
			may = may&^o.Deny | o.Allow
		case o.Type == discordgo.PermissionOverwriteTypeRole && slices.Contains(roles, o.ID):
			allow, deny = allow|o.Allow, deny|o.Deny
		}
	}
	may = may&^deny | allow
	for _, o := range c.PermissionOverwrites {
		if o.Type == discordgo.PermissionOverwriteTypeMember && o.ID == user {
			may = may&^o.Deny | o.Allow
		}
	}
	return may
}

// Skew is how far this machine's clock is from Discord's.
func (a *Adapter) Skew(ctx context.Context) (time.Duration, error) {
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, discordgo.EndpointGateway, nil)
	if err != nil {
		return 0, fmt.Errorf("asking for the time: %w", err)
	}
	res, err := (&http.Client{Transport: a.Transport, Timeout: requestTime}).Do(r)
	if err != nil {
		return 0, fmt.Errorf("asking for the time: %w", err)
	}
	_ = res.Body.Close()
	theirs, err := http.ParseTime(res.Header.Get("Date"))
	if err != nil {
		return 0, fmt.Errorf("reading the time: %w", err)
	}
	return a.Clock().Sub(theirs), nil
}
