package discord_test

import (
	"database/sql"
	"flag"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"
	"pgregory.net/rapid"

	"footing/bot"
	"footing/bot/discord"
	"footing/bot/discord/discordtest"
	"footing/rehab"
	"footing/store"
	"footing/store/storetest"
)

// scope is a test for one history: it fails the history and ends with it.
type scope struct {
	testing.TB
	rt   *rapid.T
	ends []func()
}

func (s *scope) Cleanup(f func())             { s.ends = append(s.ends, f) }
func (s *scope) Fatal(args ...any)            { s.rt.Fatal(args...) }
func (s *scope) Fatalf(f string, args ...any) { s.rt.Fatalf(f, args...) }
func (s *scope) Errorf(f string, args ...any) { s.rt.Errorf(f, args...) }

func (s *scope) end() {
	for _, f := range slices.Backward(s.ends) {
		f()
	}
}

// side is a team with its physio.
type side struct {
	g       *discordtest.Guild
	medic   *discordtest.Role
	medical *discordtest.Channel
	physio  *discordtest.User
	id      int64
}

// told is a message somebody sent, as the model knows it.
type told struct {
	by       *discordtest.User
	of       *side // nil while it is not said which team it is for
	in       *discordtest.Channel
	id       string
	word     string // unique, of its latest version
	words    []string
	edits    int
	deleted  bool
	slash    *discordtest.Interaction
	answered string // the key's part that stands for its latest version
}

// history is two teams' chat, one player in both, and the process that serves them.
type history struct {
	rt     *rapid.T
	w      *discordtest.World
	db     store.Config
	raw    *sql.DB
	sides  []*side
	player *discordtest.User
	told   []*told
	words  int
	limits int // windows that were ordered

	mu   sync.Mutex
	p    *process
	dies string // the step to die at next
	died map[string]int
}

func begin(rt *rapid.T, tb *scope, db store.Config, died map[string]int) *history {
	w := discordtest.New(tb)
	w.Allow(int(discordgo.IntentMessageContent))
	w.Gateway().SetHeartbeat(200 * time.Millisecond)
	h := &history{rt: rt, w: w, db: db, died: died}
	s := storetest.Open(tb, db)
	if h.raw = s.DB(); db.OwnerURL != "" {
		var err error
		if h.raw, err = sql.Open("postgres", db.OwnerURL); err != nil {
			rt.Fatal(err)
		}
		tb.Cleanup(func() { _ = h.raw.Close() })
	}
	tool, err := bot.New(tb.Context(), bot.Config{Store: s, Front: mute{}, Clock: w.Now, Log: quiet})
	if err != nil {
		rt.Fatal(err)
	}
	for _, name := range []string{"harbour", "rovers"} {
		x := &side{g: w.Guild(name)}
		x.medic = x.g.Role("medic")
		x.medical = x.g.PrivateChannel("treatment-room", x.medic, x.g.BotRole())
		x.physio, h.player = x.g.Member(name+"-physio", x.medic), x.g.Member("player")
		team, err := tool.PutTeam(tb.Context(), rehab.Team{Key: x.g.ID, Name: name, Zone: "Pacific/Auckland", ReportAt: "07:30",
			Rooms: rehab.Rooms{MedicalRoles: []string{x.medic.ID}, Medical: x.medical.ID, Staff: x.g.Channel("staff").ID}})
		if err != nil {
			rt.Fatal(err)
		}
		x.id = team.ID
		if err := tool.Handle(tb.Context(), bot.Inbound{Kind: bot.Created, Team: x.g.ID, Message: "first", Author: x.physio.ID, Roles: []rehab.Role{rehab.Medical}, Place: bot.MedicalRoom, Text: "add 7 Mere Tau", Sent: w.Now()}); err != nil {
			rt.Fatal(err)
		}
		if err := tool.Link(tb.Context(), x.g.ID, h.player.ID, 7); err != nil {
			rt.Fatal(err)
		}
		h.sides = append(h.sides, x)
	}
	if err := tool.KeepDirect(tb.Context(), h.player.ID, h.player.DM().ID, false); err != nil {
		rt.Fatal(err)
	}
	h.serve()
	tb.Cleanup(func() { _ = h.p.stop() })
	w.Wait("the cursors", func() bool { return h.number(`SELECT count(*) FROM cursors`) == 5 })
	return h
}

func (h *history) number(q string, args ...any) (n int) {
	if err := h.raw.QueryRow(q, args...).Scan(&n); err != nil {
		h.rt.Fatal(err)
	}
	return n
}

// serve starts a process. One that dies is gone when its last requests are.
func (h *history) serve() {
	times := discord.Times{Open: time.Second, Silence: time.Second, First: 20 * time.Millisecond, Most: 100 * time.Millisecond}
	p, err := serve(h.w, h.db, times, 100, h.step)
	if err != nil {
		h.rt.Fatal(err)
	}
	if old := h.p; old != nil {
		p.gone.Go(func() { old.gone.Wait() })
	}
	h.p = p
}

func (h *history) step(p *process, name string) {
	h.mu.Lock()
	dies := h.dies == name
	if dies {
		h.dies = ""
		h.died[name]++
	}
	h.mu.Unlock()
	if dies {
		p.die()
		panic(errDead)
	}
}

// drain sends what waits, if the process lives, and survives its death.
func (h *history) drain() {
	if h.p.dead.Load() {
		return
	}
	defer func() {
		if r := recover(); r != nil && r != errDead {
			panic(r)
		}
	}()
	if err := h.p.bot.Drain(h.rt.Context()); err != nil && !h.p.dead.Load() {
		h.rt.Fatal(err)
	}
}

// fresh is a word that nobody said before.
func (h *history) fresh() string {
	h.words++
	h.w.Advance(time.Millisecond)
	return fmt.Sprintf("w%03dx", h.words)
}

// breathe lets what was done arrive and be handled, or not yet.
func (h *history) breathe(rt *rapid.T) {
	if rapid.Bool().Draw(rt, "breathe") {
		time.Sleep(5 * time.Millisecond)
		if !h.p.dead.Load() {
			h.p.queue.Wait()
		}
	}
}

func (h *history) say(rt *rapid.T) {
	defer h.breathe(rt)
	word := h.fresh()
	if n := rapid.IntRange(0, 2).Draw(rt, "who"); n < 2 {
		x := h.sides[n]
		h.told = append(h.told, &told{by: x.physio, of: x, in: x.medical, id: x.physio.Says(x.medical, "note 7: "+word), word: word, words: []string{word}})
		return
	}
	h.told = append(h.told, &told{by: h.player, in: h.player.DM(), id: h.player.Says(h.player.DM(), "wrong: "+word), word: word, words: []string{word}})
}

func (h *history) command(rt *rapid.T) {
	x, word := rapid.SampledFrom(h.sides).Draw(rt, "side"), h.fresh()
	defer h.breathe(rt)
	i := x.physio.Slash(x.medical, "note", discordtest.Opts{"athlete": "7", "text": word})
	h.told = append(h.told, &told{by: x.physio, of: x, in: x.medical, id: "i" + i.ID, word: word, words: []string{word}, slash: i})
}

// one draws a message that somebody typed and that stands.
func (h *history) one(rt *rapid.T) *told {
	list := slices.DeleteFunc(slices.Clone(h.told), func(m *told) bool { return m.slash != nil || m.deleted || m.by == h.player })
	if len(list) == 0 {
		return nil
	}
	return rapid.SampledFrom(list).Draw(rt, "message")
}

func (h *history) edit(rt *rapid.T) {
	if m := h.one(rt); m != nil {
		m.word, m.edits = h.fresh(), m.edits+1
		m.words = append(m.words, m.word)
		m.by.Edits(m.id, "note 7: "+m.word)
		m.answered = "edited/" + m.id + "@" + h.w.Now().UTC().Format(time.RFC3339Nano)
		h.breathe(rt)
	}
}

func (h *history) remove(rt *rapid.T) {
	if m := h.one(rt); m != nil {
		h.fresh()
		m.by.Deletes(m.id)
		m.deleted = true
		h.breathe(rt)
	}
}

// press presses a button that is to be seen: what takes a record back, or which team a message is for.
func (h *history) press(rt *rapid.T) {
	type seen struct {
		by        *discordtest.User
		of        *side
		m, button string
	}
	var all []seen
	for _, x := range h.sides {
		for _, m := range x.medical.Messages() {
			for _, row := range m.Rows {
				for _, b := range row {
					if b.Label == "Undo" {
						all = append(all, seen{x.physio, x, m.ID, b.CustomID})
					}
				}
			}
		}
		for _, m := range h.player.DM().Messages() {
			for _, row := range m.Rows {
				for _, b := range row {
					if b.Label == x.g.Name {
						all = append(all, seen{h.player, x, m.ID, b.CustomID})
					}
				}
			}
		}
	}
	if len(all) == 0 {
		return
	}
	b := rapid.SampledFrom(all).Draw(rt, "button")
	h.fresh()
	b.by.Presses(b.m, b.button)
	h.breathe(rt)
}

var gatewayFaults = map[string]func(*discordtest.Gateway){
	"cut": (*discordtest.Gateway).Cut, "op 7": (*discordtest.Gateway).Reconnect, "silence": (*discordtest.Gateway).Silence,
	"invalid": func(g *discordtest.Gateway) { g.Invalidate(false) }, "cut during": func(g *discordtest.Gateway) { g.CutDuring("MESSAGE_CREATE") },
	"cut during a press": func(g *discordtest.Gateway) { g.CutDuring("INTERACTION_CREATE") },
}

func (h *history) gateway(rt *rapid.T) {
	gatewayFaults[rapid.SampledFrom([]string{"cut", "op 7", "silence", "invalid", "cut during", "cut during a press"}).Draw(rt, "gateway")](h.w.Gateway())
}

// requests lets some requests fail.
func (h *history) requests(rt *rapid.T) {
	path := rapid.SampledFrom([]string{"POST /channels/*/messages", "POST /channels/*/messages", "PATCH " + original, "POST /interactions/*/*/callback", "GET /channels/*/messages", "GET /guilds/*/members/*"}).Draw(rt, "request")
	method, path, _ := strings.Cut(path, " ")
	const window = 100 * time.Millisecond
	fault := rapid.SampledFrom([]string{"500", "502", "answer", "request", "route", "shared", "global", "edge"}).Draw(rt, "fault")
	n := rapid.IntRange(1, 3).Draw(rt, "times")
	if slices.Contains([]string{"route", "shared", "global", "edge"}, fault) {
		h.limits += n
	}
	h.w.Fail(n, method, path, map[string]discordtest.Fault{
		"500": discordtest.Status(500), "502": discordtest.Status(502), "answer": discordtest.AnswerLost(), "request": discordtest.RequestLost(),
		"route": discordtest.RateLimited(window, false), "shared": discordtest.RateLimited(window, true), "global": discordtest.GloballyLimited(window), "edge": discordtest.EdgeLimited(time.Second),
	}[fault])
}

// crash has the process die at a step, when it next comes there.
func (h *history) crash(rt *rapid.T) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.dies = rapid.SampledFrom(bot.Steps).Draw(rt, "step")
}

// pass lets time pass, and another process take a dead one's place.
func (h *history) pass(rt *rapid.T) {
	if !h.p.dead.Load() {
		h.p.queue.Wait()
	}
	h.w.Advance(time.Duration(rapid.IntRange(1, 300).Draw(rt, "seconds")) * time.Second)
	if h.p.dead.Load() {
		h.serve()
	}
	h.drain()
}

// settle ends all trouble: another process reads everything back, and time passes until nothing waits.
func (h *history) settle() {
	h.mu.Lock()
	h.dies = ""
	h.mu.Unlock()
	h.w.Mend()
	for range 2 { // a second time changes nothing
		h.p.queue.Wait()
		h.p.die()
		h.w.Advance(4 * time.Minute)
		h.serve()
		var last []string
		for _, x := range h.sides {
			h.fresh()
			last = append(last, x.physio.Says(x.medical, "clinic"))
		}
		h.fresh()
		last = append(last, h.player.Says(h.player.DM(), "a\nb"))
		began := time.Now()
		for h.number(`SELECT count(*) FROM outbox WHERE sent_at IS NULL AND dead_at IS NULL`) > 0 || slices.ContainsFunc(last, func(id string) bool {
			return h.number(`SELECT count(*) FROM outbox WHERE dedupe_key LIKE $1`, "%/created/"+id+"/%") == 0
		}) {
			if time.Since(began) > discordtest.Patience {
				h.rt.Fatalf("after %s it is not settled: %v", discordtest.Patience, h.rows())
			}
			h.w.Advance(time.Second)
			h.drain()
			time.Sleep(2 * time.Millisecond)
		}
		h.p.queue.Wait()
	}
}

// Whatever people do on two servers and whatever fails between them and the database: what is acknowledged is
// stored, what is typed is recorded and answered once and in order, and no team has anything of the other's.
func TestWhateverHappensOnDiscord(t *testing.T) {
	for _, engine := range []struct {
		name  string
		fresh func(testing.TB) store.Config
		most  int // histories, unless -rapid.checks asks for a number
	}{{"sqlite", storetest.SQLite, 5}, {"postgres", storetest.Postgres, 2}} {
		t.Run(engine.name, func(t *testing.T) {
			t.Parallel()
			most := engine.most
			if raced {
				most = 2
			}
			if f := flag.Lookup("rapid.checks"); f.Value.String() != f.DefValue {
				most, _ = strconv.Atoi(f.Value.String())
			}
			engine.fresh(t) // leaves the engine out here, not in the middle of a history
			died, n := map[string]int{}, 0
			rapid.Check(t, func(rt *rapid.T) {
				if n++; n <= most {
					live(t, rt, engine.fresh, died)
				}
			})
			t.Logf("deaths by step: %v", died)
		})
	}
}

// live lets one history happen.
func live(t *testing.T, rt *rapid.T, fresh func(testing.TB) store.Config, died map[string]int) {
	tb := &scope{TB: t, rt: rt}
	defer tb.end()
	h := begin(rt, tb, fresh(tb), died)
	rt.Repeat(map[string]func(*rapid.T){
		"say": h.say, "say more": h.say, "command": h.command, "edit": h.edit, "remove": h.remove, "press": h.press,
		"gateway": h.gateway, "requests": h.requests, "crash": h.crash, "crash again": h.crash, "pass": h.pass, "pass again": h.pass,
	})
	h.settle()
	h.check()
}
