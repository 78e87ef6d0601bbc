package discordtest

import (
	"context"
	"errors"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"
)

// get asks without the library, which hides headers and waits by itself.
func get(t *testing.T, w *World, method, path, body string) (*http.Response, string) {
	t.Helper()
	r, err := http.NewRequest(method, discordgo.EndpointAPI+path, strings.NewReader(body))
	must(t, r, err)
	r.Header.Set("Authorization", w.Token())
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	resp, err := w.Transport().RoundTrip(r)
	must(t, resp, err)
	text, err := io.ReadAll(resp.Body)
	_ = resp.Body.Close()
	return resp, string(must(t, text, err))
}

// Rate Limits, Header Format: every answer carries its bucket.
func TestBucketHeaders(t *testing.T) {
	t.Parallel()
	w, _, room := quiet(t)
	other := room.guild.Channel("other")
	w.LimitRoute("POST /channels/{channel}/messages", 2, time.Minute)
	path := "channels/" + room.ID + "/messages"
	first, _ := get(t, w, "POST", path, `{"content":"1"}`)
	if h := first.Header; h.Get("X-RateLimit-Limit") != "2" || h.Get("X-RateLimit-Remaining") != "1" || !strings.HasPrefix(h.Get("X-RateLimit-Reset-After"), "60.0") && !strings.HasPrefix(h.Get("X-RateLimit-Reset-After"), "59.") || h.Get("X-RateLimit-Bucket") == "" {
		t.Errorf("headers: %v", h)
	}
	elsewhere, _ := get(t, w, "POST", "channels/"+other.ID+"/messages", `{"content":"1"}`)
	if h := elsewhere.Header; h.Get("X-RateLimit-Remaining") != "1" || h.Get("X-RateLimit-Bucket") != first.Header.Get("X-RateLimit-Bucket") {
		t.Errorf("another channel's headers: %v", h)
	}
	get(t, w, "POST", path, `{"content":"2"}`)
	noViolations(t, w)
	third, text := get(t, w, "POST", path, `{"content":"3"}`)
	if third.StatusCode != 429 || third.Header.Get("Retry-After") != "60" || third.Header.Get("X-RateLimit-Scope") != "user" || !strings.Contains(text, `"global":false`) || !strings.Contains(text, `"retry_after":`) {
		t.Errorf("past the limit: %d %v %s", third.StatusCode, third.Header, text)
	}
	if len(room.Messages()) != 2 || len(w.Violations()) != 1 {
		t.Errorf("%d messages, violations %v", len(room.Messages()), w.Violations())
	}
}

// The library waits a bucket out by its headers, so it breaks nothing.
func TestTheLibraryKeepsToBuckets(t *testing.T) {
	t.Parallel()
	w, s, room := quiet(t)
	w.LimitRoute("POST /channels/{channel}/messages", 2, 50*time.Millisecond)
	for range 5 {
		_, err := s.ChannelMessageSend(room.ID, "x")
		must(t, 0, err)
	}
	noViolations(t, w)
}

func TestOrderedLimits(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name                      string
		fault                     Fault
		retry, scope, global, has string
		others                    bool // other routes are shut as well
	}{
		{"of the bucket", RateLimited(1500*time.Millisecond, false), "2", "user", "", `"retry_after":1.5`, false},
		{"shared", RateLimited(time.Minute, true), "60", "shared", "", "The resource is being rate limited.", false},
		{"global", GloballyLimited(time.Minute), "60", "global", "true", `"global":true`, true},
		{"at the edge", EdgeLimited(time.Minute), "60", "", "", "<html>", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w, _, room := quiet(t)
			w.Fail(1, "POST", "/channels/*/messages", c.fault)
			path := "channels/" + room.ID + "/messages"
			resp, text := get(t, w, "POST", path, `{"content":"1"}`)
			h := resp.Header
			if resp.StatusCode != 429 || h.Get("Retry-After") != c.retry || h.Get("X-RateLimit-Scope") != c.scope || h.Get("X-RateLimit-Global") != c.global || !strings.Contains(text, c.has) {
				t.Errorf("%d %v %s", resp.StatusCode, h, text)
			}
			noViolations(t, w)
			if resp, _ := get(t, w, "GET", "users/@me", ""); (resp.StatusCode == 429) != c.others {
				t.Errorf("another route: %d", resp.StatusCode)
			}
			resp, _ = get(t, w, "POST", path, `{"content":"1"}`)
			want := 1
			if c.others {
				want = 2
			}
			if resp.StatusCode != 429 || len(w.Violations()) != want || len(room.Messages()) != 0 {
				t.Errorf("too early: %d, violations %q", resp.StatusCode, w.Violations())
			}
		})
	}
}

func TestGlobalLimit(t *testing.T) {
	t.Parallel()
	w, s, room := quiet(t)
	lou := room.guild.Member("lou")
	register(t, w, s, &discordgo.ApplicationCommand{Name: "squad", Description: "d"})
	w.LimitGlobal(2)
	i := lou.Slash(room, "squad", nil)
	for range 2 {
		_, err := s.ChannelMessageSend(room.ID, "x")
		must(t, 0, err)
	}
	_, err := s.ChannelMessageSend(room.ID, "x")
	if statusOf(err) != 429 || len(w.Violations()) != 1 {
		t.Errorf("the third in a second: %v, violations %q", err, w.Violations())
	}
	if err := s.InteractionRespond(i.asSent(), &discordgo.InteractionResponse{Type: 5}); err != nil {
		t.Errorf("interaction answers are exempt: %v", err)
	}
}

func TestFaults(t *testing.T) {
	t.Parallel()
	w, s, room := quiet(t)
	send := func() error { _, err := s.ChannelMessageSend(room.ID, "x"); return err }
	const path = "/channels/*/messages"

	w.Fail(2, "POST", path, Status(503))
	if a, b := send(), send(); statusOf(a) != 503 || statusOf(b) != 503 || len(room.Messages()) != 0 {
		t.Errorf("a burst of two: %v, %v", a, b)
	}
	w.Fail(1, "POST", path, Status(502))
	if err := send(); err == nil {
		t.Error("502 went unnoticed")
	}
	w.Fail(1, "POST", path, Refused(403, 40003, "You are opening direct messages too fast"))
	refusedWith(t, send(), 403, 40003)
	w.Fail(1, "POST", path, RequestLost())
	if err := send(); !errors.Is(err, io.EOF) || len(room.Messages()) != 0 {
		t.Errorf("request lost: %v, %d messages", err, len(room.Messages()))
	}
	w.Fail(1, "POST", path, AnswerLost())
	if err := send(); !errors.Is(err, io.EOF) || len(room.Messages()) != 1 {
		t.Errorf("answer lost: %v, %d messages", err, len(room.Messages()))
	}
	if err := send(); err != nil || len(room.Messages()) != 2 {
		t.Errorf("after all that: %v", err)
	}
	requests := w.Requests()
	if got := requests[len(requests)-2]; got.Status != 0 || got.Route != "POST /channels/{channel}/messages" {
		t.Errorf("the log has %v for the lost answer", got)
	}
	noViolations(t, w)
}

// A lost answer and the same nonce again: one message stands.
func TestNonceAfterALostAnswer(t *testing.T) {
	t.Parallel()
	w, s, room := quiet(t)
	w.Fail(1, "POST", "/channels/*/messages", AnswerLost())
	for range 2 {
		_, _ = s.Request("POST", discordgo.EndpointChannelMessages(room.ID), nonced{"x", "abc", true})
	}
	if n := len(room.Messages()); n != 1 {
		t.Errorf("%d messages, want 1", n)
	}
}

func TestSlowAnswers(t *testing.T) {
	t.Parallel()
	w, s, room := quiet(t)
	release := make(chan struct{})
	w.Fail(2, "POST", "/channels/*/messages", Held(release))
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := s.ChannelMessageSend(room.ID, "x", discordgo.WithContext(ctx)); !errors.Is(err, context.Canceled) {
		t.Errorf("given up: %v", err)
	}
	answered := make(chan error, 2)
	for range 2 { // whether the one given up reached the stand-in is not known
		go func() { _, err := s.ChannelMessageSend(room.ID, "x"); answered <- err }()
	}
	close(release)
	if a, b := <-answered, <-answered; a != nil || b != nil || len(room.Messages()) != 2 {
		t.Errorf("held: %v, %v, %d messages", a, b, len(room.Messages()))
	}
}
