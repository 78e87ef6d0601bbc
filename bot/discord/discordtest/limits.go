package discordtest

import (
	"fmt"
	"hash/fnv"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"
)

// limits are the rate limits (Rate Limits). Windows run on real time, because clients wait them out.
type limits struct {
	routes     map[string]limit
	buckets    map[string]*bucket
	global     int // requests per second; 0 is no limit
	second     window
	shutGlobal time.Time
	shutEdge   time.Time
	violations []string
}

type limit struct {
	n   int
	per time.Duration
}

// window counts the requests since its start.
type window struct {
	start time.Time
	used  int
}

type bucket struct {
	window
	shut time.Time // by an ordered 429
}

// generous is the limit of a route for which none was set: it shows in the headers and never bites.
var generous = limit{1000, time.Second}

// LimitRoute allows n requests per window on a route ("POST /channels/{channel}/messages"), counted apart
// for each channel, guild or webhook. Discord's own limit there is 5 in 5 s; tests want shorter windows.
func (w *World) LimitRoute(route string, n int, per time.Duration) {
	w.change(func() { w.limits.routes[route] = limit{n, per} })
}

// LimitGlobal allows n requests a second in all, interaction answers excepted; Discord's limit is 50, and 0
// switches it off, as it is at first.
func (w *World) LimitGlobal(n int) { w.change(func() { w.limits.global = n }) }

// Violations are what a careful client would not have done: requests while a window it had been told of was
// shut, requests past the global limit, and paths the stand-in does not know. Tests assert there are none.
func (w *World) Violations() []string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return slices.Clone(w.limits.violations)
}

func (w *World) violate(format string, args ...any) {
	w.limits.violations = append(w.limits.violations, fmt.Sprintf(format, args...))
}

// limit counts a request, writes the bucket's headers, and returns what refuses it, or nil.
func (w *World) limit(h http.Header, r *http.Request, route string, f *fault) func(http.ResponseWriter) {
	l, now := &w.limits, time.Now()
	b := w.bucket(r, route)
	if f != nil && f.limited != nil {
		return w.order(h, b, route, now, f.limited)
	}
	exempt := interactive(route)
	switch {
	case now.Before(l.shutEdge):
		w.violate("%s %s while the address was blocked", r.Method, r.URL.Path)
		return edge(h, l.shutEdge.Sub(now))
	case now.Before(l.shutGlobal) && !exempt:
		w.violate("%s %s while the global limit was shut", r.Method, r.URL.Path)
		return tooMany(h, l.shutGlobal.Sub(now), "global")
	case now.Before(b.shut):
		w.violate("%s %s while its bucket was shut", r.Method, r.URL.Path)
		w.headers(h, b, route, now)
		return tooMany(h, b.shut.Sub(now), "user")
	}
	if !exempt && l.global > 0 && !l.second.take(now, limit{l.global, time.Second}) {
		w.violate("%s %s was more than %d requests in a second", r.Method, r.URL.Path, l.global)
		return tooMany(h, l.second.start.Add(time.Second).Sub(now), "global")
	}
	fits := b.take(now, w.limitOf(route))
	w.headers(h, b, route, now)
	if !fits {
		w.violate("%s %s with nothing remaining in its bucket", r.Method, r.URL.Path)
		return tooMany(h, b.start.Add(w.limitOf(route).per).Sub(now), "user")
	}
	return nil
}

// take counts a request and says whether it fits into the window.
func (v *window) take(now time.Time, l limit) bool {
	if now.Sub(v.start) >= l.per {
		*v = window{start: now}
	}
	if v.used >= l.n {
		return false
	}
	v.used++
	return true
}

// order shuts a window because a test says so.
func (w *World) order(h http.Header, b *bucket, route string, now time.Time, o *ordered) func(http.ResponseWriter) {
	switch o.scope {
	case "edge":
		w.limits.shutEdge = now.Add(time.Duration(seconds(o.after)) * time.Second)
		return edge(h, o.after)
	case "global":
		w.limits.shutGlobal = now.Add(o.after)
	default:
		b.shut = now.Add(o.after)
		w.headers(h, b, route, now)
	}
	return tooMany(h, o.after, o.scope)
}

func (w *World) limitOf(route string) limit {
	if l, ok := w.limits.routes[route]; ok {
		return l
	}
	return generous
}

// bucket is the one a request counts in: its route and top-level resource.
func (w *World) bucket(r *http.Request, route string) *bucket {
	key := route + r.PathValue("channel") + r.PathValue("guild")
	if strings.Contains(route, " /webhooks/") {
		key += r.PathValue("app") + r.PathValue("token")
	} else if interactive(route) {
		key += r.PathValue("interaction") // of its own, from memory
	}
	b := w.limits.buckets[key]
	if b == nil {
		b = &bucket{}
		w.limits.buckets[key] = b
	}
	return b
}

// headers are the bucket's (Rate Limits, Header Format).
func (w *World) headers(h http.Header, b *bucket, route string, now time.Time) {
	l := w.limitOf(route)
	resets := b.start.Add(l.per)
	remaining := l.n - b.used
	if now.Before(b.shut) {
		resets, remaining = b.shut, 0
	}
	name := fnv.New64a()
	_, _ = name.Write([]byte(route))
	h.Set("X-RateLimit-Limit", strconv.Itoa(l.n))
	h.Set("X-RateLimit-Remaining", strconv.Itoa(remaining))
	h.Set("X-RateLimit-Reset", fmt.Sprintf("%.3f", float64(resets.UnixMilli()+1)/1000))
	h.Set("X-RateLimit-Reset-After", fmt.Sprintf("%.3f", milliseconds(resets.Sub(now))))
	h.Set("X-RateLimit-Bucket", strconv.FormatUint(name.Sum64(), 16))
}

// tooMany is a 429 of the API (Rate Limits, Exceeding A Rate Limit): Retry-After in whole seconds, and
// retry_after to the millisecond, both rounded up.
func tooMany(h http.Header, after time.Duration, scope string) func(http.ResponseWriter) {
	h.Set("Content-Type", "application/json")
	h.Set("Retry-After", strconv.Itoa(seconds(after)))
	h.Set("X-RateLimit-Scope", scope)
	message := "You are being rate limited."
	switch scope {
	case "global":
		h.Set("X-RateLimit-Global", "true")
	case "shared":
		message = "The resource is being rate limited."
	}
	return func(rw http.ResponseWriter) {
		rw.WriteHeader(http.StatusTooManyRequests)
		_, _ = rw.Write(encode(obj{"message": message, "retry_after": milliseconds(after), "global": scope == "global"}))
	}
}

func edge(h http.Header, after time.Duration) func(http.ResponseWriter) {
	h.Set("Retry-After", strconv.Itoa(seconds(after)))
	return func(rw http.ResponseWriter) { page(rw, http.StatusTooManyRequests) }
}

func seconds(d time.Duration) int { return int(math.Ceil(d.Seconds())) }

// milliseconds is a duration in seconds, rounded up to the millisecond.
func milliseconds(d time.Duration) float64 { return math.Ceil(d.Seconds()*1000) / 1000 }
