package bot_test

import (
	"fmt"
	"footing/bot"
	"footing/commands"
	"footing/rehab"
	"footing/rehab/protocol"
	"footing/store"
	"strings"
	"testing"
)

// No more buttons than a chat system takes, whoever shares a name.
func TestButtonsFitTheirMessage(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		var add []string
		for i := range 30 {
			add = append(add, fmt.Sprintf("add %d Ada Tamatea-Featherstonehaugh Longname %s, a position with a very long name indeed", 100+i, strings.Repeat("x", i%5+1)))
		}
		r.say(t, strings.Join(add, "\n"))
		r.say(t, "ready ada")
		m := r.chat.said[len(r.chat.said)-1]
		if len(m.Buttons) != 25 {
			t.Errorf("%d buttons of 25 at most, for 30 people", len(m.Buttons))
		}
	})
	each(t, func(t *testing.T, r *rig) {
		for _, key := range []string{"one", "two"} {
			if _, err := r.PutTeam(t.Context(), rehab.Team{Key: key, Name: strings.Repeat(key, 40), Zone: "UTC", ReportAt: "07:30"}); err != nil {
				t.Fatal(err)
			}
			in := r.message("add 7 Mere Tau")
			in.Team = key
			r.send(t, in)
			if err := r.Link(t.Context(), key, "mere", 7); err != nil {
				t.Fatal(err)
			}
		}
		in := r.message("morning")
		in.Team, in.Author, in.Roles, in.Place = "", "mere", nil, bot.DirectTo("mere")
		r.send(t, in)
		for _, b := range r.chat.said[len(r.chat.said)-1].Buttons {
			if n := len([]rune(b.Label)); n != 80 || !strings.HasSuffix(b.Label, "…") {
				t.Errorf("a label of %d letters: %s", n, b.Label)
			}
		}
		asked := r.chat.said[len(r.chat.said)-1]
		in = r.message("")
		in.Kind, in.Team, in.Author, in.Roles, in.Place, in.Token = bot.Pressed, "", "mere", nil, bot.DirectTo("mere"), asked.Buttons[1].Token
		wants(t, r.send(t, in), "None of your ankles")
	})
}

// What a reminder will send needs no line that was typed: the cards stand on their own, for either ankle.
func TestCardsWithoutALine(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.say(t, cleared)
		r.say(t, strings.Replace(cleared, "left", "right", 1))
		p, err := protocol.Default()
		if err != nil {
			t.Fatal(err)
		}
		err = r.store.Do(t.Context(), r.now, func(tx *store.Tx) error {
			team, err := tx.Team(t.Context(), club)
			if err != nil {
				return err
			}
			if err := tx.Enter(t.Context(), team.ID); err != nil {
				return err
			}
			roster, err := tx.Athletes(t.Context())
			if err != nil {
				return err
			}
			env := &commands.Env{Team: team, Now: r.now, Told: r.now, Records: tx, Protocol: p, Book: func(string) *rehab.Protocol { return p }}
			plans, err := commands.DrillCards(t.Context(), env, roster[0])
			if err != nil {
				return err
			}
			plan := plans[len(plans)-1]
			if b := plan.Buttons[0]; len(plan.Buttons) != 4 || b.Line != "done right all" || !b.Own || b.About != roster[0].ID || len(plan.Entries) != 1 {
				t.Errorf("the plan's card: %+v", plan)
			}
			state, err := env.Assess(t.Context(), roster[0])
			v, _ := state.OpenOn(rehab.Left)
			morning := commands.MorningCard(env, roster[0], v)
			if b := morning.Buttons[10]; len(morning.Buttons) != 12 || b.Label != "10" || b.Line != "morning left pain 10" || !strings.Contains(morning.Lines[0], "your left ankle") {
				t.Errorf("the morning's card: %+v", morning)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	})
}
