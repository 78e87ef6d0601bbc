package bot_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"

	"footing/bot"
	"footing/rehab"
)

// Coaches who schedule the same session at the same moment: it stands once, and whoever was later
// reads that it does. In the first round the squad's row is new, so that they meet at its making too.
func TestCoachesWhoScheduleAtOnceGoOneAfterTheOther(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		for round := range 6 {
			line := fmt.Sprintf("training fri %02d:30", 8+round*2)
			var all sync.WaitGroup
			for i, in := range r.messages(line, line+"\nready 7", "ready 12\n"+line, line) {
				in.Author, in.Place, in.Roles = fmt.Sprintf("coach%d", i), bot.StaffRoom, []rehab.Role{rehab.Coach}
				all.Go(func() {
					if err := r.Handle(t.Context(), in); err != nil {
						t.Error(err)
					}
				})
			}
			all.Wait()
			said := strings.Join(r.chat.texts(), "\n")
			if n := strings.Count(said, "That stands already"); n != 3*(round+1) {
				t.Fatalf("after round %d, %d were told that it stands already:\n%s", round, n, said)
			}
		}
		wants(t, r.say(t, "sessions"), "training 08:30–10:00, training 10:30–12:00, training 12:30–14:00, training 14:30–16:00, training 16:30–18:00, training 18:30–20:00")
	})
}

// The squad's own facts are no athlete's: nobody's availability is corrected after the day's report.
func TestASessionCorrectsNobody(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.now = r.now.AddDate(0, 0, 1)
		if err := r.Tick(t.Context()); err != nil {
			t.Fatal(err)
		}
		said := r.say(t, "match sat 15:00")
		if said != "medical: Match Sat 7 Mar 15:00–16:30. Day before: Fri 6 Mar." {
			t.Errorf("a match says: %s", said)
		}
	})
}
