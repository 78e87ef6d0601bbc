package discordtest

import (
	"slices"
	"time"
)

// Span is a session's time on one connection. To is zero while it lasts. Both are real time, as the
// stand-in's end of the connection sees it.
type Span struct {
	Shard    int
	From, To time.Time
}

// Spans are the connections of all sessions so far, in the order they began.
func (g *Gateway) Spans() []Span {
	g.w.mu.Lock()
	defer g.w.mu.Unlock()
	return slices.Clone(g.live)
}

// Live counts the sessions that are connected now.
func (g *Gateway) Live() int {
	return g.count(func() int {
		n := 0
		for _, s := range g.live {
			if s.To.IsZero() {
				n++
			}
		}
		return n
	})
}

func (g *Gateway) begun(c *conn, s *session) {
	if c.span > 0 { // the same connection identifies anew
		g.live[c.span-1].To = time.Now()
	}
	g.live = append(g.live, Span{Shard: s.shard[0], From: time.Now()})
	c.span = len(g.live)
}
