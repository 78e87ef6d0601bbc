package discordtest

import (
	"encoding/json"
	"strconv"
)

// session is what a client identified as; it outlives its connection until it is resumed or forgotten.
type session struct {
	id      string
	intents int
	shard   [2]int
	seq     int64
	log     []dispatched
	conn    *conn
}

type dispatched struct {
	seq  int64
	data []byte
}

// event is something that happened, to be told to every session that asked for its kind.
type event struct {
	name    string
	intent  int      // that a session must have; 0 for events that are always sent
	guild   *Guild   // nil outside of guilds
	channel *Channel // that the bot must see; nil where that does not matter
	data    obj
	each    func(*session) obj // in place of data when sessions see different things
}

// dispatch tells the sessions of an event.
func (w *World) dispatch(e event) {
	if e.guild != nil && !e.guild.hasBot() {
		return
	}
	if e.channel != nil && !e.channel.can(w.bot, ViewChannel) {
		return
	}
	for _, s := range w.gateway.sessions {
		if s.intents&e.intent != e.intent || !s.has(e.guildID()) {
			continue
		}
		data := e.data
		if e.each != nil {
			data = e.each(s)
		}
		w.gateway.tell(s, e.name, data)
	}
}

// guildID is the guild an event is about, empty for those of direct messages.
func (e event) guildID() string {
	if e.guild != nil {
		return e.guild.ID
	}
	id, _ := e.data["guild_id"].(string)
	return id
}

// has says whether a session's shard has a guild: by its id, and direct messages on the first (Gateway,
// Sharding).
func (s *session) has(guild string) bool {
	id, _ := strconv.ParseUint(guild, 10, 64)
	return int((id>>22)%uint64(s.shard[1])) == s.shard[0]
}

// tell numbers an event and sends it, or keeps it for a RESUME.
func (g *Gateway) tell(s *session, name string, data obj) {
	s.seq++
	raw := encode(obj{"op": 0, "s": s.seq, "t": name, "d": data})
	s.log = append(s.log, dispatched{seq: s.seq, data: raw})
	switch {
	case s.conn == nil || s.conn.silent:
	case g.cutDuring == name:
		g.cutDuring = ""
		s.conn.push(frame{data: raw, cut: true})
		s.conn = nil
	default:
		s.conn.push(frame{data: raw})
	}
}

// start begins a session: READY with the guilds as yet unavailable, then GUILD_CREATE for each (Gateway
// Events, Ready).
func (g *Gateway) start(c *conn, intents int, compress bool, shard [2]int) {
	s := &session{id: "s" + g.w.id(), intents: intents, shard: shard, conn: c}
	g.begun(c, s)
	g.sessions[s.id] = s
	c.session, c.compress = s, compress
	guilds := []obj{}
	for _, guild := range g.w.guilds {
		if guild.hasBot() && s.has(guild.ID) {
			guilds = append(guilds, obj{"id": guild.ID, "unavailable": true})
		}
	}
	g.tell(s, "READY", obj{"v": 9, "user": g.w.bot.json(), "guilds": guilds, "session_id": s.id, "shard": shard,
		"resume_gateway_url": g.url() + "/resume", "application": obj{"id": g.w.appID, "flags": g.w.appFlags()}, "private_channels": []obj{}})
	for _, guild := range g.w.guilds {
		if guild.hasBot() && s.has(guild.ID) && intents&intentGuilds != 0 {
			tell := func() { g.tell(s, "GUILD_CREATE", guild.createJSON(s)) }
			if g.lateGuilds != nil {
				g.lateGuilds = append(g.lateGuilds, tell)
				continue
			}
			tell()
		}
	}
}

// resume takes a session up again and replays what it missed, in order, then RESUMED; an unknown session is
// answered with INVALID_SESSION and may identify (Gateway, Resuming).
func (g *Gateway) resume(c *conn, data json.RawMessage) {
	var in struct {
		Token     string
		SessionID string `json:"session_id"`
		Seq       int64
	}
	g.resumes++
	err := json.Unmarshal(data, &in)
	s := g.sessions[in.SessionID]
	switch {
	case c.session != nil:
		c.finish(4005)
	case err != nil:
		c.finish(4002)
	case in.Token != token && in.Token != g.w.Token():
		c.finish(4004)
	case g.noAnswer > 0:
		g.noAnswer--
	case g.reconnectFirst > 0:
		g.reconnectFirst--
		c.say(obj{"op": 7, "s": nil, "t": nil, "d": nil})
	case s == nil || g.dropSessions > 0:
		g.dropSessions = max(0, g.dropSessions-1)
		delete(g.sessions, in.SessionID)
		c.say(obj{"op": 9, "s": nil, "t": nil, "d": false})
	case in.Seq > s.seq:
		delete(g.sessions, s.id)
		c.finish(4007)
	default:
		if s.conn != nil {
			s.conn.push(frame{cut: true})
		}
		s.conn, c.session = c, s
		g.begun(c, s)
		for _, e := range s.log {
			if e.seq > in.Seq {
				c.push(frame{data: e.data})
			}
		}
		g.tell(s, "RESUMED", obj{})
	}
}

func (g *Gateway) url() string { return "ws" + g.w.server.URL[len("http"):] }
