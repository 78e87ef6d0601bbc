package bot_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"footing/bot"
	"footing/rehab"
	"footing/store"
)

// dying makes the chat side refuse messages of one kind for good.
func (r *rig) dying(why, kind string) {
	r.chat.refuse = func(m bot.Message) error {
		if m.Kind == kind {
			return &bot.NotSent{Why: why, Never: true}
		}
		return nil
	}
}

// notices are what medical staff were told of dead letters.
func (r *rig) notices() (out []string) {
	for _, text := range r.chat.texts() {
		if strings.Contains(text, "could not be delivered") {
			out = append(out, text)
		}
	}
	return out
}

func TestMedicalStaffAreToldWhatWasNotDelivered(t *testing.T) {
	for why, want := range map[string]string{
		"closed":    "medical: A message to 7 Mere Tau could not be delivered: their direct messages are closed. Ask them to open them.",
		"gone":      "medical: A message to 7 Mere Tau could not be delivered: the account is gone. Tell them yourself.",
		"forbidden": "medical: A message to 7 Mere Tau could not be delivered: I may not write to them. Tell them yourself.",
		"refused":   "medical: A message to 7 Mere Tau could not be delivered: it was refused. Tell them yourself.",
		"a new one": "medical: A message to 7 Mere Tau could not be delivered: it was refused. Tell them yourself.",
	} {
		t.Run(why, func(t *testing.T) {
			each(t, func(t *testing.T, r *rig) {
				if err := r.Link(t.Context(), club, "mere", 7); err != nil {
					t.Fatal(err)
				}
				r.dying(why, "reminder")
				r.put(t, "reminder", bot.DirectTo("mere"), "k")
				r.later(t, 0)
				same(t, "at once", r.notices(), []string(nil))
				r.later(t, time.Minute)
				r.later(t, 24*time.Hour)
				same(t, "told", r.notices(), []string{want})
			})
		})
	}
}

// Many at once make one notice, by reason and without any text; what follows within the hour waits and
// makes the next.
func TestDeadLettersAreToldTogether(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.now = r.now.Truncate(time.Hour)
		for i := range 20 {
			r.say(t, fmt.Sprintf("add %d Player %c, wing", 20+i, 'A'+i))
			if err := r.Link(t.Context(), club, fmt.Sprint("account", i), 20+i); err != nil {
				t.Fatal(err)
			}
		}
		r.dying("closed", "reminder")
		for i := range 40 {
			r.put(t, "reminder", bot.DirectTo(fmt.Sprint("account", i%20)), fmt.Sprint("k", i))
		}
		r.later(t, 0)
		r.dying("forbidden", "report")
		r.put(t, "report", bot.StaffRoom, "report")
		r.put(t, "report", bot.InChannel("99"), "open")
		r.later(t, 0)
		r.later(t, time.Minute)
		r.dying("gone", "report")
		r.put(t, "report", bot.DirectTo("stranger"), "later")
		r.later(t, 0)
		r.later(t, 2*time.Minute)
		names := make([]string, 10)
		for i := range names {
			names[i] = fmt.Sprintf("%d Player %c", 20+i, 'A'+i)
		}
		first := "medical: 42 messages could not be delivered.\n" +
			strings.Join(names, ", ") + " and 10 more: their direct messages are closed. Ask them to open them.\n" +
			"The staff room, an open channel: I may not write there. Let me, or set up another channel."
		same(t, "within the hour", r.notices(), []string{first})
		r.later(t, time.Hour)
		r.later(t, time.Hour)
		same(t, "in the next", r.notices(), []string{first, "medical: A message to someone who is linked with no athlete could not be delivered: the account is gone. Tell them yourself."})
		if text := strings.Join(r.notices(), ""); strings.Contains(text, "text of") {
			t.Error("a notice repeats what it could not deliver")
		}
	})
}

// What medical staff's own room did not take cannot be told there.
func TestADeadLetterToTheMedicalRoomIsNotToldThere(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.dying("forbidden", "alert")
		r.put(t, "alert", bot.MedicalRoom, "k")
		r.later(t, 0)
		r.later(t, time.Hour)
		same(t, "told", r.notices(), []string(nil))
		same(t, "sends", r.chat.sends("k"), 1)
	})
}

// In a medical room that others can read a notice names nobody.
func TestANoticeInAnOpenMedicalRoomNamesNobody(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		if err := r.Link(t.Context(), club, "mere", 7); err != nil {
			t.Fatal(err)
		}
		r.dying("closed", "reminder")
		r.put(t, "reminder", bot.DirectTo("mere"), "k")
		r.later(t, 0)
		err := r.store.Do(t.Context(), r.now, func(tx *store.Tx) error {
			team, err := tx.Team(t.Context(), club)
			if err != nil {
				return err
			}
			if err := tx.Enter(t.Context(), team.ID); err != nil {
				return err
			}
			return tx.SetRoomFault(t.Context(), "Everyone can read this channel.")
		})
		if err != nil {
			t.Fatal(err)
		}
		r.later(t, time.Minute)
		texts := r.chat.texts()
		wants(t, texts[len(texts)-1], "Something waits for medical staff")
		if strings.Contains(texts[len(texts)-1], "Mere") {
			t.Errorf("said: %s", texts[len(texts)-1])
		}
	})
}

// A report that was not said in time is told of as that.
func TestAnExpiredReportIsTold(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.now = breakfast
		r.chat.fails = 1
		if err := r.Tick(t.Context()); err != nil {
			t.Fatal(err)
		}
		r.later(t, rehab.Grace+time.Second)
		r.later(t, time.Minute)
		same(t, "told", r.notices(), []string{"medical: A message to the staff room could not be delivered: it would have come too late."})
	})
}
