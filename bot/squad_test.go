package bot_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"footing/store"
	"footing/store/storetest"
)

// A squad of 40 with 8 not full: the report and the clinic list each fit 25 lines of a phone.
func TestASquadOfFortyFitsAPhone(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		r := newRig(t, c)
		var adds []string
		for i := range 38 {
			adds = append(adds, fmt.Sprintf("add %d Player %s, wing", i+20, strings.Repeat(string(rune('a'+i%26)), 3+i/26)))
		}
		r.say(t, strings.Join(adds, "\n"))
		for _, line := range []string{
			cleared, "sprain 12 right match deformity", "sprain 20 left", "sprain 21 left tender none, walked, walks",
			strings.Replace(cleared, "7", "22", 1), strings.Replace(cleared, "7", "23", 1), strings.NewReplacer("7", "24", "squeeze -", "squeeze").Replace(cleared), "sprain 25 right match tender navicular",
		} {
			r.say(t, line)
		}
		r.now = r.now.Add(14 * time.Hour)
		r.say(t, "morning 22 pain 2 more limp\nmorning 23 pain 1 same numb\nmorning 7 pain 1 less\ntest 7 gait normal, pain-walking 1, bal 20/60")
		for _, what := range []string{"report", "clinic"} {
			said := r.say(t, what)
			if n := len(strings.Split(said, "\n")); n > 25 || !strings.Contains(said, "Player") {
				t.Errorf("%d lines:\n%s", n, said)
			}
			t.Log("\n" + said)
		}
	})
}
