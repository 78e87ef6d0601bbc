package discordtest

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"
	"time"
)

// maxRequest is the largest request (Create Message, Limitations).
const maxRequest = 25 << 20

// call is one request that has passed sign-in and limits.
type call struct {
	*http.Request
	body []byte
}

// reply is what a handler answers: a status and a body, or no body for 204.
type reply struct {
	status int
	body   any
}

func ok(body any) (reply, error) { return reply{http.StatusOK, body}, nil }

var done = reply{status: http.StatusNoContent}

type handler func(*World, *call) (reply, error)

// routes are the paths the stand-in knows, below /api/v9.
func (w *World) routes() http.Handler {
	mux := http.NewServeMux()
	for route, h := range map[string]handler{
		"GET /gateway":                       (*World).getGateway,
		"GET /gateway/bot":                   (*World).getGatewayBot,
		"GET /users/{user}":                  (*World).getUser,
		"POST /users/@me/channels":           (*World).createDM,
		"GET /users/@me/guilds":              (*World).getOwnGuilds,
		"GET /applications/@me":              (*World).getApplication,
		"GET /oauth2/applications/@me":       (*World).getApplication,
		"GET /guilds/{guild}":                (*World).getGuild,
		"GET /guilds/{guild}/roles":          (*World).getRoles,
		"GET /guilds/{guild}/channels":       (*World).getChannels,
		"GET /guilds/{guild}/members":        (*World).getMembers,
		"GET /guilds/{guild}/members/{user}": (*World).getMember,

		"GET /channels/{channel}":                       (*World).getChannel,
		"POST /channels/{channel}/typing":               (*World).typing,
		"GET /channels/{channel}/messages":              (*World).getMessages,
		"POST /channels/{channel}/messages":             (*World).createMessage,
		"GET /channels/{channel}/messages/{message}":    (*World).getMessage,
		"PATCH /channels/{channel}/messages/{message}":  (*World).editMessage,
		"DELETE /channels/{channel}/messages/{message}": (*World).deleteMessage,

		"GET /applications/{app}/commands":                             (*World).getCommands,
		"PUT /applications/{app}/commands":                             (*World).putCommands,
		"POST /applications/{app}/commands":                            (*World).postCommand,
		"PATCH /applications/{app}/commands/{command}":                 (*World).patchCommand,
		"DELETE /applications/{app}/commands/{command}":                (*World).deleteCommand,
		"GET /applications/{app}/guilds/{guild}/commands":              (*World).getCommands,
		"PUT /applications/{app}/guilds/{guild}/commands":              (*World).putCommands,
		"POST /applications/{app}/guilds/{guild}/commands":             (*World).postCommand,
		"PATCH /applications/{app}/guilds/{guild}/commands/{command}":  (*World).patchCommand,
		"DELETE /applications/{app}/guilds/{guild}/commands/{command}": (*World).deleteCommand,

		"POST /interactions/{interaction}/{token}/callback": (*World).answer,
		"POST /webhooks/{app}/{token}":                      (*World).followUp,
		"GET /webhooks/{app}/{token}/messages/{message}":    (*World).getAnswer,
		"PATCH /webhooks/{app}/{token}/messages/{message}":  (*World).editAnswer,
		"DELETE /webhooks/{app}/{token}/messages/{message}": (*World).deleteAnswer,
	} {
		method, path, _ := strings.Cut(route, " ")
		mux.HandleFunc(method+" /api/v9"+path, func(rw http.ResponseWriter, r *http.Request) { w.tapped(rw, r, route, h) })
	}
	mux.HandleFunc("GET /attachments/", w.serveFile)
	mux.HandleFunc("/", func(rw http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodGet && (r.URL.Path == "/" || strings.HasPrefix(r.URL.Path, "/resume")) {
			w.gateway.serve(rw, r)
			return
		}
		w.serve(rw, r, "", unknownRoute)
	})
	return mux
}

// unknownRoute answers a path that the stand-in does not have, and says so among the violations.
func unknownRoute(w *World, c *call) (reply, error) {
	w.violate("%s %s is not a route of the stand-in", c.Method, c.URL.Path)
	return reply{}, errNotFound
}

// serve is the way of every REST request: faults that were ordered, limits, sign-in, then the handler.
func (w *World) serve(rw http.ResponseWriter, r *http.Request, route string, h handler) {
	body, err := io.ReadAll(http.MaxBytesReader(rw, r.Body, maxRequest))
	if err != nil {
		w.write(rw, r, route, reply{}, errTooLarge)
		return
	}
	w.mu.Lock()
	f := w.fault(r.Method, r.URL.Path)
	if refused := w.limit(rw.Header(), r, route, f); refused != nil {
		w.log(r, route, http.StatusTooManyRequests)
		w.mu.Unlock()
		refused(rw)
		return
	}
	w.mu.Unlock()
	if f != nil && !w.before(rw, r, route, f) {
		return
	}
	w.mu.Lock()
	answer, err := reply{}, error(errUnauthorized)
	if unsigned(route) || r.Header.Get("Authorization") == w.Token() {
		answer, err = h(w, &call{Request: r, body: body})
	}
	w.mu.Unlock()
	if f != nil && f.loseAnswer {
		w.change(func() { w.log(r, route, 0) })
		panic(http.ErrAbortHandler)
	}
	w.write(rw, r, route, answer, err)
}

// unsigned says whether a route needs no sign-in: interaction tokens are their own (Interactions, Endpoints).
func unsigned(route string) bool { return route == "GET /gateway" || interactive(route) }

func interactive(route string) bool {
	return strings.Contains(route, " /interactions/") || strings.Contains(route, " /webhooks/")
}

// write answers and logs.
func (w *World) write(rw http.ResponseWriter, r *http.Request, route string, answer reply, err error) {
	var no *refusal
	if errors.As(err, &no) {
		answer = reply{status: no.status, body: obj{"code": no.code, "message": no.message}}
		if no.errors != nil {
			answer.body = obj{"code": no.code, "message": no.message, "errors": no.errors}
		}
	} else if err != nil {
		panic(fmt.Sprint("discordtest: not a refusal: ", err))
	}
	w.change(func() { w.log(r, route, answer.status) })
	if answer.body == nil {
		rw.WriteHeader(answer.status)
		return
	}
	rw.Header().Set("Content-Type", "application/json")
	rw.WriteHeader(answer.status)
	_, _ = rw.Write(encode(answer.body))
}

// serveFile is the content delivery host.
func (w *World) serveFile(rw http.ResponseWriter, r *http.Request) {
	var f File
	var found bool
	w.read(func() { f, found = w.blobs[r.URL.Path] })
	if !found {
		http.NotFound(rw, r)
		return
	}
	w.mu.Lock()
	wrong := w.fault(r.Method, "/api/v9"+r.URL.Path) // Fail counts every path from there
	w.mu.Unlock()
	if wrong != nil && !w.before(rw, r, "", wrong) {
		return
	}
	rw.Header().Set("Content-Type", f.Type)
	_, _ = rw.Write(f.Data)
}

// Request is one REST request the stand-in received.
type Request struct {
	Method, Path string
	Route        string // with {names} for what varies; empty for a path the stand-in does not have
	Status       int    // 0 when the answer was never given
	At           time.Time
}

// String is the request in a line.
func (r Request) String() string { return fmt.Sprintf("%s %s %d", r.Method, r.Path, r.Status) }

func (w *World) log(r *http.Request, route string, status int) {
	w.requests = append(w.requests, Request{Method: r.Method, Path: strings.TrimPrefix(r.URL.Path, "/api/v9"), Route: route, Status: status, At: time.Now()})
	if status == 401 || status == 403 || status == 429 {
		w.invalid++
	}
	w.forget(nil)
	w.notify()
}

// Requests are all REST requests so far, in the order of their answers. At is real time.
func (w *World) Requests() []Request {
	w.mu.Lock()
	defer w.mu.Unlock()
	return append([]Request(nil), w.requests...)
}

// InvalidRequests counts the answers 401, 403 and 429: 10,000 in 10 minutes would block the bot's address
// (Rate Limits, Invalid Request Limit).
func (w *World) InvalidRequests() int {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.invalid
}
