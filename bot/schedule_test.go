package bot_test

import (
	"strings"
	"testing"
	"time"

	"footing/bot"
	"footing/rehab"
)

func reports(r *rig) []string {
	var out []string
	for _, text := range r.chat.texts() {
		if strings.HasPrefix(text, "staff: ") {
			out = append(out, text)
		}
	}
	return out
}

// 07:30 in Auckland on 3 March 2026 is 18:30 the evening before in UTC.
var breakfast = time.Date(2026, 3, 2, 18, 30, 0, 0, time.UTC)

func TestOneReportADayHoweverOftenTheClockTicks(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.say(t, "sprain 7 left")
		for _, at := range []time.Time{breakfast.Add(-time.Second), breakfast, breakfast, breakfast.Add(time.Minute), breakfast.Add(-time.Hour), breakfast.Add(90 * time.Minute)} {
			r.now = at
			r.start(t) // a restart at every tick
			if err := r.Tick(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
		if got := reports(r); len(got) != 1 || !strings.Contains(got[0], "Availability, Tue 3 Mar: 1 of 2 full.") {
			t.Errorf("reports: %q", got)
		}
	})
}

// Late within the grace period it goes out; later it is told as missed, never sent at 3 a.m.
func TestALateReportIsSentOrMissed(t *testing.T) {
	for _, c := range []struct {
		late time.Duration
		says string
	}{{rehab.Grace, "Availability, Tue 3 Mar"}, {rehab.Grace + time.Second, "did not go out in time"}, {20 * time.Hour, "did not go out in time"}} {
		t.Run(c.late.String(), func(t *testing.T) {
			each(t, func(t *testing.T, r *rig) {
				r.now = breakfast.Add(c.late)
				if err := r.Tick(t.Context()); err != nil {
					t.Fatal(err)
				}
				if c.late == 20*time.Hour { // 3 a.m.: it is told when quiet hours are over
					if got := reports(r); len(got) > 0 {
						t.Errorf("told at night: %q", got)
					}
					r.now = r.now.Add(3*time.Hour + 30*time.Minute)
					if err := r.Tick(t.Context()); err != nil {
						t.Fatal(err)
					}
				}
				if got := reports(r); len(got) != 1 || !strings.Contains(got[0], c.says) {
					t.Errorf("reports: %q", got)
				}
			})
		})
	}
}

// A report that could not be said before it went stale is given up, not said late.
func TestAReportThatExpiresIsNotSaidLate(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.chat.fails = 1
		r.now = breakfast
		if err := r.Tick(t.Context()); err != nil {
			t.Fatal(err)
		}
		r.now = breakfast.Add(rehab.Grace + time.Minute)
		if err := r.Tick(t.Context()); err != nil {
			t.Fatal(err)
		}
		if got := reports(r); len(got) != 0 {
			t.Errorf("said late: %q", got)
		}
	})
}

// The report for coaches holds no diagnosis, cause, test value or note, whatever was recorded.
func TestTheReportTellsNothingMedical(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.say(t, cleared+" inversion no-contact grade 2 note: family trouble at home")
		r.say(t, "sprain 12 right training deformity, squeeze, intoxicated")
		r.say(t, "test 7 ktw L 9.5 R 12, pain-walking 7")
		r.say(t, "unavailable 7 illness until fri review wed note: vomiting")
		r.say(t, "add 3 Ana Reed\nmodified 3 no scrums personal note: grieving")
		r.now = breakfast
		if err := r.Tick(t.Context()); err != nil {
			t.Fatal(err)
		}
		for cause, work := range map[string]string{"illness": "gym", "injury": "sprint", "personal": "jumping", "travel": "kicking", "school": "tackling", "suspension": "mauls", "other": "rucks"} { // as corrections
			r.say(t, "limit 3 no "+work+" "+cause+" until fri note: secret")
		}
		r.say(t, "sprain 3 right deformity note: secret")
		if n := len(reports(r)); n != 9 {
			t.Errorf("staff were told %d times, not once and of 8 changes", n)
		}
		coach := r.message("who\nwho 3\nwho scrums")
		coach.Author, coach.Roles, coach.Place = "carla", []rehab.Role{rehab.Coach}, bot.StaffRoom
		r.send(t, coach)
		got := strings.ToLower(strings.Join(reports(r), "\n"))
		for _, word := range []string{"sprain", "ankle", "left", "right", "match", "inversion", "contact", "grade", "deform", "squeeze", "toxic", "9.5", "pain", "family", "held", "hold", "screen", "fracture", "stage", "settle", "image", "emergency",
			"illness", "vomit", "review", "injury", "personal", "griev", "travel", "school", "suspension", "other", "secret", "note"} {
			if strings.Contains(got, word) {
				t.Errorf("the report says %q:\n%s", word, got)
			}
		}
		wants(t, got, "7 mere tau")
	})
}

func TestTeamsNeverSeeEachOther(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		if _, err := r.PutTeam(t.Context(), rehab.Team{Key: "harriers", Zone: "UTC", ReportAt: "07:30"}); err != nil {
			t.Fatal(err)
		}
		r.say(t, "sprain 7 match")
		other := r.message("ready 7")
		other.Team = "harriers"
		wants(t, r.send(t, other), "Nobody on the roster wears 7")
		press := r.message("")
		press.Kind, press.Team, press.Token = bot.Pressed, "harriers", r.chat.token("Left")
		wants(t, r.send(t, press), "not one of mine, or not for this team")
		undo := r.message("undo")
		undo.Team = "harriers"
		wants(t, r.send(t, undo), "Nothing of yours")
	})
}

// What a person typed is kept for a question only as long as the question may be answered.
func TestAnsweredAndExpiredQuestionsForgetTheirLines(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.say(t, "sprain 7 match")
		r.press(t, "Left", "sam", medical)
		r.say(t, "sprain 12 match")
		r.now = breakfast.Add(time.Hour)
		if err := r.Tick(t.Context()); err != nil {
			t.Fatal(err)
		}
		if n := r.waiting(t); n != 0 {
			t.Errorf("%d lines are still kept", n)
		}
	})
}

// waiting counts the questions about a sprain that still hold a line.
func (r *rig) waiting(t *testing.T) (n int) {
	t.Helper()
	tx, err := r.store.DB().BeginTx(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = tx.Rollback() }()
	if r.store.Engine() == "postgres" {
		if _, err := tx.Exec(`SELECT set_config('footing.team', '1', true)`); err != nil {
			t.Fatal(err)
		}
	}
	if err := tx.QueryRow(`SELECT count(*) FROM pending WHERE line LIKE 'sprain%'`).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

// A team that moves to another zone keeps its record and gets one report for each local date, in the
// zone it has then; two answers on either side of midnight stay two mornings.
func TestAZoneChange(t *testing.T) {
	each(t, func(t *testing.T, r *rig) {
		r.say(t, cleared)
		r.now = breakfast
		for range 2 {
			if err := r.Tick(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := r.PutTeam(t.Context(), rehab.Team{Key: club, Name: "Harbour Kestrels", Zone: "Europe/London", ReportAt: "07:30"}); err != nil {
			t.Fatal(err)
		}
		for r.now = breakfast; r.now.Before(breakfast.Add(38 * time.Hour)); r.now = r.now.Add(30 * time.Minute) {
			if err := r.Tick(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
		got := reports(r)
		if len(got) != 2 || !strings.Contains(got[0], "Tue 3 Mar") || !strings.Contains(got[1], "Wed 4 Mar") {
			t.Errorf("reports: %q", got)
		}
		r.now = time.Date(2026, 3, 4, 23, 50, 0, 0, time.UTC)
		r.say(t, "morning 7 pain 1 same")
		r.now = time.Date(2026, 3, 5, 0, 10, 0, 0, time.UTC)
		wants(t, r.say(t, "morning 7 pain 4 same"), "3 above yesterday")
	})
}
