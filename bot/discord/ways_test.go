package discord_test

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"

	"footing/bot/discord/discordtest"
	"footing/commands"
	"footing/rehab"
	"footing/rehab/protocol"
	"footing/store"
)

// reader reads lines as the bot does, to give them by named options instead.
type reader struct {
	c    *club
	reg  *commands.Registry
	lang *commands.Lang
}

func (c *club) reader() reader {
	c.t.Helper()
	reg, err := commands.All()
	if err != nil {
		c.t.Fatal(err)
	}
	p, err := protocol.Default()
	if err != nil {
		c.t.Fatal(err)
	}
	return reader{c, reg, &commands.Lang{Vocabulary: commands.NewVocabulary(p)}}
}

// slash uses the slash command that says what a line says, filled in as Discord's app would, and gives its
// answer; self is the shirt of an athlete who writes about themselves, 0 for others.
func (r reader) slash(u *discordtest.User, ch *discordtest.Channel, line string, self int) discordtest.Message {
	t, zone := r.c.t, r.c.zone()
	t.Helper()
	roster := r.c.roster()
	r.lang.SetRoster(roster)
	r.lang.Now, r.lang.Self = r.c.w.Now().In(zone), rehab.Athlete{}
	for _, a := range roster {
		if self != 0 && a.Shirt == self {
			r.lang.Self = a
		}
	}
	call, err := r.reg.Parse(line, r.lang)
	if err != nil {
		t.Fatalf("%q: %v", line, err)
	}
	given := discordtest.Opts{}
	values := call.Options()
	for _, o := range r.reg.Options(call.Command.Name) {
		v := values[o.Name]
		if v == "" {
			continue
		}
		given[o.Name] = r.value(o.Kind, v)
	}
	return r.c.run(u, ch, call.Command.Name, given)
}

// value is an option's value as Discord's app gives it.
func (r reader) value(k commands.Kind, v string) any {
	r.c.t.Helper()
	c := r.c
	switch k {
	case commands.KindInteger, commands.KindNumber:
		n, err := strconv.ParseFloat(v, 64)
		if err != nil {
			c.t.Fatal(err)
		}
		return n
	case commands.KindRole:
		return named(c.t, v, c.medic, c.coach)
	case commands.KindChannel:
		for _, ch := range []*discordtest.Channel{c.medical, c.staff} {
			if v == "<#"+ch.ID+">" {
				return ch
			}
		}
	case commands.KindAccount:
		return named(c.t, v, c.sam, c.cleo, c.mez)
	}
	return v
}

// named finds what a mention names.
func named[T interface{ Mention() string }](t *testing.T, mention string, list ...T) any {
	t.Helper()
	for _, x := range list {
		if x.Mention() == mention {
			return x
		}
	}
	t.Fatalf("%s names none of %v", mention, list)
	return nil
}

// in does something inside the club's team, as the store has it.
func (c *club) in(do func(tx *store.Tx, t rehab.Team) error) {
	c.t.Helper()
	ctx := c.t.Context()
	err := c.store.Do(ctx, c.w.Now(), func(tx *store.Tx) error {
		t, err := tx.Team(ctx, c.g.ID)
		if err == nil {
			err = tx.Enter(ctx, t.ID)
		}
		if err != nil {
			return err
		}
		return do(tx, t)
	})
	if err != nil {
		c.t.Fatal(err)
	}
}

func (c *club) zone() *time.Location {
	c.t.Helper()
	zone := time.UTC
	c.in(func(_ *store.Tx, t rehab.Team) (err error) {
		zone, err = time.LoadLocation(t.Zone)
		return err
	})
	return zone
}

func (c *club) roster() (list []rehab.Athlete) {
	c.t.Helper()
	c.in(func(tx *store.Tx, _ rehab.Team) (err error) {
		list, err = tx.Athletes(c.t.Context())
		return err
	})
	return list
}

// record is all that stands in the team's log: by shirt, in order, what each entry says but for ids and times.
func (c *club) record() (out []string) {
	c.t.Helper()
	c.in(func(tx *store.Tx, t rehab.Team) error {
		all, err := tx.TeamEntries(c.t.Context())
		if err != nil {
			return err
		}
		squad, err := tx.SquadEntries(c.t.Context())
		if err != nil {
			return err
		}
		roster, err := tx.Athletes(c.t.Context())
		for _, a := range append([]rehab.Athlete{{}}, roster...) {
			entries := all[a.ID]
			if a.ID == 0 {
				entries = squad
			}
			for _, e := range entries {
				out = append(out, fmt.Sprintf("%d episode %d: %s", a.Shirt, e.Episode, plainly(e.Body)))
			}
		}
		return err
	})
	return out
}

// plainly is what an entry says, without the numbers of other entries that it names.
func plainly(b rehab.Body) string {
	switch b := b.(type) {
	case rehab.Decided:
		var seen []rehab.Seen
		for _, s := range b.Evidence {
			s.Seqs = nil
			seen = append(seen, s)
		}
		b.Evidence = seen
		return written(b)
	case rehab.Linked:
		b.Account = "someone"
		return written(b)
	}
	return written(b)
}

func written(b rehab.Body) string {
	text, err := json.Marshal(b)
	return fmt.Sprint(b.Kind(), " ", string(text), err)
}

// received is all the bot ever let somebody read: what stands in the channels they see, what only they saw,
// and their direct messages.
func received(u *discordtest.User, channels ...*discordtest.Channel) []string {
	var out []string
	for _, ch := range append(channels, u.DM()) {
		for _, m := range u.Sees(ch) {
			text := m.Content
			for _, e := range m.Embeds {
				text += "\n" + e.Title + "\n" + e.Description
			}
			for _, row := range m.Rows {
				for _, b := range row {
					text += "\n[" + b.Label + "]"
				}
			}
			out = append(out, m.Author+": "+text)
		}
	}
	return out
}

// kept fails when something somebody must not read is among what they read.
func kept(t *testing.T, who string, read []string, secrets ...string) {
	t.Helper()
	if len(read) == 0 {
		t.Errorf("%s reads nothing at all", who)
	}
	for _, text := range read {
		for _, s := range secrets {
			if strings.Contains(strings.ToLower(text), strings.ToLower(s)) {
				t.Errorf("%s reads %q in:\n%s", who, s, text)
			}
		}
	}
}

// another is a second team on the same bot, set up alike, whose people are others.
func (c *club) another(server string) *club {
	c.t.Helper()
	d := *c
	d.g = c.w.Guild(server)
	d.medic, d.coach = d.g.Role("medic"), d.g.Role("coach")
	d.medical = d.g.PrivateChannel("treatment-room", d.medic, d.g.BotRole())
	d.staff = d.g.PrivateChannel("staff", d.medic, d.coach, d.g.BotRole())
	d.public = d.g.Channel("talk")
	d.sam, d.cleo, d.mez = d.g.Member(server+"-sam", d.medic), d.g.Member(server+"-cleo", d.coach), d.g.Member(server+"-mez")
	d.boss = d.g.Member(server+"-boss", d.g.Role("committee", discordgo.PermissionManageGuild))
	d.ready(server)
	return &d
}

// ready sets a club up.
func (c *club) ready(name string) {
	c.t.Helper()
	if _, err := c.b.PutTeam(c.t.Context(), rehab.Team{
		Key: c.g.ID, Name: name, Zone: "Pacific/Auckland", ReportAt: "07:30", SetUpBy: c.boss.ID,
		Rooms: rehab.Rooms{MedicalRoles: []string{c.medic.ID}, CoachRoles: []string{c.coach.ID}, Medical: c.medical.ID, Staff: c.staff.ID},
	}); err != nil {
		c.t.Fatal(err)
	}
}
