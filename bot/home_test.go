package bot_test

import (
	"testing"

	"footing/bot"
	"footing/rehab"
)

// dm is a direct message as a chat system hands it over: without a team, without roles.
func (r *rig) dm(author, text string) bot.Inbound {
	in := r.message(text)
	in.Team, in.Author, in.Roles, in.Place, in.Channel = "", author, nil, bot.DirectTo(author), "dm of "+author
	return in
}

// pressDM presses the latest button with a label in direct messages.
func (r *rig) pressDM(t *testing.T, author, label string) string {
	t.Helper()
	in := r.dm(author, "")
	in.Kind, in.Token = bot.Pressed, r.chat.token(label)
	return r.send(t, in)
}

const otherClub = "bats"

// twoTeams is an account linked in two teams, with an ankle under treatment in each.
func twoTeams(t *testing.T, r *rig) {
	t.Helper()
	if _, err := r.PutTeam(t.Context(), rehab.Team{Key: otherClub, Name: "Night Bats", Zone: "Pacific/Auckland", ReportAt: "07:30"}); err != nil {
		t.Fatal(err)
	}
	r.say(t, "sprain 7 left")
	for _, text := range []string{"add 9 Mere Tau", "sprain 9 right"} {
		in := r.message(text)
		in.Team = otherClub
		r.send(t, in)
	}
	for team, shirt := range map[string]int{club: 7, otherClub: 9} {
		if err := r.Link(t.Context(), team, "mere", shirt); err != nil {
			t.Fatal(err)
		}
	}
}

func TestADirectMessageFindsItsTeam(t *testing.T) {
	for name, f := range map[string]func(t *testing.T, r *rig){
		"of nobody's: one sentence, nothing kept": func(t *testing.T, r *rig) {
			wants(t, r.send(t, r.dm("mal", "morning pain 2 same")), "I do not know you yet")
			wants(t, r.pressDM(t, "mal", "no such label"), "I do not know you yet")
			gone := r.dm("mal", "morning pain 3 same")
			for _, kind := range []bot.Kind{bot.Edited, bot.Deleted} {
				gone.Kind = kind
				if said := r.send(t, gone); said != "" {
					t.Errorf("%s by a stranger was answered: %s", kind, said)
				}
			}
		},
		"in one team: it goes there, its edit and its deletion too": func(t *testing.T, r *rig) {
			r.say(t, "sprain 7 left")
			if err := r.Link(t.Context(), club, "mere", 7); err != nil {
				t.Fatal(err)
			}
			in := r.dm("mere", "morning pain 2 same")
			wants(t, r.send(t, in), "@mere: Thanks: pain 2")
			wants(t, r.revise(t, in, "morning pain 4 same"), "@mere: Edited. Thanks: pain 4")
			in.Kind = bot.Deleted
			wants(t, r.send(t, in), "medical: A message was deleted that recorded: 7 Mere Tau: morning pain 4")
		},
		"in two teams: it asks, and the answer goes to the one meant": func(t *testing.T, r *rig) {
			twoTeams(t, r)
			stands := r.live(t)
			in := r.dm("mere", "morning pain 2 same")
			wants(t, r.send(t, in), "@mere: You are in more than one team.")
			if n := r.live(t); n != stands {
				t.Errorf("%d entries stand before the answer, %d before the question", n, stands)
			}
			wants(t, r.pressDM(t, "mere", "Night Bats"), "Thanks: pain 2")
			if n := r.live(t); n != stands {
				t.Errorf("the other team has %d entries, not %d", n, stands)
			}
			wants(t, r.pressDM(t, "mere", "Night Bats"), "answered already")
			wants(t, r.revise(t, in, "morning pain 5 more"), "@mere: Edited. Thanks: pain 5")
			in.Kind = bot.Deleted
			wants(t, r.send(t, in), "medical: A message was deleted that recorded: 9 Mere Tau: morning pain 5")
		},
		"in two teams: an edit before the answer is what is asked about": func(t *testing.T, r *rig) {
			twoTeams(t, r)
			in := r.dm("mere", "morning pain 2 same")
			r.send(t, in)
			old := r.dm("mere", "")
			old.Kind, old.Token = bot.Pressed, r.chat.token("Night Bats")
			wants(t, r.revise(t, in, "morning pain 5 more"), "more than one team")
			wants(t, r.send(t, old), "answered already")
			wants(t, r.pressDM(t, "mere", "Night Bats"), "Thanks: pain 5")
		},
		"in two teams: nobody else answers the question": func(t *testing.T, r *rig) {
			twoTeams(t, r)
			r.send(t, r.dm("mere", "morning pain 2 same"))
			wants(t, r.pressDM(t, "mal", "Night Bats"), "I do not know you yet")
			if err := r.Link(t.Context(), club, "joss", 12); err != nil {
				t.Fatal(err)
			}
			wants(t, r.pressDM(t, "joss", "Night Bats"), "not one of mine, or not for this team")
			wants(t, r.pressDM(t, "joss", "Harbour Kestrels"), "for someone else")
			wants(t, r.pressDM(t, "mere", "Harbour Kestrels"), "Thanks: pain 2")
		},
		"in two teams: several lines are asked for one by one": func(t *testing.T, r *rig) {
			twoTeams(t, r)
			wants(t, r.send(t, r.dm("mere", "morning pain 2 same\ndone all pain 1")), "one line at a time. Nothing was saved")
		},
		"in a team the bot was removed from: the other one counts": func(t *testing.T, r *rig) {
			twoTeams(t, r)
			if err := r.Leave(t.Context(), otherClub); err != nil {
				t.Fatal(err)
			}
			wants(t, r.send(t, r.dm("mere", "morning pain 2 same")), "Thanks: pain 2")
		},
		"unlinked in one of two: the other one counts": func(t *testing.T, r *rig) {
			twoTeams(t, r)
			wants(t, r.say(t, "unlink 7"), "is parted from the account mere")
			wants(t, r.send(t, r.dm("mere", "morning pain 2 same")), "Thanks: pain 2")
			wants(t, r.say(t, "history 7"), "sprain")
		},
		"consent in one team says nothing for the other": func(t *testing.T, r *rig) {
			twoTeams(t, r)
			r.send(t, r.dm("mere", "withdraw"))
			wants(t, r.pressDM(t, "mere", "Harbour Kestrels"), "medical: 7 Mere Tau withdrew consent")
			r.send(t, r.dm("mere", "morning pain 2 same"))
			wants(t, r.pressDM(t, "mere", "Harbour Kestrels"), "That was not kept and nobody was told")
			r.send(t, r.dm("mere", "morning pain 3 same"))
			wants(t, r.pressDM(t, "mere", "Night Bats"), "Thanks: pain 3")
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			each(t, f)
		})
	}
}
