package discordtest

import (
	"regexp"
	"slices"
)

// Ping is one notification that a message of the bot caused.
type Ping struct {
	MessageID string
	Channel   *Channel
	Who       string // "@everyone", "@here", "@" and a role's name, or a user's name
}

// allowedMentions is the object of that name (Message Object, Allowed Mentions).
type allowedMentions struct {
	Parse       []string `json:"parse"`
	Roles       []string `json:"roles"`
	Users       []string `json:"users"`
	RepliedUser bool     `json:"replied_user"`
}

var (
	userMention     = regexp.MustCompile(`<@!?(\d+)>`)
	roleMention     = regexp.MustCompile(`<@&(\d+)>`)
	everyoneMention = regexp.MustCompile(`@(everyone|here)\b`)
)

// mentionAll works out whom a message mentions, from its text (API Reference, Message Formatting) and, when
// it is a reply that notifies, whom it answers. Allowed mentions decide what counts.
func (m *message) mentionAll(notifies bool) {
	w, a := m.channel.w, m.allowed
	m.mentions, m.roles, m.everyone = nil, nil, false
	for _, match := range userMention.FindAllStringSubmatch(m.content, -1) {
		if u := w.users[match[1]]; u != nil && a.allows("users", u.ID) && !slices.Contains(m.mentions, u) {
			m.mentions = append(m.mentions, u)
		}
	}
	if m.reply != nil && notifies && !slices.Contains(m.mentions, m.reply.author) {
		m.mentions = append(m.mentions, m.reply.author)
	}
	g := m.channel.guild
	if g == nil {
		return
	}
	everybody := m.channel.can(m.author, MentionEveryone)
	for _, match := range roleMention.FindAllStringSubmatch(m.content, -1) {
		i := slices.IndexFunc(g.roles, func(r *Role) bool { return r.ID == match[1] })
		if i >= 0 && (g.roles[i].mentionable || everybody) && a.allows("roles", match[1]) {
			m.roles = append(m.roles, g.roles[i])
		}
	}
	m.everyone = everybody && a.allows("everyone", "") && everyoneMention.MatchString(m.content)
}

// allows says whether mentions of a kind, or of one id, take effect. Without the object all do.
func (a *allowedMentions) allows(kind, id string) bool {
	switch {
	case a == nil, slices.Contains(a.Parse, kind):
		return true
	case kind == "users":
		return slices.Contains(a.Users, id)
	case kind == "roles":
		return slices.Contains(a.Roles, id)
	}
	return false
}

// ping records whom a new message of the bot rings. Ephemeral messages ring nobody.
func (w *World) ping(m *message) {
	if m.author != w.bot || m.viewer != nil {
		return
	}
	add := func(who string) { w.pings = append(w.pings, Ping{MessageID: m.id, Channel: m.channel, Who: who}) }
	if m.everyone {
		add(everyoneMention.FindString(m.content))
	}
	for _, r := range m.roles {
		add("@" + r.Name)
	}
	for _, u := range m.mentions {
		if u != w.bot {
			add(u.Name)
		}
	}
}

// Pings are all notifications by mention that the bot has caused. Empty means nobody was pinged; a direct
// message as such is not counted.
func (w *World) Pings() []Ping {
	w.mu.Lock()
	defer w.mu.Unlock()
	return slices.Clone(w.pings)
}
