package main

import (
	"database/sql"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"

	"footing/bot"
	"footing/bot/discord"
	"footing/bot/discord/discordtest"
	"footing/rehab"
	"footing/store"
)

// league is two teams on one database and one Discord, with three people who write, and every process that
// serves them.
type league struct {
	t     *testing.T
	w     *discordtest.World
	db    store.Config
	raw   *sql.DB // past row security, as somebody with SQL sees it
	flags []string
	clock string
	moved time.Duration
	clubs []*club
	told  []*told
}

type club struct {
	l              *league
	g              *discordtest.Guild
	medical, staff *discordtest.Channel
	medic, coach   *discordtest.Role
	people         []*discordtest.User
}

// told is a message somebody sent.
type told struct {
	club     *club
	by       *discordtest.User
	id, text string
	edited   bool
	undone   bool
}

func newLeague(t *testing.T, db store.Config, flags ...string) *league {
	t.Helper()
	l := &league{t: t, w: discordtest.New(t), db: db, flags: flags, clock: newClock(t)}
	l.w.Allow(int(discordgo.IntentMessageContent))
	driver, address := "sqlite", "file:"+db.URL+"?_pragma=busy_timeout(5000)"
	if db.OwnerURL != "" {
		driver, address = "postgres", db.OwnerURL
	}
	var err error
	if l.raw, err = sql.Open(driver, address); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = l.raw.Close() })
	l.tick()
	l.clubs = []*club{l.found("harbour", "sam", "tia"), l.found("hills", "rob")}
	return l
}

// found makes a team that is set up.
func (l *league) found(name string, people ...string) *club {
	l.t.Helper()
	for {
		// The ids of two servers differ in their time by one: they are on different ones of two shards.
		if l.w.SetClock(l.w.Now().Add(time.Millisecond)); l.w.Now().UnixMilli()%2 == int64(len(l.clubs)) {
			break
		}
	}
	c := &club{l: l, g: l.w.Guild(name)}
	c.medic, c.coach = c.g.Role("medic"), c.g.Role("coach")
	c.medical = c.g.PrivateChannel("treatment-room", c.medic, c.g.BotRole())
	c.staff = c.g.PrivateChannel("staff", c.medic, c.coach, c.g.BotRole())
	for _, p := range people {
		c.people = append(c.people, c.g.Member(p, c.medic))
	}
	s, err := store.Open(l.t.Context(), l.db)
	if err != nil {
		l.t.Fatal(err)
	}
	defer func() { _ = s.Close() }()
	a, err := discord.New(discord.Config{Token: "none", Log: quiet, Clock: time.Now})
	if err != nil {
		l.t.Fatal(err)
	}
	b, err := bot.New(l.t.Context(), bot.Config{Store: s, Front: a, Clock: time.Now, Log: quiet})
	if err != nil {
		l.t.Fatal(err)
	}
	if _, err := b.PutTeam(l.t.Context(), rehab.Team{Key: c.g.ID, Name: name, Zone: "Pacific/Auckland", ReportAt: time.Now().Add(-time.Hour).In(auckland).Format("15:04"),
		Rooms: rehab.Rooms{MedicalRoles: []string{c.medic.ID}, CoachRoles: []string{c.coach.ID}, Medical: c.medical.ID, Staff: c.staff.ID}}); err != nil {
		l.t.Fatal(err)
	}
	return c
}

// says sends a line in the medical room.
func (c *club) says(by *discordtest.User, text string) *told {
	c.l.tick()
	m := &told{club: c, by: by, text: text, id: by.Says(c.medical, text)}
	c.l.told = append(c.l.told, m)
	return m
}

// everybody writes n notes, in turns.
func (l *league) everybody(name string, n int) (out []*told) {
	for i := range n {
		for _, c := range l.clubs {
			for _, p := range c.people {
				out = append(out, c.says(p, fmt.Sprintf("note 7: %s %d by %s", name, i, p.Name)))
			}
		}
	}
	return out
}

func (m *told) edits(text string) {
	m.club.l.tick()
	m.text, m.edited = text, true
	m.by.Edits(m.id, text)
}

// answer is the last answer to a message that stands in its room.
func (m *told) answer() (discordtest.Message, bool) {
	var out discordtest.Message
	for _, o := range m.club.l.outbox() {
		if o.source == m.id && o.sent != "" {
			for _, shown := range m.club.medical.Messages() {
				if shown.ID == o.sent {
					out = shown
				}
			}
		}
	}
	return out, out.ID != ""
}

// undoes presses Undo under a message's answer until that is answered: a press that no process hears is lost,
// and who sees so presses again.
func (m *told) undoes() {
	m.club.l.t.Helper()
	var a discordtest.Message
	until(m.club.l.t, "an answer to "+m.text, func() (ok bool) { a, ok = m.answer(); return ok })
	m.undone = true
	token := ""
	for _, row := range a.Rows {
		for _, b := range row {
			if b.Label == "Undo" {
				token = b.CustomID
			}
		}
	}
	if token == "" {
		m.club.l.t.Fatalf("no Undo under %q", a.Content)
	}
	until(m.club.l.t, "an answer to Undo", func() bool {
		m.club.l.tick()
		i := m.by.PressesLate(a.ID, token)
		for late := time.Now().Add(3 * time.Second); time.Now().Before(late); time.Sleep(10 * time.Millisecond) {
			if said, ok := i.Answer(); ok && !said.Thinking {
				return true
			}
		}
		return false
	})
}

// begin waits for the gateways of a league's first process and fills the rosters.
func (l *league) begin(shards int) {
	l.t.Helper()
	until(l.t, "the gateway", func() bool { return l.w.Gateway().Live() == shards })
	until(l.t, "every room to be known", func() bool {
		n := 0
		return l.raw.QueryRow(`SELECT count(*) FROM cursors`).Scan(&n) == nil && n == 2*len(l.clubs)
	})
	for _, c := range l.clubs {
		c.says(c.people[0], "add 7 Mere Tau, wing")
	}
	l.quiet(0)
}

// row is one message of the outbox.
type row struct {
	team, key, place, kind, sent, source string
	out, dead                            bool
}

func (l *league) outbox() (out []row) {
	l.t.Helper()
	rows, err := l.raw.Query(`SELECT t.key, o.dedupe_key, d.key, o.kind, o.sent_id, o.sent_at IS NOT NULL, o.dead_at IS NOT NULL FROM outbox o JOIN destinations d ON d.id = o.destination_id JOIN teams t ON t.id = o.team_id ORDER BY o.id`)
	if err != nil {
		l.t.Fatal(err)
	}
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		var r row
		if err := rows.Scan(&r.team, &r.key, &r.place, &r.kind, &r.sent, &r.out, &r.dead); err != nil {
			l.t.Fatal(err)
		}
		if parts := strings.Split(r.key, "/"); len(parts) > 2 {
			r.source, _, _ = strings.Cut(parts[2], "@")
		}
		out = append(out, r)
	}
	if err := rows.Err(); err != nil {
		l.t.Fatal(err)
	}
	return out
}

// declined counts the fixed sentences that say nothing was saved.
func (l *league) declined() (n int) {
	for _, c := range l.clubs {
		for _, m := range c.medical.Messages() {
			if fixed(m) {
				n++
			}
		}
	}
	return n
}

func fixed(m discordtest.Message) bool {
	return strings.HasPrefix(m.Content, "That did not work and nothing was saved") || strings.HasPrefix(m.Content, "I cannot tell yet")
}

// quiet waits until everything that was told is answered and everything written was said; up to some may have
// been told instead that nothing was saved.
func (l *league) quiet(mayFail int) {
	l.t.Helper()
	until(l.t, "everything to be answered", func() bool {
		answered := map[string]bool{}
		for _, o := range l.outbox() {
			if !o.out && !o.dead {
				return false
			}
			answered[o.source] = true
		}
		open := 0
		for _, m := range l.told {
			if !answered[m.id] {
				open++
			}
		}
		return open <= min(mayFail, l.declined())
	})
}

// audit compares what people read with what is stored.
func (l *league) audit() {
	l.t.Helper()
	outbox := l.outbox()
	l.auditSaid(outbox)
	l.auditOrder(outbox)
	l.auditStored(outbox)
	for i, s := range l.w.Gateway().Spans() {
		for _, o := range l.w.Gateway().Spans()[:i] {
			// A process that died may be noticed a moment late; two that both think they lead stay.
			if o.Shard == s.Shard && (o.To.IsZero() || o.To.Sub(s.From) > 2*time.Second) {
				l.t.Errorf("two gateways of shard %d at once: %+v and %+v", s.Shard, o, s)
			}
		}
	}
	if v := l.w.Violations(); len(v) > 0 {
		l.t.Errorf("violations: %q", v)
	}
}

// auditSaid finds what was said twice, or never, or in another team's room.
func (l *league) auditSaid(outbox []row) {
	l.t.Helper()
	for _, c := range l.clubs {
		keys := map[string]string{} // by the id of what is shown
		for _, o := range outbox {
			if o.team != c.g.ID {
				continue
			}
			if !strings.HasPrefix(o.key, c.g.ID+"/") && !strings.HasPrefix(o.key, "report/") {
				l.t.Errorf("team %s has %s in its outbox", c.g.ID, o.key)
			}
			if o.dead {
				l.t.Errorf("%s was given up", o.key)
			}
			if other := keys[o.sent]; other != "" && o.sent != "" {
				l.t.Errorf("%s and %s are one message", o.key, other)
			}
			keys[o.sent] = o.key
		}
		for _, m := range slices.Concat(c.medical.Messages(), c.staff.Messages()) {
			switch key, known := keys[m.ID]; {
			case m.Author != l.w.Bot().Name, m.Thinking, fixed(m): // promised by a process that died: Discord ends it after a while
			case !known:
				l.t.Errorf("%q is no message of the outbox: it was said twice, or to others", m.Content)
			default:
				delete(keys, m.ID)
				_ = key
			}
		}
		for id, key := range keys {
			l.t.Errorf("%s was said as %q, which nobody sees", key, id)
		}
	}
}

// auditOrder finds answers that came in another order than what they answer, of one author in one room.
func (l *league) auditOrder(outbox []row) {
	l.t.Helper()
	sent := map[string]string{}
	for _, o := range outbox {
		if strings.HasSuffix(o.key, "/created/"+o.source+"/0.0") {
			sent[o.source] = o.sent
		}
	}
	last := map[string]*told{}
	for _, m := range l.told { // in the order they were sent; an id's digits order by time
		if m.edited || sent[m.id] == "" {
			continue
		}
		key := m.club.g.ID + m.by.ID
		if before := last[key]; before != nil && sent[before.id] >= sent[m.id] {
			l.t.Errorf("%q was answered before %q", m.text, before.text)
		}
		last[key] = m
	}
}

// auditStored finds what is stored without being acknowledged, or twice, or not at all, or for the wrong team.
func (l *league) auditStored(outbox []row) {
	l.t.Helper()
	type entry struct{ team, body string }
	live, gone := map[string][]entry{}, map[string]int{}
	rows, err := l.raw.Query(`SELECT t.key, e.source, e.body, e.voided_at IS NULL AND e.superseded_at IS NULL, e.voided_at IS NOT NULL FROM entries e JOIN teams t ON t.id = e.team_id
		JOIN members m ON m.id = e.author_id AND m.team_id = e.team_id JOIN athletes a ON a.id = e.athlete_id AND a.team_id = e.team_id`)
	if err != nil {
		l.t.Fatal(err)
	}
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		var e entry
		var source string
		var lives, voided bool
		if err := rows.Scan(&e.team, &source, &e.body, &lives, &voided); err != nil {
			l.t.Fatal(err)
		}
		if lives {
			live[source] = append(live[source], e)
		}
		if voided {
			gone[source]++
		}
	}
	if err := rows.Err(); err != nil {
		l.t.Fatal(err)
	}
	acknowledged := map[string]bool{}
	for _, o := range outbox {
		acknowledged[o.source] = acknowledged[o.source] || o.sent != ""
	}
	for _, m := range l.told {
		want := 1
		if m.undone || !acknowledged[m.id] {
			want = 0
		}
		switch got := live[m.id]; {
		case len(got) != want:
			l.t.Errorf("%q stands %d times, want %d", m.text, len(got), want)
		case want == 1 && got[0].team != m.club.g.ID:
			l.t.Errorf("%q is with team %s", m.text, got[0].team)
		case want == 1 && strings.HasPrefix(m.text, "note") && !strings.Contains(got[0].body, strings.TrimPrefix(m.text, "note 7: ")):
			l.t.Errorf("%q is stored as %s", m.text, got[0].body)
		}
		if m.undone && gone[m.id] != 1 {
			l.t.Errorf("%q was taken back %d times", m.text, gone[m.id])
		}
		delete(live, m.id)
	}
	for source, e := range live {
		l.t.Errorf("%v stands by %s, which nobody sent", e, source)
	}
}
