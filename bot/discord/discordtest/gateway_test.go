package discordtest

import (
	"encoding/json"
	"errors"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/gorilla/websocket"
)

func TestConversation(t *testing.T) {
	t.Parallel()
	w := New(t)
	g := w.Guild("harbour")
	room := g.Channel("treatment-room")
	mere := g.Member("mere", g.Role("medic"))
	w.Allow(int(discordgo.IntentMessageContent))
	s := client(t, w, chatIntents|discordgo.IntentMessageContent)
	s.AddHandler(func(s *discordgo.Session, m *discordgo.MessageCreate) {
		if !m.Author.Bot {
			_, _ = s.ChannelMessageSendReply(m.ChannelID, "noted: "+m.Content, m.Reference())
		}
	})
	s.AddHandler(func(s *discordgo.Session, m *discordgo.MessageUpdate) {
		if m.EditedTimestamp != nil && !m.Author.Bot {
			_, _ = s.ChannelMessageSend(m.ChannelID, "changed: "+m.Content)
		}
	})
	s.AddHandler(func(s *discordgo.Session, m *discordgo.MessageDelete) {
		_, _ = s.ChannelMessageSend(m.ChannelID, "gone: "+m.ID)
	})
	open(t, w, s)

	id := mere.Says(room, "7 left ankle")
	w.Wait("the reply", func() bool { return room.Last().Content == "noted: 7 left ankle" && room.Last().ReplyTo == id })
	w.PreviewLink(id, false)
	w.PreviewLink(id, true)
	w.Advance(time.Minute)
	mere.Edits(id, "7 right ankle")
	w.Wait("the second answer", func() bool { return room.Last().Content == "changed: 7 right ankle" })
	mere.Deletes(id)
	w.Wait("the third answer", func() bool { return room.Last().Content == "gone: "+id })
	if got := len(room.Messages()); got != 3 {
		t.Errorf("%d messages stand, want the bot's 3", got)
	}
	if pings := w.Pings(); len(pings) != 1 || pings[0].Who != "mere" {
		t.Errorf("pings: %v, want the reply's", pings)
	}
	noViolations(t, w)
}

// Gateway, Message Content Intent: the four exceptions, but for context menus.
func TestContentNeedsTheIntent(t *testing.T) {
	t.Parallel()
	w := New(t)
	g := w.Guild("harbour")
	room := g.Channel("physio")
	mere := g.Member("mere")
	s := client(t, w, chatIntents)
	events := heard(s)
	open(t, w, s)

	answer, err := s.ChannelMessageSend(room.ID, "from the bot")
	must(t, answer, err)
	for _, c := range []struct {
		what string
		say  func()
		want string
	}{
		{"the bot's own", func() {}, "from the bot"},
		{"plain text", func() { mere.Says(room, "7 left ankle", File{Name: "a.csv", Data: []byte("x")}) }, ""},
		{"a mention", func() { mere.Says(room, w.Bot().Mention()+" squad") }, w.Bot().Mention() + " squad"},
		{"a reply to the bot", func() { mere.Replies(room, answer.ID, "thanks") }, "thanks"},
		{"a direct message", func() { mere.Says(mere.DM(), "my ankle") }, "my ankle"},
	} {
		c.say()
		m := nextMessage(t, events, "MESSAGE_CREATE")
		if m.Content != c.want || len(m.Attachments) != 0 {
			t.Errorf("%s: heard %q with %d files, want %q", c.what, m.Content, len(m.Attachments), c.want)
		}
	}
	history, err := s.ChannelMessages(room.ID, 10, "", "", "")
	must(t, history, err)
	if history[2].Content != "" || history[3].Content != "from the bot" {
		t.Errorf("REST shows %q and %q", history[2].Content, history[3].Content)
	}
}

func TestOnlyTheIntentsAskedFor(t *testing.T) {
	t.Parallel()
	w := New(t)
	g := w.Guild("harbour")
	room, secret := g.Channel("physio"), g.Channel("board")
	secret.Overwrite(g.Everyone(), 0, ViewChannel)
	secret.Overwrite(g.Role("board"), ViewChannel, 0)
	mere := g.Member("mere")
	s := client(t, w, discordgo.IntentDirectMessages)
	events := heard(s)
	open(t, w, s)
	mere.Says(room, "unheard")
	g.SetRoles(mere, g.Role("medic"))
	g.SetRoles(w.Bot())
	mere.Says(mere.DM(), "heard")
	var names []string
	for len(names) == 0 || names[len(names)-1] != "MESSAGE_CREATE" {
		select {
		case e := <-events:
			if e.Type != "" {
				names = append(names, e.Type)
			}
		case <-time.After(Patience):
			t.Fatalf("heard only %v", names)
		}
	}
	want := []string{"READY", "GUILD_MEMBER_UPDATE", "MESSAGE_CREATE"} // the update is the bot's own
	if len(names) != 3 || names[0] != want[0] || names[1] != want[1] || names[2] != want[2] {
		t.Errorf("heard %v, want %v", names, want)
	}
}

func TestUnseenChannelsAreSilent(t *testing.T) {
	t.Parallel()
	w := New(t)
	g := w.Guild("harbour")
	role := g.Role("board")
	secret, room := g.Channel("board"), g.Channel("physio")
	secret.Overwrite(g.Everyone(), 0, ViewChannel)
	secret.Overwrite(role, ViewChannel, 0)
	s := client(t, w, chatIntents)
	events := heard(s)
	open(t, w, s)
	g.Member("lou", role).Says(secret, w.Bot().Mention()+" secret")
	g.Member("mere").Says(room, w.Bot().Mention()+" open")
	if m := nextMessage(t, events, "MESSAGE_CREATE"); m.ChannelID != room.ID {
		t.Error("the bot heard a channel it cannot see")
	}
}

// Opcodes and Status Codes, Gateway Close Event Codes.
func TestIdentifyIsRefused(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name  string
		spoil func(*discordgo.Session)
		want  int
	}{
		{"a wrong token", func(s *discordgo.Session) { s.Identify.Token = "Bot wrong" }, 4004},
		{"message content, not switched on", func(s *discordgo.Session) { s.Identify.Intents |= discordgo.IntentMessageContent }, 4014},
		{"members, not switched on", func(s *discordgo.Session) { s.Identify.Intents |= discordgo.IntentGuildMembers }, 4014},
		{"no such intent", func(s *discordgo.Session) { s.Identify.Intents |= 1 << 30 }, 4013},
		{"a shard past the last", func(s *discordgo.Session) { s.Identify.Shard = &[2]int{2, 2} }, 4010},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := client(t, New(t), chatIntents)
			c.spoil(s)
			err := s.Open()
			var closed *websocket.CloseError
			if !errors.As(err, &closed) || closed.Code != c.want {
				t.Errorf("got %v, want close code %d", err, c.want)
			}
		})
	}
}

func TestBadPayloadsCloseTheConnection(t *testing.T) {
	t.Parallel()
	identify := obj{"token": token, "intents": 1}
	for _, c := range []struct {
		name, query string
		do          func(raw)
		want        int
	}{
		{"another version", "?v=6", func(raw) {}, 4012},
		{"no such opcode", "?v=9", func(r raw) { r.send(99, nil) }, 4001},
		{"no JSON", "?v=9", func(r raw) { _ = r.ws.WriteMessage(websocket.TextMessage, []byte("{")) }, 4002},
		{"no intents", "?v=9", func(r raw) { r.send(2, obj{"token": token}) }, 4002},
		{"before identifying", "?v=9", func(r raw) { r.send(3, obj{}) }, 4003},
		{"identifying twice", "?v=9", func(r raw) { r.send(2, identify); r.send(2, identify) }, 4005},
		{"too many payloads", "?v=9", func(r raw) {
			for range 121 {
				r.send(1, nil)
			}
		}, 4008},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r := dial(t, New(t), c.query)
			c.do(r)
			if got := r.ended(); got != c.want {
				t.Errorf("closed with %d, want %d", got, c.want)
			}
		})
	}
}

func TestReadyComesBeforeGuilds(t *testing.T) {
	t.Parallel()
	w := New(t)
	w.Guild("harbour")
	r := dial(t, w, "?v=9&encoding=json")
	if hello := r.receive(); hello.Op != 10 || string(hello.D) != `{"heartbeat_interval":41250}` {
		t.Errorf("first came %+v", hello)
	}
	r.send(2, obj{"token": w.Token(), "intents": 1})
	var ready struct {
		SessionID string `json:"session_id"`
		Resume    string `json:"resume_gateway_url"`
		Guilds    []struct{ Unavailable bool }
	}
	p := r.receive()
	if err := json.Unmarshal(p.D, &ready); err != nil || p.T != "READY" || p.S != 1 || ready.SessionID == "" || ready.Resume == "" || len(ready.Guilds) != 1 || !ready.Guilds[0].Unavailable {
		t.Errorf("READY: %+v, %v", ready, err)
	}
	if p := r.receive(); p.T != "GUILD_CREATE" || p.S != 2 {
		t.Errorf("then %+v", p)
	}
	r.send(1, 2)
	if p := r.receive(); p.Op != 11 {
		t.Errorf("a heartbeat was answered with %+v", p)
	}
	w.Gateway().AskHeartbeat()
	if p := r.receive(); p.Op != 1 {
		t.Errorf("asked for a heartbeat with %+v", p)
	}
}
