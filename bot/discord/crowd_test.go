package discord_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"footing/bot/discord/discordtest"
	"footing/store"
)

// crowd is many medics who use the bot at once, each as soon as the last thing they did was answered.
type crowd struct {
	*club
	people []*person
	busy   map[string]*person // by the token of what they did, or lineToken
	ended  chan ending
	pace   *time.Ticker // a line is answered by a message of its own, which the limit of requests a second counts
}

type person struct {
	u        *discordtest.User
	n        int // things done
	did      *discordtest.Interaction
	suggests bool // it is answered by suggestions alone
}

// ending is a request that carried an answer, by what it answers.
type ending struct{ route, token string }

// lineToken stands for the one line that may be on its way.
const lineToken = "line"

const (
	crowdSquad   = 20
	keptMessages = 100 // of each channel, by the stand-in: enough for the last of everybody
)

// gather starts a club with a squad, and a crowd of n medics.
func gather(t *testing.T, db store.Config, n int) *crowd {
	t.Helper()
	c := &crowd{club: alone(t, db, serverWorkers, nil), busy: map[string]*person{}, ended: make(chan ending, 2*n), pace: time.NewTicker(betweenLines)}
	t.Cleanup(c.pace.Stop)
	c.ready("Harbour Kestrels")
	c.w.Forget(keptMessages)
	for i := range n {
		c.people = append(c.people, &person{u: c.g.Member(fmt.Sprint("medic", i), c.medic), n: i})
	}
	for shirt := 1; shirt <= crowdSquad; shirt++ {
		c.lines(fmt.Sprintf("add %d Player Number%c%c", shirt, 'A'+shirt/26, 'a'+shirt%26), fmt.Sprintf("sprain %d left", shirt))
	}
	c.w.Tap(discordtest.Tap{Writes: func([]byte) {}, Comes: func(string, string) {}, Answers: func(route, path string) {
		switch route {
		case promiseRoute, answerRoute:
			c.ended <- ending{route, strings.Split(path, "/")[5]}
		case messageRoute:
			c.ended <- ending{route, lineToken}
		}
	}})
	return c
}

// run has the crowd do n things, and returns when all are answered and settled.
func (c *crowd) run(n int) {
	c.t.Helper()
	idle := append([]*person(nil), c.people...)
	for done := 0; done < n; {
		for ; len(idle) > 0 && done+len(c.busy) < n; idle = idle[1:] {
			c.busy[c.act(idle[0])] = idle[0]
		}
		var a ending
		select {
		case a = <-c.ended:
		case <-time.After(discordtest.Patience):
			c.t.Fatalf("%d things were not answered, after %d", len(c.busy), done)
		}
		if p := c.busy[a.token]; p != nil && (a.route != promiseRoute) != p.suggests {
			delete(c.busy, a.token)
			idle = append(idle, p)
			done++
		}
	}
	c.handled()
}

// act has somebody do their next thing, where only they read the answer, and gives its token. What they record
// they take back, so that no log grows long.
func (c *crowd) act(p *person) string {
	p.n++
	p.suggests = false
	athlete := strconv.Itoa(1 + p.n*7%crowdSquad)
	switch p.n % 12 {
	case 0, 6:
		p.did = p.u.Slash(c.public, "note", discordtest.Opts{"athlete": athlete, "text": "seen"})
	case 1, 7:
		if m, _ := p.answer(); undoOf(m) != "" {
			p.did = p.u.Presses(m.ID, undoOf(m))
			break
		}
		fallthrough
	case 2:
		p.did = p.u.Slash(c.public, "history", discordtest.Opts{"athlete": athlete})
	case 3, 8:
		p.suggests, p.did = true, p.u.Autocompletes(c.public, "history", "athlete", athlete, nil)
	case 4:
		select {
		case <-c.pace.C:
			if c.busy[lineToken] == nil {
				p.did = nil
				p.u.Says(c.medical, "find knee-to-wall")
				return lineToken
			}
		default:
		}
		fallthrough
	default:
		p.did = p.u.Slash(c.public, "help", nil)
	}
	return p.did.Token
}

// answer is what they were last answered.
func (p *person) answer() (m discordtest.Message, ok bool) {
	if p.did == nil {
		return m, false
	}
	return p.did.Answer()
}
