package bot_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"footing/bot"
)

// clubYear is five months of a club of 40: training on Tuesdays and Thursdays, a match on Saturdays, ankles that
// are sprained, treated and come back, illness, wishes, answers and silence. What each member should be sent
// is worked out beside it, from what happened in the club, by rules as one would tell them: not by the code that sends.
type clubYear struct {
	*rig
	t       *testing.T
	rng     *rand.Rand
	zone    *time.Location
	players []*player
	read    int // of what was said
	rooms   []string
}

// player is an athlete and what is known of them outside the bot.
type player struct {
	shirt           int
	account         string
	minor           bool
	hour            int // of drills on days without training
	answers         float64
	sprained        time.Time // zero while no ankle is under treatment
	back            time.Time // when they will be
	returned        time.Time // the last time
	sprains         int
	ill             time.Time // last local day, zero when well
	trained         map[string]bool
	asked, answered map[string]bool // mornings, by date
	got, want       []string
}

const seasonDays = 150

// A season, checked message by message: three weeks of it, or one in short or under the race detector; all of it where FOOTING_SEASON is set (make season).
func TestASeason(t *testing.T) {
	days := 21
	if raced || testing.Short() {
		days = 7
	}
	if os.Getenv("FOOTING_SEASON") != "" {
		days = seasonDays
	}
	each(t, func(t *testing.T, r *rig) {
		zone, _ := time.LoadLocation("Pacific/Auckland")
		s := &clubYear{rig: r, t: t, rng: rand.New(rand.NewPCG(1, 2)), zone: zone}
		s.enrol()
		for day := range days {
			s.live(time.Date(2026, 3, 3+day, 0, 0, 0, 0, time.UTC))
		}
		s.judge()
	})
}

// enrol puts the club together. Every fifth player is under age, every fourth wants the drills at 16:00, every
// seventh never answers.
func (s *clubYear) enrol() {
	s.say(s.t, "remove 7")
	s.press(s.t, "Remove 7 Mere Tau", "sam", medical)
	s.say(s.t, "remove 12")
	s.press(s.t, "Remove 12 Joss Okafor", "sam", medical)
	for i := range 40 {
		p := &player{shirt: i + 1, account: fmt.Sprintf("p%d", i+1), minor: i%5 == 4, hour: 17, answers: 0.8, trained: map[string]bool{}, asked: map[string]bool{}, answered: map[string]bool{}}
		born := 1998
		if p.minor {
			born = 2011
		}
		if i%7 == 6 {
			p.answers = 0
		}
		s.say(s.t, fmt.Sprintf("add %d Player %c%c, born %d", p.shirt, 'A'+i/26, 'a'+i%26, born))
		if err := s.Link(s.t.Context(), club, p.account, p.shirt); err != nil {
			s.t.Fatal(err)
		}
		if i%4 == 3 {
			p.hour = 16
			s.say(s.t, fmt.Sprintf("remind %d drills 16:00", p.shirt))
		}
		s.players = append(s.players, p)
	}
	for week := range seasonDays/7 + 1 {
		tuesday := time.Date(2026, 3, 3+7*week, 0, 0, 0, 0, time.UTC)
		s.say(s.t, fmt.Sprintf("training %s 18:30 90min\ntraining %s 18:30 90min\nmatch %s 15:00", date(tuesday), date(tuesday.AddDate(0, 0, 2)), date(tuesday.AddDate(0, 0, 4))))
	}
	s.tick(s.t)
	s.read = len(s.chat.said)
}

func date(t time.Time) string { return t.Format(time.DateOnly) }

// at is a wall time of a day.
func (s *clubYear) at(day time.Time, hour, minute int) time.Time {
	return time.Date(day.Year(), day.Month(), day.Day(), hour, minute, 0, 0, s.zone)
}

// live lets a day pass: the clock in steps of ten minutes, at noon what happens to people.
func (s *clubYear) live(day time.Time) {
	for now := s.at(day, 0, 0); now.Before(s.at(day.AddDate(0, 0, 1), 0, 0)); now = now.Add(10 * time.Minute) {
		s.now = now
		for _, p := range s.players {
			s.expect(p, day, now)
		}
		s.tick(s.t)
		s.hear(day)
		if now.Equal(s.at(day, 12, 0)) {
			s.noon(day)
		}
	}
	s.rooms = append(s.rooms, "end "+date(day))
}

// expect works out what a player is sent at a moment. It knows nothing of habits and slots: the rules are those of
// the README.
func (s *clubYear) expect(p *player, day, now time.Time) {
	if !p.ill.IsZero() && !day.After(p.ill) {
		return // ill: nothing
	}
	local := now.In(s.zone).Format("15:04")
	treated, drills := !p.sprained.IsZero(), fmt.Sprintf("%02d:00", p.hour)
	if w := day.Weekday(); w == time.Tuesday || w == time.Thursday {
		drills = "19:50" // ten minutes before training ends
	}
	morning := "07:00"
	if p.minor {
		morning = "08:00"
	}
	nudge := map[string]string{"16:00": "19:00", "17:00": "20:00"}[drills] // three hours later; none after training
	if p.minor {
		nudge = map[string]string{"16:00": "19:00", "17:00": "19:30"}[drills] // nor after eight
	}
	today, key := date(day), date(day)
	switch {
	case treated && local == morning:
		p.want = append(p.want, "morning "+key)
		p.asked[key] = true
	case local == drills && !p.trained[today] && (treated || s.prevents(p, day)):
		p.want = append(p.want, "drills "+key)
	case local == nudge && !p.trained[today] && slices.Contains(p.want, "drills "+key):
		p.want = append(p.want, "nudge "+key)
	}
}

// prevents reports whether a prevention session is asked for: within eight weeks of a return, or for good after a
// second sprain, when fewer than three were done in seven days and none yesterday.
func (s *clubYear) prevents(p *player, day time.Time) bool {
	if p.returned.IsZero() || p.sprains < 2 && !day.Before(dateOf(p.returned.In(s.zone)).AddDate(0, 0, 56)) {
		return false
	}
	n := 0
	for back := range 7 {
		d := day.AddDate(0, 0, -back)
		if p.trained[date(d)] && !d.Before(dateOf(p.returned.In(s.zone))) {
			n++
			if back < 2 {
				return false
			}
		}
	}
	return n < 3
}

func dateOf(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
}

// hear reads what was said since, notes it, and has players answer as they are.
func (s *clubYear) hear(day time.Time) {
	for ; s.read < len(s.chat.said); s.read++ {
		m := s.chat.said[s.read]
		what, _, _ := strings.Cut(m.Key, "/")
		what, _, _ = strings.Cut(what, ".")
		account, direct := m.Place.Direct()
		switch {
		case !direct && m.Kind == "report":
			s.rooms = append(s.rooms, what+" "+string(m.Place)+" "+s.now.In(s.zone).Format("2006-01-02 15:04"))
		case direct && m.Kind == "reminder":
			i := slices.IndexFunc(s.players, func(p *player) bool { return p.account == account })
			p := s.players[i]
			p.got = append(p.got, what+" "+date(day))
			if s.rng.Float64() < p.answers {
				s.answers(p, what, m, day)
			}
		}
	}
}

// answers presses what belongs to a card.
func (s *clubYear) answers(p *player, what string, m bot.Message, day time.Time) {
	switch what {
	case "morning":
		s.presses(p, m, "1")
		p.answered[date(day)] = true
	case "drills", "nudge":
		s.presses(p, m, "Done")
		s.presses(p, s.chat.said[len(s.chat.said)-1], "2")
		p.trained[date(day)] = true
	}
}

func (s *clubYear) presses(p *player, m bot.Message, label string) {
	s.t.Helper()
	i := slices.IndexFunc(m.Buttons, func(b bot.Button) bool { return b.Label == label })
	if i < 0 {
		s.t.Fatalf("no %q under %q", label, m.Text)
	}
	in := s.dm(p.account, "")
	in.Kind, in.Token = bot.Pressed, m.Buttons[i].Token
	before := len(s.chat.said)
	if err := s.Handle(s.t.Context(), in); err != nil {
		s.t.Fatal(err)
	}
	if n := len(s.chat.said) - before; n != 1 { // an answer to each press, and nothing else
		s.t.Fatalf("%d answers to %s: %q", n, label, s.chat.texts()[before:])
	}
	if m := s.chat.said[before]; m.Place != bot.DirectTo(p.account) {
		s.t.Fatalf("the answer went to %s", m.Place)
	}
}

// noon is when things happen: about two sprains a week and five colds a month in the club.
func (s *clubYear) noon(day time.Time) {
	for _, p := range s.players {
		switch {
		case !p.sprained.IsZero() && !day.Before(p.back):
			for range 5 {
				s.say(s.t, fmt.Sprintf("advance %d: seen and measured", p.shirt))
			}
			s.say(s.t, fmt.Sprintf("return %d: seen and measured", p.shirt))
			p.sprained, p.returned = time.Time{}, s.now
		case p.sprained.IsZero() && p.ill.Before(day) && s.rng.Float64() < 0.007:
			s.say(s.t, fmt.Sprintf("sprain %d left tender none, walked, walks, circulation ok, squeeze -, er -, no modifiers, growth plate not tender", p.shirt))
			p.sprains++
			p.sprained, p.back = s.now, day.AddDate(0, 0, 5+s.rng.IntN(20))
		case p.ill.Before(day) && s.rng.Float64() < 0.004:
			p.ill = day.AddDate(0, 0, 1+s.rng.IntN(4))
			s.say(s.t, fmt.Sprintf("unavailable %d illness until %s", p.shirt, date(p.ill)))
		}
	}
}

// judge compares what everybody got with what they should have got, in order.
func (s *clubYear) judge() {
	reminders := 0
	for _, p := range s.players {
		reminders += len(p.got)
		for i := range max(len(p.got), len(p.want)) {
			got, want := "nothing", "nothing"
			if i < len(p.got) {
				got = p.got[i]
			}
			if i < len(p.want) {
				want = p.want[i]
			}
			if got != want {
				s.t.Errorf("player %d: message %d was %s, should be %s (before: %q)", p.shirt, i, got, want, p.got[max(0, i-3):min(i, len(p.got))])
				break
			}
		}
	}
	s.t.Logf("%d reminders", reminders)
	if reminders < 10 {
		s.t.Errorf("only %d reminders", reminders)
	}
	s.judgeRooms()
}

// judgeRooms: every day one report at 07:30, at most one clinic list at 07:15, a summary on Mondays only.
func (s *clubYear) judgeRooms() {
	n := map[string]int{}
	for _, line := range s.rooms {
		if day, ended := strings.CutPrefix(line, "end "); ended {
			d, _ := time.Parse(time.DateOnly, day)
			if n["report staff "+day+" 07:30"] != 1 || n["clinic medical "+day+" 07:20"] > 1 || n["summary medical "+day+" 07:20"] > 0 && d.Weekday() != time.Monday {
				s.t.Errorf("%s: %v", day, n)
			}
			n = map[string]int{}
			continue
		}
		n[line]++
		for known := range n {
			if !strings.HasSuffix(known, "07:30") && !strings.HasSuffix(known, "07:20") { // steps of ten minutes
				s.t.Errorf("at a wrong time: %s", known)
			}
		}
	}
}
