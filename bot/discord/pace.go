package discord

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"time"

	"golang.org/x/time/rate"

	"footing/bot"
)

const (
	perSecond   = 48               // requests; Discord allows 50 in all, answers to interactions apart
	atOnce      = 2                // with them no second, wherever it begins, has more than 50
	badLimit    = 5000             // refused requests in badWindow after which nothing is sent; Discord blocks the address at 10 000
	badWindow   = 10 * time.Minute // from Discord's documentation of invalid requests
	busyDefault = 5 * time.Second  // to wait after a 429 that does not say how long
	mostOfBody  = 4 << 20          // of an answer, in bytes
)

// pace is the transport under every request: it keeps to the limits, remembers windows that are closed,
// and never sends into one.
type pace struct {
	next  http.RoundTripper
	clock func() time.Time
	all   *rate.Limiter

	mu     sync.Mutex
	global time.Time            // nothing before, but answers to interactions
	edge   time.Time            // nothing at all before
	route  map[string]time.Time // nothing of this route before
	bad    []time.Time          // refused requests, oldest first
}

func newPace(next http.RoundTripper, clock func() time.Time) *pace {
	return &pace{next: next, clock: clock, all: rate.NewLimiter(perSecond, atOnce), route: map[string]time.Time{}}
}

var ids = regexp.MustCompile(`/\d{5,}|/(callback|@original|[A-Za-z0-9_-]{60,})`)

// routeOf is what a limit applies to: the method and the path with its major parameter. Interaction tokens
// are left out, so that nothing grows with them.
func routeOf(r *http.Request) string {
	parts := strings.Split(strings.TrimPrefix(r.URL.Path, "/api/v9/"), "/")
	major := ""
	if len(parts) > 1 && (parts[0] == "channels" || parts[0] == "guilds") {
		major = parts[1]
	}
	return r.Method + " " + major + " " + ids.ReplaceAllString(r.URL.Path, "/:")
}

// answersInteraction reports whether a request is exempt from the global limit.
func answersInteraction(r *http.Request) bool {
	return strings.Contains(r.URL.Path, "/interactions/") || strings.Contains(r.URL.Path, "/webhooks/")
}

// RoundTrip implements http.RoundTripper. It waits for its turn: as there are few workers, nobody waits long.
// A closed window and a 429 are a *bot.NotSent that says until when.
func (p *pace) RoundTrip(r *http.Request) (*http.Response, error) {
	route, exempt := routeOf(r), answersInteraction(r)
	if wait := p.closed(route, exempt); wait > 0 {
		return nil, &bot.NotSent{Why: "busy", After: wait}
	}
	if !exempt {
		if err := p.all.Wait(r.Context()); err != nil {
			return nil, fmt.Errorf("waiting for a turn: %w", err)
		}
		if wait := p.closed(route, exempt); wait > 0 { // meanwhile
			return nil, &bot.NotSent{Why: "busy", After: wait}
		}
	}
	res, err := p.next.RoundTrip(r)
	if err != nil {
		return nil, fmt.Errorf("asking Discord: %w", err)
	}
	p.note(res.StatusCode)
	if res.StatusCode != http.StatusTooManyRequests {
		if res.Header.Get("X-RateLimit-Remaining") == "0" {
			p.close(route, seconds(res.Header.Get("X-RateLimit-Reset-After")))
		}
		for _, name := range []string{"Remaining", "Reset", "Reset-After", "Global"} {
			res.Header.Del("X-RateLimit-" + name) // the library would sleep by them, whatever the context says
		}
		return res, nil
	}
	after, where := p.told(res)
	if where == "" {
		where = route
	}
	p.close(where, after)
	return nil, &bot.NotSent{Why: "busy", After: after}
}

// Windows that are no route's.
const (
	everything = "everything" // but answers to interactions
	address    = "address"    // of this machine
)

// told reads how long a 429 asks to wait, from its body, else its headers, and for which of the windows; "" is
// the route's. One from the network's edge is not JSON and counts for everything there is.
func (p *pace) told(res *http.Response) (after time.Duration, where string) {
	text, _ := io.ReadAll(io.LimitReader(res.Body, mostOfBody))
	_ = res.Body.Close()
	var body struct {
		After  float64 `json:"retry_after"`
		Global bool    `json:"global"`
	}
	notJSON := json.Unmarshal(text, &body) != nil
	after = max(time.Duration(body.After*float64(time.Second)), seconds(res.Header.Get("Retry-After")))
	if after <= 0 {
		after = busyDefault
	}
	switch {
	case notJSON:
		return after, address
	case body.Global || res.Header.Get("X-RateLimit-Global") != "":
		return after, everything
	}
	return after, ""
}

func seconds(text string) time.Duration {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || v < 0 {
		return 0
	}
	return time.Duration(v * float64(time.Second))
}

// closed is how long a route may not be used yet.
func (p *pace) closed(route string, exempt bool) time.Duration {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.clock()
	until := p.route[route]
	if !exempt && p.global.After(until) {
		until = p.global
	}
	if p.edge.After(until) {
		until = p.edge
	}
	if len(p.bad) >= badLimit && p.bad[0].Add(badWindow).After(until) {
		until = p.bad[0].Add(badWindow)
	}
	if !until.After(now) {
		delete(p.route, route)
		return 0
	}
	return until.Sub(now)
}

// close closes a window for a time and a moment more.
func (p *pace) close(route string, after time.Duration) {
	if after <= 0 {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	until := p.clock().Add(after + 50*time.Millisecond)
	switch route {
	case everything:
		p.global = until
	case address:
		p.edge = until
	default:
		p.route[route] = until
	}
}

// note counts refused requests: too many of them and Discord blocks the address.
func (p *pace) note(status int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.clock()
	for len(p.bad) > 0 && p.bad[0].Add(badWindow).Before(now) {
		p.bad = p.bad[1:]
	}
	if (status == http.StatusUnauthorized || status == http.StatusForbidden || status == http.StatusTooManyRequests) && len(p.bad) < badLimit {
		p.bad = append(p.bad, now)
	}
}
