package discordtest

import "time"

// Connected says whether a session is live: identified or resumed, on a connection that works.
func (g *Gateway) Connected() bool {
	g.w.mu.Lock()
	defer g.w.mu.Unlock()
	for _, c := range g.conns {
		if c.session != nil && c.session.conn == c && !c.silent {
			return true
		}
	}
	return false
}

// Connections counts the open connections, identified or not.
func (g *Gateway) Connections() int { return g.count(func() int { return len(g.conns) }) }

// Identifies counts the IDENTIFYs received so far.
func (g *Gateway) Identifies() int { return g.count(func() int { return g.identifies }) }

// Resumes counts the RESUMEs received so far.
func (g *Gateway) Resumes() int { return g.count(func() int { return g.resumes }) }

// Heartbeats counts the heartbeats received so far.
func (g *Gateway) Heartbeats() int { return g.count(func() int { return g.heartbeats }) }

func (g *Gateway) count(f func() int) int {
	g.w.mu.Lock()
	defer g.w.mu.Unlock()
	return f()
}

// SetHeartbeat sets the heartbeat interval that later connections are told; 41.25 s at first.
func (g *Gateway) SetHeartbeat(interval time.Duration) { g.w.change(func() { g.interval = interval }) }

// each does something to every connection that has a live session.
func (g *Gateway) each(f func(*conn)) {
	g.w.change(func() {
		for _, c := range g.conns {
			if c.session != nil && c.session.conn == c {
				f(c)
			}
		}
	})
}

// AskHeartbeat asks for a heartbeat at once (op 1).
func (g *Gateway) AskHeartbeat() {
	g.each(func(c *conn) { c.say(obj{"op": 1, "s": nil, "t": nil, "d": nil}) })
}

// Reconnect tells the client to reconnect and resume (op 7).
func (g *Gateway) Reconnect() {
	g.each(func(c *conn) { c.say(obj{"op": 7, "s": nil, "t": nil, "d": nil}) })
}

// Invalidate ends the session on its connection (op 9). With resumable it can be resumed; else it is gone,
// and the client must identify anew, on this connection or another.
func (g *Gateway) Invalidate(resumable bool) {
	g.each(func(c *conn) {
		if !resumable {
			delete(g.sessions, c.session.id)
		}
		c.session.conn, c.session = nil, nil
		c.say(obj{"op": 9, "s": nil, "t": nil, "d": resumable})
	})
}

// Close closes the connections with a close code. The sessions stay resumable, but for the codes that say
// otherwise: 4004, 4007, 4009 to 4014 (Opcodes and Status Codes, Gateway Close Event Codes).
func (g *Gateway) Close(code int) {
	g.each(func(c *conn) {
		if code == 4004 || code == 4007 || code >= 4009 {
			delete(g.sessions, c.session.id)
		}
		c.session.conn = nil
		c.finish(code)
	})
}

// Cut breaks the connections without a close frame, identified or not.
func (g *Gateway) Cut() {
	g.w.change(func() {
		for _, c := range g.conns {
			if c.session != nil && c.session.conn == c {
				c.session.conn = nil
			}
			c.push(frame{cut: true})
		}
	})
}

// CutDuring breaks the connection in the middle of the next event of this name, after half of its bytes.
// The event counts as sent: a RESUME gets it again.
func (g *Gateway) CutDuring(event string) { g.w.change(func() { g.cutDuring = event }) }

// Silence lets the connections go dead without closing them: no event, no heartbeat ACK, and nothing the
// client says arrives.
func (g *Gateway) Silence() { g.each(func(c *conn) { c.silent = true }) }

// NoHello leaves the next n connections without HELLO.
func (g *Gateway) NoHello(n int) { g.w.change(func() { g.noHello = n }) }

// NoAnswer leaves the next n IDENTIFYs or RESUMEs without any answer.
func (g *Gateway) NoAnswer(n int) { g.w.change(func() { g.noAnswer = n }) }

// ReconnectFirst answers the next n IDENTIFYs or RESUMEs with RECONNECT (op 7), where READY was expected.
func (g *Gateway) ReconnectFirst(n int) { g.w.change(func() { g.reconnectFirst = n }) }

// HoldGuilds keeps back the GUILD_CREATEs of the sessions that begin from now on, until they are let go.
func (g *Gateway) HoldGuilds() (release func()) {
	g.w.change(func() { g.lateGuilds = []func(){} })
	return func() {
		g.w.change(func() {
			for _, tell := range g.lateGuilds {
				tell()
			}
			g.lateGuilds = nil
		})
	}
}

// ForgetSessions refuses the next n RESUMEs with INVALID_SESSION (op 9), as when the client stayed away for
// too long.
func (g *Gateway) ForgetSessions(n int) { g.w.change(func() { g.dropSessions = n }) }
