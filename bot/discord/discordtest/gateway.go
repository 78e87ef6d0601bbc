package discordtest

import (
	"encoding/json"
	"errors"
	"net/http"
	"slices"
	"sync"
	"time"

	"github.com/gorilla/websocket"
)

// Intents (Gateway, List of Intents) that the stand-in's events need.
const (
	intentGuilds         = 1 << 0
	intentGuildMembers   = 1 << 1
	intentGuildPresences = 1 << 8
	intentGuildMessages  = 1 << 9
	intentDirectMessages = 1 << 12
	intentMessageContent = 1 << 15

	privilegedIntents = intentGuildMembers | intentGuildPresences | intentMessageContent
	knownIntents      = 1<<17 - 1 | 1<<20 | 1<<21 | 1<<24 | 1<<25
)

// closeReasons are the gateway's close codes (Opcodes and Status Codes, Gateway Close Event Codes).
var closeReasons = map[int]string{
	4000: "Unknown error.", 4001: "Unknown opcode.", 4002: "Error while decoding payload.", 4003: "Not authenticated.",
	4004: "Authentication failed.", 4005: "Already authenticated.", 4007: "Invalid seq.", 4008: "Rate limited.",
	4009: "Session timed out.", 4010: "Invalid shard.", 4011: "Sharding required.", 4012: "Invalid API version.",
	4013: "Invalid intent(s).", 4014: "Disallowed intent(s).",
}

// Gateway is the world's end of the gateway, with what can go wrong there.
type Gateway struct {
	w        *World
	upgrader websocket.Upgrader
	running  sync.WaitGroup

	conns    []*conn
	sessions map[string]*session
	interval time.Duration

	live []Span // of every session, begun and ended

	identifies, resumes, heartbeats int
	// Counts of connections still to be treated so.
	noHello, noAnswer, reconnectFirst, dropSessions int
	lateGuilds                                      []func() // GUILD_CREATEs that are kept back; nil when none are
	cutDuring                                       string
}

func newGateway(w *World) *Gateway {
	return &Gateway{w: w, sessions: map[string]*session{}, interval: 41250 * time.Millisecond}
}

// Gateway is the world's end of the gateway.
func (w *World) Gateway() *Gateway { return w.gateway }

// payload is what a client sends (Gateway Events, Payload Structure).
type payload struct {
	Op   int             `json:"op"`
	Data json.RawMessage `json:"d"`
}

// serve is one connection from its HELLO to its end.
func (g *Gateway) serve(rw http.ResponseWriter, r *http.Request) {
	ws, err := g.upgrader.Upgrade(rw, r, nil)
	if err != nil {
		return
	}
	c := newConn(g.w, ws)
	ws.SetCloseHandler(func(int, string) error { return nil })
	g.w.mu.Lock()
	select {
	case <-g.w.closed:
		g.w.mu.Unlock()
		c.shut()
		return
	default:
	}
	g.running.Add(2)
	g.conns = append(g.conns, c)
	switch version := r.URL.Query().Get("v"); {
	case version != "9":
		c.finish(4012)
	case g.noHello > 0:
		g.noHello--
	default:
		c.say(obj{"op": 10, "s": nil, "t": nil, "d": obj{"heartbeat_interval": g.interval.Milliseconds()}})
	}
	g.w.notify()
	g.w.mu.Unlock()
	go func() {
		defer g.running.Done()
		c.write()
	}()
	defer g.running.Done()
	defer c.shut()
	g.read(c)
}

// read takes the client's payloads until the connection ends. A client that misses two heartbeats is cut
// off ("your connection will be closed", Gateway, Heartbeat Interval; how long it waits is from memory).
func (g *Gateway) read(c *conn) {
	for {
		g.w.mu.Lock()
		patience := 2 * g.interval
		g.w.mu.Unlock()
		_ = c.ws.SetReadDeadline(time.Now().Add(patience))
		_, data, err := c.ws.ReadMessage()
		g.w.mu.Lock()
		if err != nil {
			g.detach(c, err)
			g.w.notify()
			g.w.mu.Unlock()
			return
		}
		if !c.silent {
			g.take(c, data)
			g.w.notify()
		}
		g.w.mu.Unlock()
	}
}

// detach forgets a connection. Its session lives on to be resumed, unless the client closed with 1000 or
// 1001 (Gateway, Initiating a Disconnect).
func (g *Gateway) detach(c *conn, err error) {
	g.conns = slices.DeleteFunc(g.conns, func(x *conn) bool { return x == c })
	if c.span > 0 {
		g.live[c.span-1].To = time.Now()
	}
	if c.session == nil || c.session.conn != c {
		return
	}
	c.session.conn = nil
	var closed *websocket.CloseError
	if !c.silent && errors.As(err, &closed) && (closed.Code == 1000 || closed.Code == 1001) {
		delete(g.sessions, c.session.id)
	}
}

// take handles one payload of the client.
func (g *Gateway) take(c *conn, data []byte) {
	var p payload
	now := time.Now()
	c.sent = append(slices.DeleteFunc(c.sent, func(t time.Time) bool { return now.Sub(t) > time.Minute }), now)
	switch err := json.Unmarshal(data, &p); {
	case err != nil, len(data) > 4096: // Gateway, Sending Events
		c.finish(4002)
	case len(c.sent) > 120: // Gateway, Rate Limiting
		c.finish(4008)
	case p.Op == 1:
		g.heartbeats++
		c.say(obj{"op": 11, "s": nil, "t": nil, "d": nil})
	case p.Op == 2:
		g.identify(c, p.Data)
	case p.Op == 6:
		g.resume(c, p.Data)
	case p.Op == 3 || p.Op == 4 || p.Op == 8:
		if c.session == nil {
			c.finish(4003)
		}
	default:
		c.finish(4001)
	}
}

// identify starts a session or refuses one (Gateway Events, Identify).
func (g *Gateway) identify(c *conn, data json.RawMessage) {
	var in struct {
		Token    string
		Intents  *int
		Compress bool
		Shard    *[2]int
	}
	g.identifies++
	switch err := json.Unmarshal(data, &in); {
	case c.session != nil:
		c.finish(4005)
	case err != nil || in.Intents == nil: // intents are required since v8
		c.finish(4002)
	case in.Token != token && in.Token != g.w.Token():
		c.finish(4004)
	case in.Shard != nil && (in.Shard[0] < 0 || in.Shard[0] >= in.Shard[1]): // Gateway, Sharding
		c.finish(4010)
	case *in.Intents&^knownIntents != 0:
		c.finish(4013)
	case *in.Intents&privilegedIntents&^g.w.privileged != 0:
		c.finish(4014)
	case g.noAnswer > 0:
		g.noAnswer--
	case g.reconnectFirst > 0:
		g.reconnectFirst--
		c.say(obj{"op": 7, "s": nil, "t": nil, "d": nil})
	default:
		shard := [2]int{0, 1}
		if in.Shard != nil {
			shard = *in.Shard
		}
		g.start(c, *in.Intents, in.Compress, shard)
	}
}

// shut ends every connection and waits for the goroutines of all.
func (g *Gateway) shut() {
	g.w.mu.Lock()
	for _, c := range g.conns {
		c.shut()
	}
	g.w.mu.Unlock()
	g.running.Wait()
}
