package discord_test

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"footing/bot"
	"footing/bot/discord/discordtest"
	"footing/rehab"
	"footing/store"
)

// stormed is a club with 30 reminders, 5 reports, 3 replies and an alert waiting, written in that order.
type stormed struct {
	*club
	channels map[string][]string // by kind, where they go
}

func storm(t *testing.T, db store.Config) *stormed {
	t.Helper()
	s := &stormed{club: impatient(t, db), channels: map[string][]string{}}
	s.handled()
	for i := range 30 {
		u := s.g.Member(fmt.Sprint("athlete", i))
		if err := s.b.KeepDirect(t.Context(), u.ID, u.DM().ID, false); err != nil {
			t.Fatal(err)
		}
		s.wait("reminder", bot.DirectTo(u.ID), u.DM().ID)
	}
	for range 5 {
		s.wait("report", bot.StaffRoom, s.staff.ID)
	}
	for i := range 3 {
		ch := s.g.Channel(fmt.Sprint("open", i))
		s.wait("reply", bot.InChannel(ch.ID), ch.ID)
	}
	s.wait("alert", bot.MedicalRoom, s.medical.ID)
	return s
}

// wait writes a message that waits to be sent.
func (s *stormed) wait(kind string, place bot.Place, channel string) {
	s.t.Helper()
	n := len(s.channels[kind])
	s.channels[kind] = append(s.channels[kind], channel)
	body, err := json.Marshal(map[string]string{"text": fmt.Sprintf("%s number %d", kind, n), "channel": channel})
	if err != nil {
		s.t.Fatal(err)
	}
	s.in(func(tx *store.Tx, team rehab.Team) error {
		_, err := tx.Enqueue(s.t.Context(), store.Outgoing{Team: team.ID, TeamKey: team.Key, Destination: string(place), Kind: kind, Key: fmt.Sprint(kind, n), Body: string(body), Due: tx.Now()})
		return err
	})
}

// sent are the kinds of what was taken, in that order.
func (s *stormed) sent() (kinds []string) {
	for _, r := range s.w.Requests() {
		if r.Method != "POST" || r.Status != 200 {
			continue
		}
		for kind, channels := range s.channels {
			if slices.Contains(channels, strings.Split(r.Path, "/")[2]) {
				kinds = append(kinds, kind)
			}
		}
	}
	return kinds[2:] // what was said to begin with was in the medical room
}

// once fails where something is not to be seen once, or more was asked inside open windows than was on its way
// when they opened.
func (s *stormed) once(onTheirWay int) {
	s.t.Helper()
	for kind, channels := range s.channels {
		for n, id := range channels {
			text := fmt.Sprintf("%s number %d", kind, n)
			if got := s.texts(id)[text]; got != 1 {
				s.t.Errorf("%s was said %d times", text, got)
			}
		}
	}
	if v := s.w.Violations(); len(v) > onTheirWay {
		s.t.Errorf("violations: %v", v)
	}
}

// texts counts what the bot said in a channel.
func (s *stormed) texts(id string) map[string]int {
	out := map[string]int{}
	for _, m := range s.w.ChannelOf(id).Messages() {
		out[m.Content]++
	}
	return out
}

// storms are the ways in which Discord says to slow down.
var storms = map[string]func(s *stormed){
	"global": func(s *stormed) {
		s.w.Fail(3, "POST", "/channels/*/messages", discordtest.GloballyLimited(200*time.Millisecond))
	},
	"edge": func(s *stormed) {
		s.w.Fail(2, "POST", "/channels/*/messages", discordtest.EdgeLimited(time.Second))
	},
	"route": func(s *stormed) {
		for i, id := range append([]string{s.staff.ID}, s.channels["reminder"][:12]...) {
			s.w.Fail(2, "POST", "/channels/"+id+"/messages", discordtest.RateLimited(200*time.Millisecond, i%2 == 0))
		}
	},
	"all of them": func(s *stormed) {
		s.w.Fail(1, "POST", "/channels/*/messages", discordtest.GloballyLimited(200*time.Millisecond))
		s.w.Fail(1, "POST", "/channels/*/messages", discordtest.EdgeLimited(time.Second))
		s.w.Fail(1, "POST", "/channels/*/messages", discordtest.GloballyLimited(100*time.Millisecond))
		for i, id := range append([]string{s.staff.ID}, s.channels["reminder"][:12]...) {
			s.w.Fail(2, "POST", "/channels/"+id+"/messages", discordtest.RateLimited(200*time.Millisecond, i%2 == 0))
		}
	},
}

// In a storm of 429s nothing is asked inside an open window, the most urgent leaves first, and nothing is lost.
func TestAStormOf429s(t *testing.T) {
	for name, begin := range storms {
		t.Run(name, func(t *testing.T) {
			onEach(t, func(t *testing.T, db store.Config) {
				s := storm(t, db)
				begin(s)
				s.outwaitReal(1)
				order := s.sent()
				if want := []string{"alert", "reply", "reply", "reply"}; !slices.Equal(order[:4], want) {
					t.Errorf("the first were %v", order[:4])
				}
				if n, limited := slices.Index(order, "reminder"), strings.Contains("route all of them", name); !limited && n < 9 {
					t.Errorf("a reminder was the %d. of %v", n+1, order)
				}
				s.once(0)
			})
		})
		t.Run(name+", several workers", func(t *testing.T) {
			onEach(t, func(t *testing.T, db store.Config) {
				s := storm(t, db)
				begin(s)
				s.outwaitReal(4)
				if n := slices.Index(s.sent(), "alert"); n > 3 { // three more workers were on their way
					t.Errorf("the alert was the %d. of %v", n+1, s.sent())
				}
				s.once(3 * 3) // windows for everything, and other workers
			})
		})
	}
}

// outwaitReal delivers with some workers, on a clock that goes as the windows do, until nothing waits.
func (s *stormed) outwaitReal(workers int) {
	s.t.Helper()
	ctx, stop := context.WithCancel(s.t.Context())
	ticks, ended := make(chan time.Time), make(chan struct{})
	go func() {
		defer close(ended)
		s.b.Deliver(ctx, workers, ticks)
	}()
	defer func() {
		stop()
		<-ended
	}()
	base, began := s.w.Now(), time.Now()
	go func() {
		for ctx.Err() == nil {
			s.w.SetClock(base.Add(time.Since(began)))
			time.Sleep(time.Millisecond)
		}
	}()
	for ; s.waiting() > 0; time.Sleep(10 * time.Millisecond) {
		if time.Since(began) > 2*discordtest.Patience {
			s.t.Fatalf("%d still wait", s.waiting())
		}
		ticks <- s.w.Now()
	}
}
