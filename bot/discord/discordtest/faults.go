package discordtest

import (
	"net/http"
	"path"
	"time"
)

// Fault is something that goes wrong with one request.
type Fault func(*fault)

type fault struct {
	method, path string
	uses         int

	status     int // of an HTML page in place of an answer
	refusal    *refusal
	limited    *ordered
	loseAnswer bool
	cut        bool
	hold       <-chan struct{}
}

// ordered is a 429 that a test asked for.
type ordered struct {
	after time.Duration
	scope string // "user", "shared", "global", or "edge" for a page without JSON
}

// Fail lets the next n requests of a method for a path go wrong. The path is below /api/v9 and may have *
// for any one part ("/channels/*/messages"). Orders for the same path are used up one after the other.
func (w *World) Fail(n int, method, path string, f Fault) {
	w.change(func() {
		x := &fault{method: method, path: "/api/v9" + path, uses: n}
		f(x)
		w.faults = append(w.faults, x)
	})
}

// Mend takes back what Fail ordered and did not come yet.
func (w *World) Mend() { w.change(func() { w.faults = nil }) }

// Status answers with a 5xx as a proxy does: a page, and nothing was done.
func Status(code int) Fault { return func(f *fault) { f.status = code } }

// Refused answers with an error of the API's own, such as 403 with 50278, and does nothing.
func Refused(status, code int, message string) Fault {
	return func(f *fault) { f.refusal = refuse(status, code, message) }
}

// RateLimited answers 429 for the route's bucket. It stays shut for that long: a request that comes earlier
// is refused too, and is a violation. shared is a limit of the resource that others used up.
func RateLimited(after time.Duration, shared bool) Fault {
	scope := "user"
	if shared {
		scope = "shared"
	}
	return func(f *fault) { f.limited = &ordered{after, scope} }
}

// GloballyLimited answers 429 for the whole bot, interaction answers excepted, for that long.
func GloballyLimited(after time.Duration) Fault {
	return func(f *fault) { f.limited = &ordered{after, "global"} }
}

// EdgeLimited answers 429 as the network in front of the API does, with a page in place of JSON and only
// Retry-After, which counts whole seconds: the address is blocked for that long, rounded up. From memory.
func EdgeLimited(after time.Duration) Fault {
	return func(f *fault) { f.limited = &ordered{after, "edge"} }
}

// AnswerLost does what was asked and breaks the connection in place of an answer.
func AnswerLost() Fault { return func(f *fault) { f.loseAnswer = true } }

// RequestLost breaks the connection and does nothing.
func RequestLost() Fault { return func(f *fault) { f.cut = true } }

// Held answers only once release is closed, or the client gives up; then nothing was done.
func Held(release <-chan struct{}) Fault { return func(f *fault) { f.hold = release } }

// Held counts the requests that wait to be let go.
func (w *World) Held() (n int) {
	w.read(func() { n = w.held })
	return n
}

// fault takes the order that fits a request, if there is one.
func (w *World) fault(method, at string) *fault {
	for _, f := range w.faults {
		if fits, _ := path.Match(f.path, at); fits && f.method == method && f.uses > 0 {
			f.uses--
			return f
		}
	}
	return nil
}

// before does what a fault does ahead of the handler, and says whether the request still reaches it.
func (w *World) before(rw http.ResponseWriter, r *http.Request, route string, f *fault) bool {
	switch {
	case f.hold != nil:
		w.change(func() { w.held++ })
		defer w.change(func() { w.held-- })
		select {
		case <-f.hold:
			return true
		case <-w.closed:
		case <-r.Context().Done():
		}
	case f.status != 0:
		w.change(func() { w.log(r, route, f.status) })
		page(rw, f.status)
		return false
	case f.refusal != nil:
		w.write(rw, r, route, reply{}, f.refusal)
		return false
	case !f.cut:
		return true
	}
	w.change(func() { w.log(r, route, 0) })
	panic(http.ErrAbortHandler)
}

// page is an answer from something in front of the API.
func page(rw http.ResponseWriter, status int) {
	rw.Header().Set("Content-Type", "text/html; charset=UTF-8")
	rw.WriteHeader(status)
	_, _ = rw.Write([]byte("<!DOCTYPE html><html><head><title>" + http.StatusText(status) + "</title></head></html>"))
}
