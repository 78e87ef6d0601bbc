package discord_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"footing/bot"
	"footing/bot/discord"
	"footing/rehab"
	"footing/store"
	"footing/store/storetest"
)

// desk is a chat side of a whole service: it takes 50 requests in any second and refuses the rest, and each
// takes a while. It answers what the adapter asks of Discord to send a message.
type desk struct {
	mu      sync.Mutex
	times   []time.Time // of what it took
	refused int
	texts   func(path, text string) // told of every message taken
}

const (
	allowedPerSecond = 50 // Discord's global limit (API Reference, Rate Limits)
	onTheWay         = 150 * time.Millisecond
)

func (d *desk) RoundTrip(r *http.Request) (*http.Response, error) {
	time.Sleep(onTheWay / 2)
	ok := d.takes(r)
	time.Sleep(onTheWay / 2)
	if !ok {
		return answered(http.StatusTooManyRequests, `{"message":"limited","retry_after":1,"global":true}`), nil
	}
	if strings.HasSuffix(r.URL.Path, "/channels") { // of a server
		return answered(http.StatusOK, `[]`), nil
	}
	return answered(http.StatusOK, `{"id":"`+strconv.Itoa(d.count())+`"}`), nil
}

func answered(status int, body string) *http.Response {
	return &http.Response{StatusCode: status, Header: http.Header{"Content-Type": {"application/json"}}, Body: io.NopCloser(strings.NewReader(body))}
}

func (d *desk) takes(r *http.Request) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	now := time.Now()
	if n := len(d.times); n >= allowedPerSecond && now.Sub(d.times[n-allowedPerSecond]) < time.Second {
		d.refused++
		return false
	}
	d.times = append(d.times, now)
	if r.Method == http.MethodPost && d.texts != nil {
		var m struct{ Content string }
		_ = json.NewDecoder(r.Body).Decode(&m)
		d.texts(r.URL.Path, m.Content)
	}
	return true
}

func (d *desk) count() int {
	d.mu.Lock()
	defer d.mu.Unlock()
	return len(d.times)
}

// share is how much of what is allowed was used between the first and the last request.
func (d *desk) share() float64 {
	d.mu.Lock()
	defer d.mu.Unlock()
	if len(d.times) < 2 {
		return 0
	}
	return float64(len(d.times)-1) / d.times[len(d.times)-1].Sub(d.times[0]).Seconds() / allowedPerSecond
}

// league is a bot that serves many teams with one squad each, all alike, on a clock that waits for nothing.
type league struct {
	t     *testing.T
	desk  *desk
	store *store.Store
	bot   *bot.Bot
	lines int
}

const leagueZone = "UTC"

// newLeague makes n teams of 40: five ankles under treatment, two in prevention, all seven linked and agreed.
func newLeague(t *testing.T, n int) *league {
	t.Helper()
	l := &league{t: t, desk: &desk{}, store: storetest.Open(t, storetest.SQLite(t))}
	a, err := discord.New(discord.Config{Token: "none", Transport: l.desk, Log: quiet, Clock: time.Now})
	if err != nil {
		t.Fatal(err)
	}
	if l.bot, err = bot.New(t.Context(), bot.Config{Store: l.store, Front: mute{}, Clock: time.Now, Log: quiet}); err != nil {
		t.Fatal(err)
	}
	if _, err := l.bot.PutTeam(t.Context(), rehab.Team{
		Key: "team", Name: "Harbour Kestrels", Zone: leagueZone, ReportAt: "07:30",
		Rooms: rehab.Rooms{MedicalRoles: []string{"m"}, CoachRoles: []string{"c"}, Medical: "100000", Staff: "200000"},
	}); err != nil {
		t.Fatal(err)
	}
	for shirt := 1; shirt <= 40; shirt++ {
		l.say(fmt.Sprintf("add %d Player Number%c%c", shirt, 'A'+shirt/26, 'a'+shirt%26))
	}
	for shirt := 1; shirt <= 7; shirt++ {
		if err := l.bot.Link(t.Context(), "team", fmt.Sprintf("account%d", shirt), shirt); err != nil {
			t.Fatal(err)
		}
		if err := l.bot.KeepDirect(t.Context(), fmt.Sprintf("account%d", shirt), fmt.Sprintf("30000%d", shirt), false); err != nil {
			t.Fatal(err)
		}
		if shirt <= 5 {
			l.say(fmt.Sprintf("sprain %d left %s", shirt, cleared))
		} else {
			l.say(fmt.Sprintf("past %d left sprains 2", shirt))
		}
	}
	storetest.Clone(t, l.store, n-1)
	if l.bot, err = bot.New(t.Context(), bot.Config{Store: l.store, Front: a, Clock: time.Now, Log: quiet}); err != nil {
		t.Fatal(err)
	}
	a.Use(l.bot, nil)
	return l
}

// mute is a front that takes everything.
type mute struct{}

func (mute) Send(_ context.Context, m bot.Message) (string, error) { return m.Key, nil }

// say has the physio type a line. It must be recorded.
func (l *league) say(text string) {
	l.t.Helper()
	l.lines++
	err := l.bot.Handle(l.t.Context(), bot.Inbound{Kind: bot.Created, Team: "team", Message: fmt.Sprint("m", l.lines), Author: "sam", Roles: []rehab.Role{rehab.Medical}, Place: bot.MedicalRoom, Text: text, Sent: time.Now()})
	if err != nil {
		l.t.Fatalf("%s: %v", text, err)
	}
}

// until waits for a time of the day.
func (l *league) until(clock string) {
	l.t.Helper()
	at, err := time.Parse("15:04", clock)
	if err != nil {
		l.t.Fatal(err)
	}
	now := time.Now().UTC()
	next := time.Date(now.Year(), now.Month(), now.Day(), at.Hour(), at.Minute(), 0, 0, time.UTC)
	if !next.After(now) {
		next = next.AddDate(0, 0, 1)
	}
	time.Sleep(next.Sub(now))
}

// schedule writes what is due and gives how much work that was.
func (l *league) schedule() time.Duration {
	l.t.Helper()
	before := worked(l.t)
	if err := l.bot.Schedule(l.t.Context()); err != nil {
		l.t.Fatal(err)
	}
	return worked(l.t) - before
}

// worked is the processor time of this process. The clock of the test stands still while it works.
func worked(t *testing.T) time.Duration {
	t.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		t.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// outcome is what became of the messages of one kind.
type outcome struct{ sent, expired, waiting int }

func (l *league) outcomes() map[string]outcome {
	l.t.Helper()
	rows, err := l.store.DB().Query(`SELECT kind, count(sent_at), count(dead_at), count(*) FROM outbox GROUP BY kind`)
	if err != nil {
		l.t.Fatal(err)
	}
	defer func() { _ = rows.Close() }()
	out := map[string]outcome{}
	for rows.Next() {
		var kind string
		var o outcome
		var all int
		if err := rows.Scan(&kind, &o.sent, &o.expired, &all); err != nil {
			l.t.Fatal(err)
		}
		o.waiting = all - o.sent - o.expired
		out[kind] = o
	}
	return out
}

func (l *league) waiting() (n int) {
	for _, o := range l.outcomes() {
		n += o.waiting
	}
	return n
}

// alarm has an athlete of one of the teams say that something is wrong, and gives how long it takes until
// the team's medical room is told.
func (l *league) alarm(team int) time.Duration {
	l.t.Helper()
	told, began := make(chan time.Time, 1), time.Now()
	l.desk.hear(func(path, text string) {
		if strings.Contains(path, fmt.Sprintf("/channels/100000-%d/", team)) && strings.Contains(text, "wrong") {
			select {
			case told <- time.Now():
			default:
			}
		}
	})
	account := fmt.Sprintf("account1-%d", team)
	l.lines++
	err := l.bot.Handle(l.t.Context(), bot.Inbound{Kind: bot.Created, Message: fmt.Sprint("m", l.lines), Author: account, Place: bot.DirectTo(account), Text: "wrong : my foot went cold", Sent: began})
	if err != nil {
		l.t.Fatal(err)
	}
	select {
	case at := <-told:
		return at.Sub(began)
	case <-time.After(time.Hour):
		l.t.Error("the medical room was not told")
		return time.Hour
	}
}

func (d *desk) hear(f func(path, text string)) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.texts = f
}

// deliver sends until nothing waits, or for so long.
func (l *league) deliver(most time.Duration, meanwhile func()) {
	l.t.Helper()
	ctx, cancel := context.WithCancel(l.t.Context())
	tick := time.NewTicker(5 * time.Second)
	defer tick.Stop()
	var done sync.WaitGroup
	done.Go(func() { l.bot.Deliver(ctx, leagueWorkers, tick.C) })
	meanwhile()
	for began := time.Now(); l.waiting() > 0 && time.Since(began) < most; {
		time.Sleep(10 * time.Second)
	}
	cancel()
	done.Wait()
}

const leagueWorkers = 16 // as many as serve has

// Many teams are due at the same minute, at a chat side that takes fifty requests a second. FOOTING_SCALE lists
// how many teams; the clock of the test stands still while the processor works, so the share is that of a
// machine which is fast enough, and the work for each message says how fast that is.
func TestScale(t *testing.T) {
	sizes := os.Getenv("FOOTING_SCALE")
	if sizes == "" {
		sizes = "100"
	}
	if raced {
		t.Skip("measures work: without the race detector")
	}
	for _, size := range strings.Split(sizes, ",") {
		n, err := strconv.Atoi(size)
		if err != nil {
			t.Fatalf("FOOTING_SCALE: %q is no number", size)
		}
		t.Run(size, func(t *testing.T) { synctest.Test(t, func(t *testing.T) { atScale(t, n) }) })
	}
}

func atScale(t *testing.T, n int) {
	l := newLeague(t, n)
	l.until("07:30")
	written := l.schedule()
	waiting, before := l.waiting(), worked(t)
	var alarm time.Duration
	l.deliver(3*time.Hour, func() {
		if n > 1 {
			alarm = l.alarm(n / 2)
		}
	})
	share := l.desk.share()
	t.Logf("%d teams: %v to write for each, %d due at once; share of the limit %.3f, refused %d; an alarm took %v; %v of work for each message; %d MB at most",
		n, written/time.Duration(n), waiting, share, l.desk.refused, alarm, (worked(t)-before)/time.Duration(max(waiting, 1)), peak(t))
	for kind, o := range l.outcomes() {
		t.Logf("  %-9s sent %d, too late %d, waiting %d", kind, o.sent, o.expired, o.waiting)
	}
	if n >= 100 && share < 0.95 {
		t.Errorf("it used %.3f of what is allowed", share)
	}
	if l.desk.refused > 0 {
		t.Errorf("%d requests were refused", l.desk.refused)
	}
	if alarm > 2*time.Second {
		t.Errorf("an alarm took %v", alarm)
	}
}

// peak is the most memory this process ever had resident, in MB.
func peak(t *testing.T) int {
	t.Helper()
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(status)) {
		if hwm, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			kb, err := strconv.Atoi(strings.Fields(hwm)[0])
			if err != nil {
				t.Fatal(err)
			}
			return kb / 1024
		}
	}
	return 0
}
