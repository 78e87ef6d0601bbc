package discordtest

import (
	"encoding/json"
	"errors"
	"net/http"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/gorilla/websocket"
	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// client is a real session pointed at the world, set up as the bot's own will be: no retries of the library.
func client(t *testing.T, w *World, intents discordgo.Intent) *discordgo.Session {
	t.Helper()
	s, err := discordgo.New(w.Token())
	if err != nil {
		t.Fatal(err)
	}
	s.SyncEvents, s.StateEnabled = true, false
	s.ShouldRetryOnRateLimit, s.MaxRestRetries = false, 0
	s.LogLevel = -1
	s.Identify.Intents = intents
	w.Connect(s)
	return s
}

// open connects and closes at the end, before the world does.
func open(t *testing.T, w *World, s *discordgo.Session) {
	t.Helper()
	if err := s.Open(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		s.ShouldReconnectOnError = false
		_ = s.Close()
	})
	// The library's first heartbeat must be out before a test breaks the connection: its heartbeat and its
	// reader may else both rebuild the session, and the second closes what the first opened.
	w.Wait("the session", func() bool { return w.Gateway().Connected() && w.Gateway().Heartbeats() > 0 })
}

// chatIntents are those a bot without privileges asks for.
const chatIntents = discordgo.IntentGuilds | discordgo.IntentGuildMessages | discordgo.IntentDirectMessages

// heard collects what a session is told, in order.
func heard(s *discordgo.Session) chan *discordgo.Event {
	out := make(chan *discordgo.Event, 200)
	s.AddHandler(func(_ *discordgo.Session, e *discordgo.Event) { out <- e })
	return out
}

// next is the next event of this name; others before it are passed over.
func next(t *testing.T, events chan *discordgo.Event, name string) *discordgo.Event {
	t.Helper()
	late := time.After(Patience)
	for {
		select {
		case e := <-events:
			if e.Type == name {
				return e
			}
		case <-late:
			t.Fatalf("no %s came", name)
		}
	}
}

// nextMessage is the next MESSAGE_CREATE or MESSAGE_UPDATE.
func nextMessage(t *testing.T, events chan *discordgo.Event, name string) *discordgo.Message {
	t.Helper()
	var m discordgo.Message
	if err := json.Unmarshal(next(t, events, name).RawData, &m); err != nil {
		t.Fatal(err)
	}
	return &m
}

// refusedWith checks an error of the API.
func refusedWith(t *testing.T, err error, status, code int) {
	t.Helper()
	var rest *discordgo.RESTError
	if !errors.As(err, &rest) || rest.Response.StatusCode != status || rest.Message == nil || rest.Message.Code != code {
		t.Errorf("got %v, want status %d with code %d", err, status, code)
	}
}

func must[T any](t *testing.T, v T, err error) T {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func noViolations(t *testing.T, w *World) {
	t.Helper()
	if v := w.Violations(); len(v) > 0 {
		t.Errorf("violations: %q", v)
	}
}

// raw is a bare gateway client, for what the library cannot do or survive.
type raw struct {
	t  *testing.T
	ws *websocket.Conn
}

func dial(t *testing.T, w *World, query string) raw {
	t.Helper()
	ws, r, err := websocket.DefaultDialer.Dial(w.gateway.url()+"/"+query, http.Header{})
	if err != nil {
		t.Fatal(err)
	}
	_ = r.Body.Close()
	t.Cleanup(func() { _ = ws.Close() })
	return raw{t, ws}
}

func (r raw) send(op int, d any) {
	r.t.Helper()
	if err := r.ws.WriteJSON(obj{"op": op, "d": d}); err != nil {
		r.t.Fatal(err)
	}
}

type received struct {
	Op int
	S  int
	T  string
	D  json.RawMessage
}

func (r raw) receive() received {
	r.t.Helper()
	var p received
	if err := r.ws.ReadJSON(&p); err != nil {
		r.t.Fatal(err)
	}
	return p
}

// ended reads on until the connection ends and returns the close code, or 0 when there was none.
func (r raw) ended() int {
	for {
		if _, _, err := r.ws.ReadMessage(); err != nil {
			var closed *websocket.CloseError
			if errors.As(err, &closed) && closed.Code != websocket.CloseAbnormalClosure {
				return closed.Code
			}
			return 0
		}
	}
}
