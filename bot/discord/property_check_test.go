package discord_test

import (
	"fmt"
	"slices"
	"strings"

	"footing/bot/discord/discordtest"
)

// row is a message of the outbox.
type row struct {
	team                   int64
	key, kind, to, id, why string
	sent, dead             bool
}

func (h *history) rows() (out []row) {
	list, err := h.raw.Query(`SELECT o.team_id, o.dedupe_key, o.kind, d.key, o.sent_id, o.last_error, o.sent_at IS NOT NULL, o.dead_at IS NOT NULL FROM outbox o JOIN destinations d ON d.id = o.destination_id ORDER BY o.id`)
	if err != nil {
		h.rt.Fatal(err)
	}
	defer func() { _ = list.Close() }()
	for list.Next() {
		var r row
		if err := list.Scan(&r.team, &r.key, &r.kind, &r.to, &r.id, &r.why, &r.sent, &r.dead); err != nil {
			h.rt.Fatal(err)
		}
		out = append(out, r)
	}
	return out
}

// seen is what stands in a channel, by id, of the bot.
func (h *history) seen() map[string]discordtest.Message {
	out := map[string]discordtest.Message{}
	channels := map[*discordtest.Channel]*discordtest.User{h.player.DM(): h.player}
	for _, x := range h.sides {
		channels[x.medical] = x.physio
	}
	for ch, u := range channels {
		for _, m := range u.Sees(ch) {
			if m.Author == h.w.Bot().Name {
				out[m.ID] = m
			}
		}
	}
	return out
}

// check is what must hold in the end.
func (h *history) check() {
	rows, seen := h.rows(), h.seen()
	h.eachIsSeenOnce(rows, seen)
	for _, m := range h.told {
		switch {
		case m.slash != nil:
			h.checkCommand(m, rows)
		case m.by == h.player:
			h.checkWrong(m)
		default:
			h.checkLine(m, rows)
		}
	}
	h.checkOrder(rows)
	for i, x := range h.sides {
		other := h.sides[1-i]
		for _, m := range x.medical.Messages() {
			for _, t := range h.told {
				if t.of == other && slices.ContainsFunc(t.words, func(w string) bool { return strings.Contains(m.Content, w) }) {
					h.rt.Errorf("%s reads of the other team: %s", x.g.Name, m.Content)
				}
			}
		}
	}
	if v := h.w.Violations(); len(v) > 2*h.limits { // what was on its way when a window opened is none
		h.rt.Errorf("Discord's rules were broken: %v", v)
	}
	if p := h.w.Pings(); len(p) > 0 {
		h.rt.Errorf("pinged: %v", p)
	}
}

// eachIsSeenOnce compares what is to be seen with what was to be said.
func (h *history) eachIsSeenOnce(rows []row, seen map[string]discordtest.Message) {
	by := map[string]string{}
	for _, r := range rows {
		if r.key[:1] == "-" || strings.Contains(r.key, "/first/") { // said before there was a chat
			continue
		}
		if r.dead && r.why != "expired" {
			h.rt.Errorf("given up: %+v", r)
		}
		if r.dead {
			continue
		}
		if by[r.id] != "" {
			h.rt.Errorf("%s and %s are one message", by[r.id], r.key)
		}
		by[r.id] = r.key
		if _, ok := seen[r.id]; !ok {
			h.rt.Errorf("said and not to be seen: %+v", r)
		}
	}
	for id, m := range seen {
		if by[id] == "" && !m.Thinking {
			h.rt.Errorf("to be seen, and nobody's: %s %q", id, m.Content)
		}
	}
}

// answers are the rows that answer an event, by the part of their key that names it.
func answers(rows []row, event string) (out []row) {
	for _, r := range rows {
		if strings.Contains(r.key, event) && r.kind == "reply" {
			out = append(out, r)
		}
	}
	return out
}

// standing are the records of a message that no edit replaced: "team kind body".
func (h *history) standing(source string) (out []string, voided int) {
	list, err := h.raw.Query(`SELECT team_id, body, voided_at IS NOT NULL FROM entries WHERE source = $1 AND superseded_at IS NULL`, source)
	if err != nil {
		h.rt.Fatal(err)
	}
	defer func() { _ = list.Close() }()
	for list.Next() {
		var team int64
		var body string
		var gone bool
		if err := list.Scan(&team, &body, &gone); err != nil {
			h.rt.Fatal(err)
		}
		if gone {
			voided++
		}
		out = append(out, fmt.Sprint(team, " ", body))
	}
	return out, voided
}

func (h *history) checkLine(m *told, rows []row) {
	got, voided := h.standing(m.id)
	if n := h.number(`SELECT count(*) FROM entries WHERE source = $1`, m.id); n > m.edits+1 {
		h.rt.Errorf("%s (%s) was recorded %d times, and edited %d times", m.word, m.id, n, m.edits)
	}
	asked := answers(rows, "/"+m.id+"/deleted.") // as it was deleted, or as it was read after that
	if m.deleted {
		if len(got) > 1 && voided == 0 || len(got) > 0 && voided == 0 && len(asked) != 1 {
			h.rt.Errorf("%s was deleted, stands as %v and was asked about %d times", m.word, got, len(asked))
		}
		return
	}
	if voided == 0 && (len(got) != 1 || !strings.HasPrefix(got[0], fmt.Sprint(m.of.id, " ")) || !strings.Contains(got[0], m.word)) {
		h.rt.Errorf("%s (%s) is on record as %v", m.word, m.id, got)
	}
	event := "created/" + m.id + "/"
	if m.answered != "" {
		event = m.answered
	}
	if list := answers(rows, "/"+event); len(list) != 1 || !list[0].sent {
		h.rt.Errorf("%s (%s) was answered by %v", m.word, event, list)
	}
}

// checkCommand holds of what may be lost, as nobody reads commands back: stored once or not at all, and
// answered if it is.
func (h *history) checkCommand(m *told, rows []row) {
	got, _ := h.standing(m.id)
	list := answers(rows, "/created/"+m.id+"/")
	if len(got) > 1 || len(got) != len(list) {
		h.rt.Errorf("the command %s stands as %v, answered by %v", m.word, got, list)
	}
	if a, ok := m.slash.Answer(); ok && len(got) != 1 && !strings.Contains(a.Content, "othing was saved") {
		h.rt.Errorf("the command %s was acknowledged and stands as %v: %s", m.word, got, a.Content)
	}
	if len(got) == 1 && !strings.HasPrefix(got[0], fmt.Sprint(m.of.id, " ")) {
		h.rt.Errorf("the command %s stands as %v", m.word, got)
	}
}

// checkWrong holds of what a player of two teams wrote: it is for one of them at most, and was asked about once.
func (h *history) checkWrong(m *told) {
	if got, _ := h.standing(m.id); len(got) > 1 {
		h.rt.Errorf("%s stands as %v", m.word, got)
	}
	if n := h.number(`SELECT count(*) FROM outbox WHERE dedupe_key = $1 AND sent_at IS NOT NULL`, "/created/"+m.id+"/team"); n != 1 {
		h.rt.Errorf("%s was asked about %d times", m.word, n)
	}
	said := 0
	for _, x := range h.sides {
		for _, r := range x.medical.Messages() {
			if r.Author == h.w.Bot().Name && strings.Contains(r.Content, "ALERT") && strings.Contains(r.Content, m.word) {
				said++
			}
		}
	}
	if said > 1 {
		h.rt.Errorf("%s was an alert %d times", m.word, said)
	}
}

// checkOrder holds of the answers to what each author typed in one place and nobody edited.
func (h *history) checkOrder(rows []row) {
	last := map[string]string{}
	for _, m := range h.told {
		if m.slash != nil {
			continue
		}
		for _, r := range answers(rows, "/created/"+m.id+"/") {
			if at := m.by.ID + r.to; r.id < last[at] {
				h.rt.Errorf("%s (%s) was answered before what came before it", m.word, m.id)
			} else {
				last[at] = r.id
			}
		}
	}
}
