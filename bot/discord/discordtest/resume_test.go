package discordtest

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"
)

// After every break the library comes back by itself, and hears each message once and in order.
func TestBreaksLoseNothing(t *testing.T) {
	t.Parallel()
	for name, hurt := range map[string]func(*Gateway){
		"cut":                func(g *Gateway) { g.Cut() },
		"cut within message": func(g *Gateway) { g.CutDuring("MESSAGE_CREATE") },
		"closed with 4000":   func(g *Gateway) { g.Close(4000) },
		"told to reconnect":  func(g *Gateway) { g.Reconnect() },
		"gone silent":        func(g *Gateway) { g.Silence() },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := New(t)
			if name == "gone silent" {
				w.Gateway().SetHeartbeat(50 * time.Millisecond)
			}
			mere := w.Guild("harbour").Member("mere")
			s := client(t, w, chatIntents)
			events := heard(s)
			open(t, w, s)
			mere.Says(mere.DM(), "0")
			hurt(w.Gateway())
			for i := 1; i < 4; i++ {
				mere.Says(mere.DM(), fmt.Sprint(i))
			}
			w.Wait("the session to come back", func() bool { return w.Gateway().Resumes() > 0 && w.Gateway().Connected() })
			mere.Says(mere.DM(), "4")
			for i := range 5 {
				if m := nextMessage(t, events, "MESSAGE_CREATE"); m.Content != fmt.Sprint(i) {
					t.Errorf("heard %q, want %d", m.Content, i)
				}
			}
			if n := w.Gateway().Identifies(); n != 1 {
				t.Errorf("identified %d times", n)
			}
		})
	}
}

// A session that is gone is answered with op 9: the library identifies anew, and what was said is lost.
func TestForgottenSession(t *testing.T) {
	t.Parallel()
	for name, hurt := range map[string]func(*Gateway){
		"on resuming":      func(g *Gateway) { g.ForgetSessions(1); g.Cut() },
		"while connected":  func(g *Gateway) { g.Invalidate(false) },
		"closed with 4009": func(g *Gateway) { g.Close(4009) },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := New(t)
			mere := w.Guild("harbour").Member("mere")
			s := client(t, w, chatIntents)
			events := heard(s)
			open(t, w, s)
			hurt(w.Gateway())
			if name != "while connected" { // there the library is back at once
				mere.Says(mere.DM(), "lost")
			}
			w.Wait("another session", func() bool { return w.Gateway().Identifies() == 2 && w.Gateway().Connected() })
			mere.Says(mere.DM(), "heard")
			if m := nextMessage(t, events, "MESSAGE_CREATE"); m.Content != "heard" {
				t.Errorf("heard %q", m.Content)
			}
		})
	}
}

// Gateway, Initiating a Disconnect: 1000 ends the session, other ways leave it to be resumed.
func TestClosingNormallyEndsTheSession(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		code int
		want int // op
	}{{1000, 9}, {1001, 9}, {4000, 0}, {1012, 0}} {
		w := New(t)
		r := dial(t, w, "?v=9")
		r.receive()
		r.send(2, obj{"token": token, "intents": 0})
		r.receive()
		var id string
		w.read(func() {
			for id = range w.gateway.sessions {
			}
		})
		if err := r.ws.WriteMessage(8, []byte{byte(c.code >> 8), byte(c.code)}); err != nil {
			t.Fatal(err)
		}
		w.Wait("the end of the connection", func() bool { return w.Gateway().Connections() == 0 })
		r = dial(t, w, "resume?v=9")
		r.receive()
		r.send(6, obj{"token": token, "session_id": id, "seq": 1})
		if p := r.receive(); p.Op != c.want {
			t.Errorf("resuming after %d got op %d, want %d", c.code, p.Op, c.want)
		}
	}
}

func TestResumingFromTheFuture(t *testing.T) {
	t.Parallel()
	w := New(t)
	s := client(t, w, chatIntents)
	open(t, w, s)
	var id string
	w.read(func() {
		for id = range w.gateway.sessions {
		}
	})
	r := dial(t, w, "?v=9")
	r.receive()
	r.send(6, obj{"token": token, "session_id": id, "seq": 99})
	if got := r.ended(); got != 4007 {
		t.Errorf("closed with %d, want 4007", got)
	}
	r = dial(t, w, "?v=9")
	r.receive()
	r.send(6, obj{"token": "other", "session_id": id, "seq": 1})
	if got := r.ended(); got != 4004 {
		t.Errorf("closed with %d, want 4004", got)
	}
}

// The openings on which the library hangs: nothing comes where it waits, until the connection is cut.
func TestSilentOpenings(t *testing.T) {
	t.Parallel()
	for name, hurt := range map[string]func(*Gateway){
		"no hello": func(g *Gateway) { g.NoHello(1) },
		"no ready": func(g *Gateway) { g.NoAnswer(1) },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := New(t)
			hurt(w.Gateway())
			s := client(t, w, chatIntents)
			opened := make(chan error, 1)
			go func() { opened <- s.Open() }()
			w.Wait("a connection", func() bool {
				return w.Gateway().Connections() == 1 && (name == "no hello" || w.Gateway().Identifies() == 1)
			})
			select {
			case err := <-opened:
				t.Fatalf("opened: %v", err)
			default:
			}
			w.Gateway().Cut()
			if err := <-opened; err == nil {
				t.Error("opened without hello and ready")
			}
			if w.Gateway().Connected() {
				t.Error("counts as connected")
			}
		})
	}
}

// The library deadlocks on this one, so a bare client has to do.
func TestReconnectBeforeReady(t *testing.T) {
	t.Parallel()
	w := New(t)
	w.Gateway().ReconnectFirst(1)
	r := dial(t, w, "?v=9")
	r.receive()
	r.send(2, obj{"token": token, "intents": int(discordgo.IntentGuilds)})
	if p := r.receive(); p.Op != 7 {
		t.Errorf("got %+v, want op 7", p)
	}
	if w.Gateway().Connected() {
		t.Error("counts as connected")
	}
}

// A client that stops its heartbeats is cut off.
func TestNoHeartbeats(t *testing.T) {
	t.Parallel()
	w := New(t)
	w.Gateway().SetHeartbeat(20 * time.Millisecond)
	r := dial(t, w, "?v=9")
	if got := r.ended(); got != 0 {
		t.Errorf("closed with %d", got)
	}
}

func TestCutWithinAnEvent(t *testing.T) {
	t.Parallel()
	w := New(t)
	mere := w.Guild("harbour").Member("mere")
	r := dial(t, w, "?v=9")
	r.receive()
	r.send(2, obj{"token": token, "intents": int(chatIntents)})
	r.receive()
	r.receive()
	w.Gateway().CutDuring("MESSAGE_CREATE")
	mere.Says(mere.DM(), "x")
	_, data, err := r.ws.ReadMessage()
	if err == nil || len(data) == 0 || json.Valid(data) {
		t.Errorf("got %q, %v; want half an event and the end", data, err)
	}
}

func TestInvalidButResumable(t *testing.T) {
	t.Parallel()
	w := New(t)
	r := dial(t, w, "?v=9")
	r.receive()
	r.send(2, obj{"token": token, "intents": 0})
	var ready struct {
		SessionID string `json:"session_id"`
	}
	if err := json.Unmarshal(r.receive().D, &ready); err != nil {
		t.Fatal(err)
	}
	w.Gateway().Invalidate(true)
	if p := r.receive(); p.Op != 9 || string(p.D) != "true" {
		t.Errorf("got %+v", p)
	}
	r.send(6, obj{"token": token, "session_id": ready.SessionID, "seq": 1})
	if p := r.receive(); p.T != "RESUMED" {
		t.Errorf("got %+v", p)
	}
}
