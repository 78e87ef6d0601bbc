package discordtest

import "net/http"

// Tap is told what passes between the stand-in and the bot, for measurements: at once, by whichever goroutine
// does it.
type Tap struct {
	Writes  func(event []byte)       // an event is about to be written to the gateway
	Comes   func(route, path string) // the head of a request was read; the route is as in Request
	Answers func(route, path string) // its answer was written
}

// Tap tells t from now on, in place of an earlier one. It names all three functions.
func (w *World) Tap(t Tap) { w.tap.Store(&t) }

func (w *World) writes(event []byte) {
	if t := w.tap.Load(); t != nil {
		t.Writes(event)
	}
}

// tapped serves a request and tells of it.
func (w *World) tapped(rw http.ResponseWriter, r *http.Request, route string, h handler) {
	if t := w.tap.Load(); t != nil {
		t.Comes(route, r.URL.Path)
		defer t.Answers(route, r.URL.Path)
	}
	w.serve(rw, r, route, h)
}
