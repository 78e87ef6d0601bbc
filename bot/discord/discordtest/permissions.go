package discordtest

// Permission bits (Permissions, Bitwise Permission Flags) that the stand-in acts on.
const (
	Administrator   int64 = 1 << 3
	ViewChannel     int64 = 1 << 10
	SendMessages    int64 = 1 << 11
	ManageMessages  int64 = 1 << 13
	EmbedLinks      int64 = 1 << 14
	AttachFiles     int64 = 1 << 15
	ReadHistory     int64 = 1 << 16
	MentionEveryone int64 = 1 << 17
	UseCommands     int64 = 1 << 31

	everything int64 = 1<<53 - 1
)

// everyone is what members may do in a new guild; dmPermissions is what a bot may do in a direct message
// (Interaction Object, app_permissions).
const (
	everyone      = ViewChannel | SendMessages | EmbedLinks | AttachFiles | ReadHistory | UseCommands
	dmPermissions = ViewChannel | SendMessages | EmbedLinks | AttachFiles | ReadHistory | MentionEveryone | UseCommands
)

// may computes what a user may do in a channel (Permissions, Permission Overwrites): roles added up, then
// the overwrites for everyone, for roles and for the member; without VIEW_CHANNEL nothing is left.
func (c *Channel) may(u *User) int64 {
	if c.guild == nil {
		if u == c.recipient || u == c.w.bot {
			return dmPermissions
		}
		return 0
	}
	m := c.guild.members[u.ID]
	if m == nil || c.deleted {
		return 0
	}
	p := c.guild.base(m)
	if p&Administrator != 0 {
		return everything
	}
	if o, ok := c.overwrites[c.guild.ID]; ok {
		p = p&^o.deny | o.allow
	}
	var allow, deny int64
	for _, r := range m.roles {
		o := c.overwrites[r.ID]
		allow, deny = allow|o.allow, deny|o.deny
	}
	p = p&^deny | allow
	if o, ok := c.overwrites[u.ID]; ok {
		p = p&^o.deny | o.allow
	}
	if p&ViewChannel == 0 {
		return 0
	}
	return p
}

// base is what a member's roles allow, before any channel has its say.
func (g *Guild) base(m *member) int64 {
	p := g.everyone.permissions
	for _, r := range m.roles {
		p |= r.permissions
	}
	if p&Administrator != 0 {
		return everything
	}
	return p
}

func (c *Channel) can(u *User, permission int64) bool { return c.may(u)&permission == permission }
