package discord

import (
	"context"
	"maps"
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
	lookBack  = 7 * 24 * time.Hour // for edits and deletions of what was read before
	mostPages = 20                 // of 100 messages, a sweep
	mostHeld  = 1000               // events of a room, while it is read back
)

// room is a channel that is read back.
type room struct {
	channel string
	place   bot.Place
	team    int64  // 0 for direct messages
	guild   string // likewise empty
	plain   bool   // plain lines are for the bot, not only mentions
}

// hold keeps back what comes in from the rooms that are to be read back, until they are: so that each author's
// messages are handled in their order.
func (a *Adapter) hold(ctx context.Context) {
	rooms, err := a.rooms(ctx)
	if err != nil {
		a.Log.Warn("rooms to read back could not be listed")
	}
	a.mu.Lock()
	for _, r := range rooms {
		if _, holds := a.held[r.channel]; !holds {
			a.held[r.channel] = nil
		}
	}
	a.mu.Unlock()
	a.readSoon()
}

func (a *Adapter) readSoon() {
	select {
	case a.read <- struct{}{}:
	default: // it is said already
	}
}

// submit hands an event over, in its turn.
func (a *Adapter) submit(in bot.Inbound) {
	a.mu.Lock()
	defer a.mu.Unlock() // the queue never waits
	if list, holds := a.held[in.Channel]; holds && len(list) < mostHeld {
		a.held[in.Channel] = append(list, in)
		return
	}
	a.queue.Submit(in)
}

// release lets go what was held of a room.
func (a *Adapter) release(channel string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	list := a.held[channel]
	delete(a.held, channel)
	for _, in := range list {
		a.queue.Submit(in)
	}
}

func (a *Adapter) holds() (channels []string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	return slices.Collect(maps.Keys(a.held))
}

// sweeps reads rooms back after every beginning of a session and now and then: gateway events of a gap are
// lost. What fails is tried again soon.
func (a *Adapter) sweeps(ctx context.Context) {
	defer func() {
		for _, channel := range a.holds() {
			a.release(channel)
		}
	}()
	wait, again := a.Times.Most, a.Times.First
	for {
		waited := true
		select {
		case <-ctx.Done():
			return
		case <-a.read:
		case <-time.After(wait):
			waited = false
		}
		wait = a.Times.Most
		if !a.sweepAll(ctx, waited) {
			wait, again = again, min(2*again, a.Times.Most)
			continue
		}
		again = a.Times.First
	}
}

// sweepAll reads all rooms back, or those that are waited for: the others then are not of this session. A room
// whose server is not known yet is left out: who may manage it is known only then.
func (a *Adapter) sweepAll(ctx context.Context, waited bool) (all bool) {
	rooms, err := a.rooms(ctx)
	if err != nil {
		a.Log.Warn("rooms to read back could not be listed")
	}
	all = err == nil
	held := a.holds()
	for _, r := range rooms {
		a.mu.Lock()
		known := r.guild == "" || a.guilds[r.guild] != nil
		a.mu.Unlock()
		if !known || waited && !slices.Contains(held, r.channel) {
			continue
		}
		err := a.sweep(ctx, r)
		a.release(r.channel)
		if err != nil && ctx.Err() == nil {
			all = false
			a.Log.Warn("a room could not be read back; it is tried again", "channel", r.channel)
		}
	}
	return all
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

// sweep reads one room from its cursor on. The cursor follows one sweep behind, once what that read is handled:
// a process that dies between reads it again, and each event counts once however often it is read.
func (a *Adapter) sweep(ctx context.Context, r room) error {
	cursor, err := a.bot.Cursor(ctx, r.channel)
	if err != nil {
		return err
	}
	if cursor == "" {
		return a.begin(ctx, r)
	}
	a.mu.Lock()
	behind := a.swept[r.channel]
	a.mu.Unlock()
	if behind != "" && behind != cursor && a.queue.Quiet(r.channel) {
		if err := a.bot.PutCursor(ctx, r.channel, r.team, behind); err != nil {
			return err
		}
		cursor = behind
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
	defer a.mu.Unlock()
	a.swept[r.channel] = last
	return nil
}

// begin starts a room at its present end: what was said before the bot was there is not for it.
func (a *Adapter) begin(ctx context.Context, r room) error {
	var list []*discordgo.Message
	if err := a.request(ctx, http.MethodGet, discordgo.EndpointChannelMessages(r.channel)+"?limit=1", nil, &list); err != nil {
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

// again hands a message over that may have been seen before. An error says that it is to be read once more.
func (a *Adapter) again(ctx context.Context, r room, m *discordgo.Message) error {
	if m.Author == nil || m.Author.Bot {
		return nil
	}
	m.GuildID = r.guild
	if r.guild != "" {
		member, err := a.member(ctx, r.guild, m.Author.ID)
		if code(err) == unknownMember || code(err) == unknownUser {
			return nil // they left the server: what they may do now is nothing
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
			a.queue.Submit(bot.Inbound{Kind: bot.Deleted, Team: r.guild, Message: key, Author: "someone", Channel: r.channel, Sent: a.Clock()})
		}
	}
	return nil
}

// readBack looks for a message that an earlier try may have left, by what it says, its buttons and its time.
func (a *Adapter) readBack(ctx context.Context, channel string, out outgoing, tried time.Time) (id string, err error) {
	list, err := a.page(ctx, channel, "after", snowflake(tried.Add(-time.Minute)))
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
