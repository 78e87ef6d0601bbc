package bot_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"footing/bot"
	"footing/store"
)

// card posts an invite card and gives its button's token.
func (r *rig) card(t *testing.T) string {
	t.Helper()
	in := r.message("invite")
	in.Place, in.Channel = "", "9"
	said := r.send(t, in)
	wants(t, said, "#9: Athletes of Harbour Kestrels")
	return r.chat.token("This is me")
}

// onCard presses a button in a channel, as someone of whom the chat side knows no role.
func (r *rig) onCard(t *testing.T, author, token string) string {
	t.Helper()
	in := r.on(club, author, "9", "")
	in.Kind, in.Token, in.Answer = bot.Pressed, token, "answer of "+in.Message
	return r.send(t, in)
}

// One card serves the whole squad for a season: pressed by many, by one twice, and after a restart.
func TestAnInviteCardServesEverybody(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		token := r.card(t)
		for _, author := range []string{"robin", "kim", "robin"} {
			wants(t, r.onCard(t, author, token), "~"+author+": Which shirt do you wear?")
		}
		r.start(t)
		r.now = r.now.AddDate(0, 0, 80)
		wants(t, r.onCard(t, "lee", token), "~lee: Which shirt")
		r.now = r.now.AddDate(0, 0, 11)
		wants(t, r.onCard(t, "lee", token), "expired")
	})
}

// A claim is one, whoever presses what: a second waits for the first to be answered.
func TestAClaimIsAnsweredByMedicalStaffOnly(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		card := r.card(t)
		r.onCard(t, "robin", card)
		seven := r.chat.token("7")
		wants(t, r.onCard(t, "kim", seven), "for someone else") // not their question
		wants(t, r.onCard(t, "robin", seven), "medical: Someone (account robin) says they wear 7 Mere Tau")
		wants(t, r.onCard(t, "robin", card), "You have asked already")
		wants(t, r.onCard(t, "robin", r.chat.token("Confirm")), "You may not use link")
		wants(t, r.onCard(t, "kim", r.chat.token("Confirm")), "for someone else")
		wants(t, r.send(t, r.dm("robin", "consent yes")), "I do not know you yet")
		wants(t, r.press(t, "Confirm", "sam", medical), "7 Mere Tau is linked with the account robin")
		wants(t, r.press(t, "Not them", "sam", medical), "answered already")
		wants(t, r.send(t, r.dm("robin", "consent yes")), "Thank you")
	})
}

// The shirts change hands between the claim and its answer: nobody is linked with the wrong person.
func TestAClaimFollowsThePersonNotTheShirt(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.send(t, r.on(club, "robin", "9", "link-me 7"))
		r.say(t, "change 7 shirt 70")
		r.say(t, "change 12 shirt 7")
		wants(t, r.press(t, "Confirm", "sam", medical), "The shirts have changed since that question")
		wants(t, r.send(t, r.dm("robin", "consent yes")), "I do not know you yet")
	})
}

// Forty-five shirts are offered twenty at a time, and the worn ones are left out.
func TestManyShirtsComeInPages(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		var adds []string
		for i := range 38 {
			adds = append(adds, fmt.Sprintf("add %d Player %s", i+20, strings.Repeat(string(rune('a'+i%26)), 3+i/26)))
		}
		r.say(t, strings.Join(adds, "\n"))
		if err := r.Link(t.Context(), club, "joss", 12); err != nil {
			t.Fatal(err)
		}
		labels := func() string {
			var out []string
			for _, b := range r.chat.said[len(r.chat.said)-1].Buttons {
				out = append(out, b.Label)
			}
			return strings.Join(out, " ")
		}
		r.onCard(t, "robin", r.card(t))
		if got := labels(); got != "7 20 21 22 23 24 25 26 27 28 29 30 31 32 33 34 35 36 37 38 More" {
			t.Errorf("the first page: %s", got)
		}
		r.onCard(t, "robin", r.chat.token("More"))
		if got := labels(); got != "39 40 41 42 43 44 45 46 47 48 49 50 51 52 53 54 55 56 57" {
			t.Errorf("the second page: %s", got)
		}
		wants(t, r.onCard(t, "robin", r.chat.token("57")), "says they wear 57 Player")
	})
}

// Two accounts say they wear one shirt, and two of the medical staff confirm at the same moment: one is
// linked, the other is asked about.
func TestOneShirtHasOneAccount(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		var presses []bot.Inbound
		for i, author := range []string{"robin", "kim"} {
			r.send(t, r.on(club, author, "9", "link-me 7"))
			in := r.message("")
			in.Kind, in.Token, in.Author = bot.Pressed, r.chat.token("Confirm"), fmt.Sprintf("sam%d", i)
			presses = append(presses, in)
		}
		var all sync.WaitGroup
		for _, in := range presses {
			all.Go(func() {
				if err := r.Handle(t.Context(), in); err != nil {
					t.Error(err)
				}
			})
		}
		all.Wait()
		said := strings.Join(r.chat.texts(), "\n")
		if linked, asked := strings.Count(said, "7 Mere Tau is linked with the account"), strings.Count(said, "Move it to"); linked != 2 || asked != 1 { // the question says it too
			t.Errorf("linked %d times, asked %d times:\n%s", linked, asked, said)
		}
	})
}

// What is confirmed is the move that was read: where another account was linked meanwhile, it is asked
// about anew.
func TestAMoveIsFromWhomItSaid(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		if err := r.Link(t.Context(), club, "robin", 7); err != nil {
			t.Fatal(err)
		}
		claims := map[string]string{}
		for _, author := range []string{"kim", "mal"} {
			r.send(t, r.on(club, author, "9", "link-me 7"))
			claims[author] = r.chat.token("Confirm")
		}
		confirm := func(token string) string {
			in := r.message("")
			in.Kind, in.Token = bot.Pressed, token
			return r.send(t, in)
		}
		wants(t, confirm(claims["mal"]), "is linked with the account robin. Move it to the account mal?")
		old := r.chat.token("Move it")
		wants(t, confirm(claims["kim"]), "is linked with the account robin. Move it to the account kim?")
		wants(t, confirm(r.chat.token("Move it")), "7 Mere Tau is linked with the account kim.")
		wants(t, confirm(old), "is linked with the account kim. Move it to the account mal?")
		wants(t, r.send(t, r.dm("mal", "consent yes")), "I do not know you yet")
		wants(t, confirm(r.chat.token("Move it")), "7 Mere Tau is linked with the account mal.")
	})
}

// Accounts and consent are not undone, so no button offers it.
func TestNoUndoIsOfferedForAccountsAndConsent(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.say(t, "change 7 born 2012")
		r.send(t, r.on(club, "robin", "9", "link-me 7"))
		from := len(r.chat.said)
		r.press(t, "Confirm", "sam", medical)
		for _, text := range []string{"guardian 7 agreed", "guardian 7 withdrew", "unlink 7"} {
			r.say(t, text)
		}
		for _, m := range r.chat.said[from:] {
			for _, b := range m.Buttons {
				if b.Label == "Undo" {
					t.Errorf("an undo that would be refused is offered under: %s", m.Text)
				}
			}
		}
	})
}

// No health message leaves for an athlete's account before consent, whatever medical staff record.
func TestNothingAboutHealthIsSentBeforeConsent(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.say(t, cleared)
		r.send(t, r.on(club, "robin", "9", "link-me 7"))
		r.press(t, "Confirm", "sam", medical)
		before := len(r.chat.texts())
		r.now = r.now.Add(14 * time.Hour)
		for _, text := range []string{"morning 7 pain 1 same", "test 7 gait limp, pain-walking 2, balance L 14", "advance 7", "plan 7"} {
			r.say(t, text)
		}
		if err := r.Tick(t.Context()); err != nil {
			t.Fatal(err)
		}
		wants(t, r.send(t, r.dm("robin", "plan")), "I need your yes or no first")
		for _, text := range r.chat.texts()[before:] {
			if strings.HasPrefix(text, "@robin") && !strings.Contains(text, "I need your yes or no first") {
				t.Errorf("sent before consent: %s", text)
			}
		}
		wants(t, r.pressDM(t, "robin", "I agree"), "Thank you")
		wants(t, r.send(t, r.dm("robin", "plan")), "min") // the plan now comes
	})
}

// A physio may not agree for an athlete, and nobody but the one asked presses their yes.
func TestOnlyTheAthleteAgrees(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.send(t, r.on(club, "robin", "9", "link-me 7"))
		r.press(t, "Confirm", "sam", medical)
		if said := r.press(t, "I agree", "sam", medical); strings.Contains(said, "Thank you") {
			t.Errorf("the physio agreed: %s", said)
		}
		wants(t, r.say(t, "consent yes"), "for athletes, in a direct message")
		r.say(t, "add 20 Sam Rye") // the physio plays too: what they type in the medical room is not theirs as an athlete
		if err := r.Link(t.Context(), club, "sam", 20); err != nil {
			t.Fatal(err)
		}
		wants(t, r.say(t, "withdraw"), "for athletes, in a direct message")
		if err := r.Link(t.Context(), club, "joss", 12); err != nil {
			t.Fatal(err)
		}
		wants(t, r.pressDM(t, "joss", "I agree"), "for someone else")
		wants(t, r.send(t, r.dm("robin", "plan")), "I need your yes or no first")
	})
}

// Who may know the roster's names is not everybody: a stranger reads numbers only.
func TestAStrangerReadsNoNames(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		said := r.onCard(t, "mal", r.card(t))
		for _, text := range []string{"link-me 7", "link-me 44", "link-me mere", "help", "roster", "who 7", "settings", "my-data", "consent yes", "withdraw", "guardian 7 agreed", "unlink 7"} {
			for line := range strings.Lines(r.send(t, r.on(club, "mal", "9", text))) {
				if !strings.HasPrefix(line, "medical:") {
					said += line
				}
			}
		}
		for _, name := range []string{"Mere", "Tau", "Joss", "Okafor"} {
			if strings.Contains(said, name) {
				t.Errorf("%s is named:\n%s", name, said)
			}
		}
		var linked int
		err := r.store.Do(t.Context(), r.now, func(tx *store.Tx) error {
			ids, err := tx.LinkedTeams(t.Context(), "mal")
			linked = len(ids)
			return err
		})
		if err != nil || linked != 0 {
			t.Errorf("linked in %d teams, %v", linked, err)
		}
	})
}
