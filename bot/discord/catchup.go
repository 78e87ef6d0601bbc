package discord

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/bwmarrin/discordgo"

	"footing/bot"
)

const (
	sweepEvery = 2 * time.Minute
	lookBack   = 7 * 24 * time.Hour // for edits and deletions of what was read before
	mostPages  = 20                 // of 100 messages, a sweep
)

// room is a channel that is read back.
type room struct {
	channel string
	place   bot.Place
	team    int64  // 0 for direct messages
	guild   string // likewise empty
	plain   bool   // plain lines are for the bot, not only mentions
}

// sweeps reads rooms back after every connection and now and then: gateway events of a gap are lost.
func (a *Adapter) sweeps(ctx context.Context, shard int, begun <-chan struct{}) {
	again := a.Times.First // what failed is tried again soon
	for {
		all := false
		func() {
			began := time.Now()
			defer func() {
				if ctx.Err() == nil && len(begun) == 0 { // else what came in since is held, too
					a.releaseShard(ctx, shard, began)
				}
			}()
			defer a.bot.Recover("gateway")
			all = a.sweepAll(ctx, shard, begun)
		}()
		wait := sweepEvery
		if all {
			again = a.Times.First
		} else {
			wait, again = again, min(2*again, sweepEvery)
		}
		select {
		case <-ctx.Done():
			return
		case <-begun: // another session on the same connection
		case <-time.After(wait):
		}
	}
}

// shardOf is the shard a server's events come by; those of direct messages, without one, come by the first
// (Discord's documentation of sharding).
func (a *Adapter) shardOf(guild string) int {
	id, err := strconv.ParseUint(guild, 10, 64)
	if err != nil {
		return 0
	}
	return int((id >> 22) % uint64(max(a.Shards, 1)))
}

func (a *Adapter) rooms(ctx context.Context) ([]room, error) {
	teams, err := a.bot.Teams(ctx)
	if err != nil {
		return nil, err
	}
	var out []room
	for _, t := range teams {
		if t.Rooms.Medical != "" {
			out = append(out, room{t.Rooms.Medical, bot.MedicalRoom, t.ID, t.Key, a.Content})
		}
		if t.Rooms.Staff != "" {
			out = append(out, room{t.Rooms.Staff, bot.StaffRoom, t.ID, t.Key, false})
		}
	}
	directs, err := a.bot.Directs(ctx)
	for _, d := range directs {
		out = append(out, room{channel: d.Channel, place: bot.DirectTo(d.Account), plain: true})
	}
	return out, err
}

// reached is how far a sweep read a room, and the queue's mark when all that was handed over.
type reached struct {
	last string
	mark int
}

// sweep reads one room from its cursor on. The cursor follows one sweep behind, and only once all that the sweep
// handed over is handled: a process that dies between reads it again, and each event counts once however often it is read.
func (a *Adapter) sweep(ctx context.Context, r room) error {
	cursor, err := a.bot.Cursor(ctx, r.channel)
	if err != nil {
		return err
	}
	if cursor == "" {
		return a.begin(ctx, r)
	}
	fresh, err := a.page(ctx, r.channel, "after", cursor)
	if err != nil {
		return err
	}
	old, err := a.page(ctx, r.channel, "before", cursor)
	if err != nil {
		return err
	}
	last := cursor
	for _, m := range fresh {
		if err := a.again(ctx, r, m); err != nil {
			return err
		}
		last = m.ID
	}
	for _, m := range old {
		if m.EditedTimestamp == nil {
			continue
		}
		if err := a.again(ctx, r, m); err != nil {
			return err
		}
	}
	if err := a.missing(ctx, r, append(old, fresh...)); err != nil {
		return err
	}
	a.mu.Lock()
	behind, swept := a.swept[r.channel]
	handled := swept && a.queue.Done(r.channel, behind.mark)
	if handled || !swept {
		a.swept[r.channel] = reached{last, a.queue.Mark()}
	}
	a.mu.Unlock()
	if handled && behind.last != cursor {
		return a.bot.PutCursor(ctx, r.channel, r.team, behind.last)
	}
	return nil
}

// begin starts a room at its present end: what was said before the bot was there is not for it. What came by
// the connection just opened is: a process that dies before it has handled that must find it again.
func (a *Adapter) begin(ctx context.Context, r room) error {
	var list []*discordgo.Message
	q := url.Values{"limit": {"1"}}
	a.mu.Lock()
	if a.Clock().Sub(a.began) < time.Minute {
		q.Set("before", snowflake(a.began))
	}
	a.mu.Unlock()
	if err := a.request(ctx, http.MethodGet, discordgo.EndpointChannelMessages(r.channel)+"?"+q.Encode(), nil, &list); err != nil {
		return err
	}
	last := "0"
	if len(list) > 0 {
		last = list[0].ID
	}
	return a.bot.PutCursor(ctx, r.channel, r.team, last)
}

// page lists messages after a cursor, all of them, or before it, those of the last days; oldest first.
func (a *Adapter) page(ctx context.Context, channel, way, from string) ([]*discordgo.Message, error) {
	var out []*discordgo.Message
	for range mostPages {
		var list []*discordgo.Message
		q := url.Values{"limit": {"100"}, way: {from}}
		if err := a.request(ctx, http.MethodGet, discordgo.EndpointChannelMessages(channel)+"?"+q.Encode(), nil, &list); err != nil {
			return nil, err
		}
		slices.Reverse(list)
		if way == "after" {
			out = append(out, list...)
		} else {
			out = append(list, out...)
		}
		if len(list) < 100 || way == "before" && list[0].Timestamp.Before(a.Clock().Add(-lookBack)) {
			break
		}
		from = list[len(list)-1].ID
		if way == "before" {
			from = list[0].ID
		}
	}
	return out, nil
}

// again hands a message over that may have been seen before. An error means that it has to be read once more.
func (a *Adapter) again(ctx context.Context, r room, m *discordgo.Message) error {
	if m.Author == nil || m.Author.Bot {
		return nil
	}
	m.GuildID = r.guild
	if r.guild != "" {
		if err := a.readGuild(ctx, r.guild); err != nil { // a new process may not have been told of it yet: who owns it, which roles there are
			return err
		}
		member, err := a.member(ctx, r.guild, m.Author.ID)
		if hasLeft(err) { // what they may do now is nothing
			return nil
		}
		if err != nil {
			return err
		}
		m.Member = member
	}
	kind := bot.Created
	if m.EditedTimestamp != nil {
		kind = bot.Edited
	}
	in, yes, err := a.said(ctx, m, kind)
	if yes && !a.queue.Hand(ctx, in) {
		return ctx.Err() //nolint:wrapcheck // the connection ended
	}
	return err
}

// hasLeft reports whether Discord says of somebody that they are not on the server, or not there at all.
func hasLeft(err error) bool {
	return code(err) == unknownMember || code(err) == unknownUser
}

// member reads somebody's present roles: history carries none.
func (a *Adapter) member(ctx context.Context, guild, user string) (*discordgo.Member, error) {
	var m discordgo.Member
	return &m, a.request(ctx, http.MethodGet, discordgo.EndpointGuildMember(guild, user), nil, &m)
}

// missing finds messages with records that are gone: absent from what was read, and not there when asked
// for by themselves. A channel that cannot be read proves nothing.
func (a *Adapter) missing(ctx context.Context, r room, read []*discordgo.Message) error {
	if r.team == 0 {
		return nil
	}
	keys, err := a.bot.Standing(ctx, r.team, r.place, a.Clock().Add(-lookBack))
	if err != nil {
		return err
	}
	for _, key := range keys {
		if _, err := strconv.ParseUint(key, 10, 64); err != nil || slices.ContainsFunc(read, func(m *discordgo.Message) bool { return m.ID == key }) {
			continue
		}
		err := a.request(ctx, http.MethodGet, discordgo.EndpointChannelMessage(r.channel, key), nil, nil)
		if code(err) == unknownMessage {
			a.gone(ctx, r.guild, r.channel, key)
		}
	}
	return nil
}

// promised is how long before its first try an answer's message may have been made: it stands where it was promised.
const promised = 15 * time.Minute

// readBack looks for a message that an earlier try may have left, by what it says, its buttons and its time.
func (a *Adapter) readBack(ctx context.Context, channel string, out outgoing, tried time.Time) (id string, err error) {
	list, err := a.page(ctx, channel, "after", snowflake(tried.Add(-promised)))
	if err != nil {
		return "", err
	}
	for _, m := range list {
		if m.Author == nil || m.Author.ID != a.self || !says(m, out) {
			continue
		}
		known, err := a.bot.Store.KnownAsSent(ctx, m.ID)
		if err != nil {
			return "", err
		}
		if !known { // else it is another message that says the same
			return m.ID, nil
		}
	}
	return "", nil
}

// says reports whether a message says what was to be sent. Discord takes white space off both ends.
func says(m *discordgo.Message, out outgoing) bool {
	embed := func(a, b *discordgo.MessageEmbed) bool {
		return strings.TrimSpace(a.Description) == strings.TrimSpace(b.Description)
	}
	return strings.TrimSpace(m.Content) == strings.TrimSpace(out.Content) && slices.EqualFunc(m.Embeds, out.Embeds, embed) && sameButtons(m.Components, out.Components)
}

func sameButtons(a, b []discordgo.MessageComponent) bool {
	return slices.Equal(tokens(a), tokens(b))
}

func tokens(rows []discordgo.MessageComponent) (out []string) {
	for _, row := range rows {
		cells := []discordgo.MessageComponent{}
		switch r := row.(type) {
		case *discordgo.ActionsRow:
			cells = r.Components
		case discordgo.ActionsRow:
			cells = r.Components
		}
		for _, c := range cells {
			switch b := c.(type) {
			case *discordgo.Button:
				out = append(out, b.CustomID)
			case discordgo.Button:
				out = append(out, b.CustomID)
			}
		}
	}
	return out
}

// snowflake is the first id of a moment (Discord's documentation of snowflakes: milliseconds since 2015).
func snowflake(t time.Time) string {
	return strings.TrimPrefix(strconv.FormatInt((t.UnixMilli()-1420070400000)<<22, 10), "-")
}
