package discordtest

import (
	"errors"
	"io"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"
)

// Get Channel Messages: newest first, before, after and around an id, at most 100.
func TestHistoryPages(t *testing.T) {
	t.Parallel()
	w, s, room := quiet(t)
	mere := room.guild.Member("mere")
	var ids []string
	for range 120 {
		ids = append(ids, mere.Says(room, w.Bot().Mention()))
	}
	newest := func(ids ...string) []string { slices.Reverse(ids); return ids }
	for _, c := range []struct {
		name                  string
		limit                 int
		before, after, around string
		want                  []string
	}{
		{"newest", 3, "", "", "", newest(slices.Clone(ids[117:])...)},
		{"by default 50", 0, "", "", "", newest(slices.Clone(ids[70:])...)},
		{"after", 2, "", ids[10], "", newest(slices.Clone(ids[11:13])...)},
		{"after everything", 2, "", ids[119], "", nil},
		{"after what was deleted", 2, "", "1", "", newest(slices.Clone(ids[:2])...)},
		{"before", 2, ids[10], "", "", newest(slices.Clone(ids[8:10])...)},
		{"around", 3, "", "", ids[10], newest(slices.Clone(ids[9:12])...)},
		{"100", 100, "", "", "", newest(slices.Clone(ids[20:])...)},
	} {
		messages, err := s.ChannelMessages(room.ID, c.limit, c.before, c.after, c.around)
		must(t, messages, err)
		var got []string
		for _, m := range messages {
			got = append(got, m.ID)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", c.name, got, c.want)
		}
	}
	room.Overwrite(w.Bot(), 0, ReadHistory)
	if messages, err := s.ChannelMessages(room.ID, 5, "", "", ""); err != nil || len(messages) != 0 {
		t.Errorf("without history: %d messages, %v", len(messages), err)
	}
}

func TestSendingEditingDeleting(t *testing.T) {
	t.Parallel()
	w, s, room := quiet(t)
	sent, err := s.ChannelMessageSendComplex(room.ID, &discordgo.MessageSend{
		Content: "plan", Embeds: []*discordgo.MessageEmbed{{Title: "Week 1"}}, AllowedMentions: &discordgo.MessageAllowedMentions{},
		Files:      []*discordgo.File{{Name: "squad.csv", ContentType: "text/csv", Reader: strings.NewReader("7,Mere")}},
		Components: []discordgo.MessageComponent{discordgo.ActionsRow{Components: []discordgo.MessageComponent{discordgo.Button{Label: "Done", CustomID: "done"}}}},
	})
	must(t, sent, err)
	m := room.Last()
	if m.Content != "plan" || m.Embeds[0].Title != "Week 1" || string(m.Files[0].Data) != "7,Mere" || m.Files[0].Type != "text/csv" || m.Rows[0][0].Label != "Done" || !m.Silenced || m.Author != "footing" {
		t.Errorf("a reader sees %+v", m)
	}
	resp, err := s.Client.Get(sent.Attachments[0].URL)
	must(t, resp, err)
	data, err := io.ReadAll(resp.Body)
	_ = resp.Body.Close()
	if string(must(t, data, err)) != "7,Mere" {
		t.Errorf("fetched %q", data)
	}
	w.Advance(time.Minute)
	text, none := "plan, done", []discordgo.MessageComponent{}
	_, err = s.ChannelMessageEditComplex(&discordgo.MessageEdit{Channel: room.ID, ID: sent.ID, Content: &text, Components: &none})
	must(t, 0, err)
	if m := room.Last(); m.Content != text || len(m.Rows) != 0 || len(m.Embeds) != 1 || len(m.Files) != 1 || !m.Edited.Equal(w.Now()) {
		t.Errorf("after the edit a reader sees %+v", m)
	}
	empty, noEmbeds := "", []*discordgo.MessageEmbed{}
	_, err = s.ChannelMessageEditComplex(&discordgo.MessageEdit{Channel: room.ID, ID: sent.ID, Content: &empty, Embeds: &noEmbeds, Attachments: &[]*discordgo.MessageAttachment{}})
	refusedWith(t, err, 400, 50006)
	if room.Last().Content != text {
		t.Error("a refused edit changed something")
	}
	if err := s.ChannelMessageDelete(room.ID, sent.ID); err != nil || len(room.Messages()) != 0 {
		t.Errorf("deleting: %v", err)
	}
	refusedWith(t, s.ChannelMessageDelete(room.ID, sent.ID), 404, 10008)
	noViolations(t, w)
}

func TestDirectMessages(t *testing.T) {
	t.Parallel()
	w, s, room := quiet(t)
	mere := room.guild.Member("mere")
	c, err := s.UserChannelCreate(mere.ID)
	must(t, c, err)
	if _, err := s.ChannelMessageSend(c.ID, "how is it today?"); err != nil || mere.DM().ID != c.ID || mere.DM().Last().Content != "how is it today?" {
		t.Errorf("sent %v", err)
	}
	if len(w.User("lou").Sees(mere.DM())) != 0 {
		t.Error("lou reads mere's direct messages")
	}
	mere.CloseDMs()
	_, err = s.ChannelMessageSend(c.ID, "x")
	refusedWith(t, err, 403, 50007)
	mere.OpenDMs()
	room.guild.Remove(mere)
	_, err = s.ChannelMessageSend(c.ID, "x")
	refusedWith(t, err, 403, 50278)
}

// Allowed Mentions; without the object everything that is mentioned rings.
func TestPings(t *testing.T) {
	t.Parallel()
	w, s, room := quiet(t)
	g := room.guild
	mere, lou := g.Member("mere"), g.Member("lou")
	medics, open := g.Role("medics"), g.Role("open")
	open.SetMentionable(true)
	all := "@everyone " + mere.Mention() + lou.Mention() + medics.Mention() + open.Mention()
	for _, c := range []struct {
		name    string
		rights  int64
		allowed *discordgo.MessageAllowedMentions
		want    []string
	}{
		{"no object", 0, nil, []string{"@open", "mere", "lou"}},
		{"may mention everyone", MentionEveryone, nil, []string{"@everyone", "@medics", "@open", "mere", "lou"}},
		{"nothing allowed", MentionEveryone, &discordgo.MessageAllowedMentions{Parse: []discordgo.AllowedMentionType{}}, nil},
		{"one user", MentionEveryone, &discordgo.MessageAllowedMentions{Users: []string{lou.ID}}, []string{"lou"}},
		{"roles", MentionEveryone, &discordgo.MessageAllowedMentions{Parse: []discordgo.AllowedMentionType{"roles"}}, []string{"@medics", "@open"}},
	} {
		g.BotRole().SetPermissions(c.rights)
		before := len(w.Pings())
		_, err := s.ChannelMessageSendComplex(room.ID, &discordgo.MessageSend{Content: all, AllowedMentions: c.allowed})
		must(t, 0, err)
		var got []string
		for _, p := range w.Pings()[before:] {
			got = append(got, p.Who)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: rang %v, want %v", c.name, got, c.want)
		}
	}
}

type nonced struct {
	Content string `json:"content"`
	Nonce   string `json:"nonce"`
	Enforce bool   `json:"enforce_nonce"`
}

// Create Message, enforce_nonce.
func TestNonce(t *testing.T) {
	t.Parallel()
	w, s, room := quiet(t)
	other := room.guild.Channel("other")
	send := func(c *Channel, enforce bool) {
		t.Helper()
		_, err := s.Request("POST", discordgo.EndpointChannelMessages(c.ID), nonced{"x", "abc", enforce})
		must(t, 0, err)
	}
	send(room, true)
	w.Advance(NonceWindow - time.Second)
	send(room, true)
	if n := len(room.Messages()); n != 1 {
		t.Errorf("%d messages within the window, want 1", n)
	}
	send(other, true)
	if n := len(other.Messages()); n != 1 {
		t.Errorf("%d messages in the other channel, want 1", n)
	}
	send(room, false)
	if n := len(room.Messages()); n != 2 {
		t.Errorf("%d messages, want 2: the nonce was not enforced", n)
	}
	w.Advance(NonceWindow)
	send(room, true)
	if n := len(room.Messages()); n != 3 {
		t.Errorf("%d messages after the window, want 3", n)
	}
}

func TestNothingLeavesTheStandIn(t *testing.T) {
	t.Parallel()
	_, s, _ := quiet(t)
	resp, err := s.Client.Get("https://example.org/")
	if err == nil {
		_ = resp.Body.Close()
		t.Error("a request went to example.org")
	}
}

func TestWhoAmI(t *testing.T) {
	t.Parallel()
	w, s, room := quiet(t)
	w.Allow(int(discordgo.IntentMessageContent | discordgo.IntentGuildMembers))
	me, err := s.User("@me")
	if must(t, me, err).ID != w.AppID() {
		t.Errorf("the bot is %s", me.ID)
	}
	body, err := s.Request("GET", discordgo.EndpointAPI+"applications/@me", nil)
	if !strings.Contains(string(must(t, body, err)), `"flags":557056`) { // 1<<19 + 1<<15, Application Flags
		t.Errorf("the application is %s", body)
	}
	g, err := s.Guild(room.guild.ID)
	if must(t, g, err).Name != "harbour" || len(g.Roles) != 2 {
		t.Errorf("the guild is %+v", g)
	}
	channels, err := s.GuildChannels(g.ID)
	if len(must(t, channels, err)) != 1 || channels[0].Name != "treatment-room" {
		t.Errorf("its channels are %+v", channels)
	}
	mere := room.guild.Member("mere", room.guild.Role("medic"))
	m, err := s.GuildMember(g.ID, mere.ID)
	if must(t, m, err).User.Username != "mere" || len(m.Roles) != 1 {
		t.Errorf("the member is %+v", m)
	}
	gateway, err := s.GatewayBot()
	if must(t, gateway, err).SessionStartLimit.Total != 1000 {
		t.Errorf("the gateway is %+v", gateway)
	}
}

// Changes of the world that a bot has to notice.
func TestWorldEvents(t *testing.T) {
	t.Parallel()
	w := New(t)
	w.Allow(int(discordgo.IntentGuildMembers))
	g := w.Guild("harbour")
	room := g.Channel("room")
	s := client(t, w, chatIntents|discordgo.IntentGuildMembers)
	events := heard(s)
	open(t, w, s)
	mere := g.Member("mere")
	role := g.Role("medic")
	g.SetRoles(mere, role)
	role.SetPermissions(ManageMessages)
	role.Delete()
	id := mere.Says(room, "x")
	room.Purge(id)
	room.Overwrite(mere, 0, SendMessages)
	g.Remove(mere)
	g.Outage()
	room.Delete()
	g.Expel()
	for _, name := range []string{"READY", "GUILD_CREATE", "GUILD_MEMBER_ADD", "GUILD_ROLE_CREATE", "GUILD_MEMBER_UPDATE", "GUILD_ROLE_UPDATE", "GUILD_ROLE_DELETE",
		"MESSAGE_CREATE", "MESSAGE_DELETE_BULK", "CHANNEL_UPDATE", "GUILD_MEMBER_REMOVE", "GUILD_DELETE", "CHANNEL_DELETE", "GUILD_DELETE"} {
		next(t, events, name)
	}
	w.Guild("second")
	if name := "GUILD_CREATE"; next(t, events, name).Type != name {
		t.Error("joining another guild was not told")
	}
}

// statusOf is the HTTP status behind an error of the library.
func statusOf(err error) int {
	var rest *discordgo.RESTError
	var limited *discordgo.RateLimitError
	switch {
	case errors.As(err, &rest):
		return rest.Response.StatusCode
	case errors.As(err, &limited):
		return http.StatusTooManyRequests
	}
	return 0
}
