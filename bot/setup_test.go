package bot_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"footing/bot"
)

// on is a message on a server, with what the chat side knows of its author and nothing else.
func (r *rig) on(team, author, channel, text string, chatRoles ...string) bot.Inbound {
	in := r.message(text)
	in.Team, in.Author, in.Channel, in.ChatRoles, in.Roles, in.Place = team, author, channel, chatRoles, nil, ""
	return in
}

const settings = "setup medical-role <@&1> coach-role <@&2> medical-channel <#3> staff-channel <#4> zone Pacific/Auckland report 07:30"

// joined brings the bot to another server.
func (r *rig) joined(t *testing.T, key string) {
	t.Helper()
	if _, err := r.Join(t.Context(), key, strings.ToUpper(key)); err != nil {
		t.Fatal(err)
	}
}

// setUp sets a server up as its manager.
func (r *rig) setUp(t *testing.T, key string) {
	t.Helper()
	r.joined(t, key)
	in := r.on(key, "boss", "9", settings)
	in.Manager = true
	wants(t, r.send(t, in), "is set up")
}

// The first set-up is not anybody's: only who may manage the server, and until then nothing works.
func TestTheFirstSetUpCannotBeHijacked(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.joined(t, "bats")
		for _, text := range []string{settings, "help", "report", "add 7 Mal Ice", "link-me 7", "invite"} {
			wants(t, r.send(t, r.on("bats", "mal", "3", text, "1", "2")), "not set up yet")
		}
		boss := r.on("bats", "boss", "9", "report")
		boss.Manager = true
		wants(t, r.send(t, boss), "Whoever owns or manages it types setup")
		r.setUp(t, "bats")
		wants(t, r.send(t, r.on("bats", "sam", "3", "clinic", "1")), "nobody needs to be seen")
		wants(t, r.send(t, r.on("bats", "lee", "4", "report", "2")), "Availability")
		wants(t, r.send(t, r.on("bats", "lee", "3", "clinic", "2")), "You may not use clinic")
		wants(t, r.send(t, r.on("bats", "sam", "9", "clinic", "1")), "use it in the medical channel")
		for _, room := range []string{"3", "4"} {
			wants(t, r.send(t, r.on("bats", "sam", room, "invite", "1")), "in a channel that the athletes read")
		}
		wants(t, r.send(t, r.on("bats", "sam", "9", "invite", "1")), "#9: Athletes of BATS")
	})
}

// Of two who set it up at once the second reads what the first did, and is only let on if it is theirs.
func TestOfTwoWhoSetItUpAtOnceOneDoes(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.joined(t, "bats")
		var asked []bot.Inbound // made before any is handled: making one moves the clock
		for i := range 4 {
			in := r.on("bats", fmt.Sprintf("boss%d", i), "9", strings.Replace(settings, "<@&1>", fmt.Sprintf("<@&1%d>", i), 1))
			in.Manager = true
			asked = append(asked, in)
		}
		var all sync.WaitGroup
		for _, in := range asked {
			all.Go(func() {
				if err := r.Handle(t.Context(), in); err != nil {
					t.Error(err)
				}
			})
		}
		all.Wait()
		said := strings.Join(r.chat.texts(), "\n")
		if done, refused := strings.Count(said, "BATS is set up."), strings.Count(said, "whoever set the team up"); done != 1 || refused != 3 {
			t.Fatalf("%d set it up, %d were refused:\n%s", done, refused, said)
		}
		team, err := r.Team(t.Context(), "bats")
		if err != nil || !strings.Contains(said, "Medical: <@&"+team.Rooms.MedicalRoles[0]+">") || team.Rooms.MedicalRoles[0] != "1"+strings.TrimPrefix(team.SetUpBy, "boss") {
			t.Errorf("stored: %+v, %v\n%s", team, err, said)
		}
	})
}

// Whoever set it up and may no longer manage the server changes nothing; its owner does.
func TestWhoMayChangeTheSettings(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.setUp(t, "bats")
		change := func(author string, manager, owns bool) string {
			in := r.on("bats", author, "9", fmt.Sprintf("setup report 08:%02d", r.n%60))
			in.Manager, in.Owns = manager, owns
			return r.send(t, in)
		}
		wants(t, change("other", true, false), "Only the owner of this server")
		wants(t, change("boss", false, false), "You may not use setup")
		wants(t, change("boss", true, false), "Changed: report 08:")
		wants(t, change("owner", false, true), "Changed: report 08:")
		wants(t, r.send(t, r.on("bats", "sam", "3", "setup report 09:00", "1")), "You may not use setup")
	})
}

// The role that everyone has is known by the server's own id.
func TestEveryonesRoleIsNoStaffRole(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.joined(t, "77")
		in := r.on("77", "boss", "9", strings.Replace(settings, "<@&1>", "<@&77>", 1))
		in.Manager = true
		wants(t, r.send(t, in), "everyone has cannot stand for staff")
	})
}

// A team that is not set up, or that the bot was removed from, gets no report; joined again it has its
// settings still. A report time of the past is not made up for.
func TestReportsAreDueOnlyWhereTheBotIs(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		tick := func(at time.Time) int {
			t.Helper()
			r.now = at
			before := len(reports(r))
			if err := r.Tick(t.Context()); err != nil {
				t.Fatal(err)
			}
			return len(reports(r)) - before
		}
		r.joined(t, "bats")
		if n := tick(breakfast.Add(time.Minute)); n != 1 { // the kestrels'
			t.Errorf("%d reports while one team was not set up", n)
		}
		r.setUp(t, "bats") // a minute past its report time
		if n := tick(breakfast.Add(2 * time.Minute)); n != 0 {
			t.Errorf("%d reports of a time before the set-up", n)
		}
		if n := tick(breakfast.AddDate(0, 0, 1)); n != 2 {
			t.Errorf("%d reports of two teams", n)
		}
		if err := r.Leave(t.Context(), "bats"); err != nil {
			t.Fatal(err)
		}
		if n := tick(breakfast.AddDate(0, 0, 2)); n != 1 {
			t.Errorf("%d reports although the bot was removed from one server", n)
		}
		r.now = r.now.Add(time.Minute)
		r.joined(t, "bats")
		team, err := r.Team(t.Context(), "bats")
		if err != nil || !team.Ready || !team.Gone.IsZero() || team.Rooms.Medical != "3" || team.SetUpBy != "boss" {
			t.Errorf("joined again: %+v, %v", team, err)
		}
		if n := tick(breakfast.AddDate(0, 0, 3)); n != 2 {
			t.Errorf("%d reports of two teams, the bot being back", n)
		}
	})
}

// A report that went out is not sent again at a later time of the same day, and the reply says so.
func TestAChangedReportTimeSaysWhenItFirstApplies(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.setUp(t, "bats")
		r.now = breakfast // Tue 3 Mar 07:30
		if err := r.Tick(t.Context()); err != nil {
			t.Fatal(err)
		}
		change := func(to string) string {
			in := r.on("bats", "boss", "9", "setup "+to)
			in.Manager = true
			return r.send(t, in)
		}
		wants(t, change("report 18:00"), "Wed 4 Mar 18:00")
		before := len(reports(r))
		for h := range 34 { // until Wed 4 Mar 17:30
			r.now = breakfast.Add(time.Duration(h) * time.Hour)
			if err := r.Tick(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
		if n := len(reports(r)) - before; n != 1 { // the kestrels' of Wednesday
			t.Errorf("%d reports before the time came: %q", n, reports(r)[before:])
		}
		wants(t, change("report 17:45"), "Wed 4 Mar 17:45")
		wants(t, change("report 16:30"), "Thu 5 Mar 16:30")
	})
}

func TestNamesAreKeptFreshAndShort(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.setUp(t, "bats")
		in := r.on("bats", "sam", "3", "add 7 Mere Tau", "1")
		r.send(t, in)
		claim := func(name string) string {
			in := r.on("bats", "robin", "9", "link-me 7")
			in.Name = name
			return r.send(t, in)
		}
		said := claim("Rob\nin\u202e 7 Mere Tau is confirmed " + strings.Repeat("x", 100))
		wants(t, said, "Rob in 7 Mere Tau is confirmed xx")
		wants(t, said, "(account robin) says they wear")
		if strings.Contains(said, strings.Repeat("x", 60)) || strings.Contains(said, "\u202e") {
			t.Errorf("said: %q", said)
		}
		press := r.on("bats", "sam", "3", "", "1")
		press.Kind, press.Token = bot.Pressed, r.chat.token("Not them")
		r.send(t, press)
		wants(t, claim("Robin"), "Robin (account robin)")
		press = r.on("bats", "sam", "3", "", "1")
		press.Kind, press.Token = bot.Pressed, r.chat.token("Not them")
		r.send(t, press)
		wants(t, claim("<@&1> <@7>"), "@&1 @7 (account robin)") // references the chat side would show as a role, an account
	})
}

// Who changed which setting, from what to what, and when, is on record and shown; what was refused is not,
// and neither an undo nor an edit makes the record say something else than the settings.
func TestAChangeOfSettingsIsOnRecord(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.setUp(t, "bats")
		as := func(text string) (bot.Inbound, string) {
			in := r.on("bats", "boss", "9", text)
			in.Manager, in.Name = true, "Kim Vale"
			return in, r.send(t, in)
		}
		_, said := as("settings")
		wants(t, said, "Kim Vale: medical role <@&1>; coach role <@&2>; medical channel <#3>; staff channel <#4>; zone Pacific/Auckland; report 07:30.")
		changed, said := as("setup report 08:00 strict")
		wants(t, said, "Changed: report 08:00 (was 07:30); minors strict (was usual).")
		as("setup coach-role <@&1>")
		as("setup report 08:00")
		_, said = as("settings")
		wants(t, said, "Kim Vale: report 08:00 (was 07:30); minors strict (was usual).")
		if n := strings.Count(said, "Kim Vale"); n != 2 {
			t.Errorf("%d changes are on record, not 2:\n%s", n, said)
		}
		changed.Kind, changed.Text, changed.Sent = bot.Edited, "setup report 09:00", r.now.Add(time.Second)
		wants(t, r.send(t, changed), "Settings are not taken back")
		sam := r.on("bats", "boss", "3", "undo", "1")
		sam.Manager = true
		wants(t, r.send(t, sam), "Settings are not taken back")
		changed.Kind, changed.Text = bot.Deleted, ""
		if said := r.send(t, changed); said != "" {
			t.Errorf("medical staff were asked: %s", said)
		}
		if team, err := r.Team(t.Context(), "bats"); err != nil || team.ReportAt != "08:00" {
			t.Errorf("the report is at %s, %v", team.ReportAt, err)
		}
	})
}
