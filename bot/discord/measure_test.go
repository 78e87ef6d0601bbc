package discord_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"footing/bot/discord/discordtest"
	"footing/store"
)

// serverWorkers is how many workers send in a serving process.
const serverWorkers = 16

const (
	promiseRoute = "POST /interactions/{interaction}/{token}/callback"
	answerRoute  = "PATCH /webhooks/{app}/{token}/messages/{message}"
	messageRoute = "POST /channels/{channel}/messages"
)

// moments are when one event came to each point of its way; see mark.
type moments map[string]time.Time

// watched is a club whose bot is watched as it works, alone on the machine, with a server's workers.
type watched struct {
	*club
	tape *tape

	mu     sync.Mutex
	at     moments
	needle []byte      // of the event that is timed
	came   chan string // requests that carry a reply, by path
}

// watch starts a club with a squad of n under treatment.
func watch(t *testing.T, db store.Config, n int) *watched {
	t.Helper()
	w := &watched{tape: &tape{}, came: make(chan string, 1000)}
	db.Watch = w.tape.add
	w.club = alone(t, db, serverWorkers, w.step)
	w.ready("Harbour Kestrels")
	w.w.Tap(discordtest.Tap{Writes: w.writes, Comes: w.comes, Answers: w.answers})
	for shirt := 1; shirt <= n; shirt++ {
		w.slash(w.sam, "add", discordtest.Opts{"who": fmt.Sprintf("%d Player Number%c%c", shirt, 'A'+shirt/26, 'a'+shirt%26)})
		w.slash(w.sam, "sprain", discordtest.Opts{"athlete": fmt.Sprint(shirt), "side": "left"})
	}
	return w
}

// mark notes that the timed event came to a point; the first time counts.
func (w *watched) mark(point string) {
	now := time.Now()
	w.mu.Lock()
	defer w.mu.Unlock()
	if _, known := w.at[point]; !known && w.at != nil && (point == "written" || !w.at["written"].IsZero()) {
		w.at[point] = now
	}
}

func (w *watched) step(name string) { w.mark(name) }

func (w *watched) writes(event []byte) {
	w.mu.Lock()
	its := w.needle != nil && bytes.Contains(event, w.needle)
	w.mu.Unlock()
	if its {
		w.mark("written")
	}
}

func (w *watched) comes(route, path string) {
	switch route {
	case answerRoute, messageRoute:
		w.mark("answered")
		w.came <- path
	}
}

func (w *watched) answers(route, _ string) {
	if route == promiseRoute {
		w.mark("promised")
	}
}

// time does one thing, waits until it is answered and all of it is settled, and gives when it came where.
func (w *watched) time(needle string, do func()) moments {
	w.t.Helper()
	w.mu.Lock()
	w.at, w.needle = moments{}, []byte(needle)
	w.mu.Unlock()
	for len(w.came) > 0 {
		<-w.came // further messages of the event before
	}
	do()
	select {
	case <-w.came:
	case <-time.After(discordtest.Patience):
		w.t.Fatal("there was no answer")
	}
	w.handled()
	w.mu.Lock()
	defer w.mu.Unlock()
	at := w.at
	w.at, w.needle = nil, nil
	return at
}

// slash uses a command in the medical room.
func (w *watched) slash(u *discordtest.User, name string, o discordtest.Opts) moments {
	w.t.Helper()
	return w.time(`"INTERACTION_CREATE"`, func() { u.Slash(w.medical, name, o) })
}

// line types a line there.
func (w *watched) line(u *discordtest.User, text string) moments {
	w.t.Helper()
	return w.time(text, func() { u.Says(w.medical, text) })
}

// undo presses the latest button that takes a record back.
func (w *watched) undo(u *discordtest.User) moments {
	w.t.Helper()
	said := w.medical.Messages()
	for _, m := range slices.Backward(said) {
		if id := undoOf(m); id != "" {
			return w.time(`"INTERACTION_CREATE"`, func() { u.Presses(m.ID, id) })
		}
	}
	w.t.Fatal("nothing can be taken back")
	return nil
}

// undoOf is the id of a message's button that takes its record back, "" without one.
func undoOf(m discordtest.Message) string {
	for _, b := range slices.Concat(m.Rows...) {
		if strings.HasPrefix(b.Label, "Undo") {
			return b.CustomID
		}
	}
	return ""
}
