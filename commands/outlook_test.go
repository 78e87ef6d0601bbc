package commands

import (
	"slices"
	"strings"
	"testing"
	"time"

	"footing/rehab"
	"footing/rehab/protocol"
)

// sprained is a complete negative screen of a left ankle on Monday, so many gates passed since.
func sprained(p *rehab.Protocol, a rehab.Athlete, gates int, extra ...rehab.Entry) []rehab.Entry {
	monday := tuesday.AddDate(0, 0, -1)
	entry := func(at time.Time, b rehab.Body) rehab.Entry {
		return rehab.Entry{Athlete: a.ID, Episode: 1, At: at, Logged: at, Body: b}
	}
	var answers []rehab.Answer
	for _, f := range p.Findings {
		well := slices.Contains([]string{"walked", "walks", "steps-either", "circulation", "hops"}, f.Key)
		if !strings.HasPrefix(f.Key, "under-") {
			answers = append(answers, rehab.Answer{Finding: f.Key, Yes: well})
		}
	}
	out := []rehab.Entry{entry(monday, rehab.Sprained{Side: rehab.Left, Grade: 2, Protocol: p.Hash}), entry(monday, rehab.Screened{Answers: answers})}
	for i := range gates {
		out = append(out, entry(tuesday, rehab.Decided{Action: rehab.Advance, From: p.Stages[i].Key, To: p.Stages[i+1].Key}))
	}
	out = append(out, extra...)
	for i := range out {
		out[i].Seq = int64(i + 1)
	}
	return out
}

func limit(until string) rehab.Entry {
	return rehab.Entry{At: tuesday, Logged: tuesday, Body: rehab.Restricted{Level: rehab.Modified, Cannot: []string{"contact"}, Until: until}}
}

func outlookEnv(t *testing.T) *Env {
	t.Helper()
	p, err := protocol.Default()
	if err != nil {
		t.Fatal(err)
	}
	return &Env{Now: tuesday, Protocol: p, Book: func(string) *rehab.Protocol { return p }}
}

// one is the club of one athlete.
func one(env *Env, entries []rehab.Entry) club {
	return newClub(env, squad[:1], map[int64][]rehab.Entry{squad[0].ID: entries})
}

// Coaches read a range and a word for each match, and nothing of the ankle, its course, grade or stage.
func TestCoachesReadARangeAndAWord(t *testing.T) {
	env := outlookEnv(t)
	matches := []time.Time{tuesday, tuesday.AddDate(0, 0, 3), tuesday.AddDate(0, 0, 40)}
	says := func(entries []rehab.Entry, matches []time.Time) string {
		c := one(env, entries)
		return c.coachLine(c.states[1], matches, env.Now)
	}
	got := says(sprained(env.Protocol, squad[0], 4), matches)
	for _, want := range []string{" Back likely Thu 5 – ", "Tue 3 Mar match: unlikely", "Fri 6 Mar match: possible", "Sun 12 Apr match: likely."} {
		if !strings.Contains(got, want) {
			t.Errorf("%q does not say %q", got, want)
		}
	}
	for _, never := range append(keysOf(env.Protocol), "lateral", "grade", "ankle", "sprain", "%", "stage") {
		if strings.Contains(strings.ToLower(got), never) {
			t.Errorf("%q tells coaches %q", got, never)
		}
	}
	later := says(sprained(env.Protocol, squad[0], 5, limit("2026-03-20")), matches)
	if !strings.Contains(later, " Back likely Sat 21 Mar; Tue 3 Mar match: unlikely, Fri 6 Mar match: unlikely") {
		t.Errorf("a limit until the 20th: %q", later)
	}
	for what, entries := range map[string][]rehab.Entry{
		"a limit without an end": sprained(env.Protocol, squad[0], 4, limit("")),
		"held": sprained(env.Protocol, squad[0], 4, rehab.Entry{Episode: 1, At: tuesday, Logged: tuesday,
			Body: rehab.Screened{Answers: []rehab.Answer{{Finding: "deformity", Yes: true}}}}),
		"not screened": sprained(env.Protocol, squad[0], 0)[:1],
		"returned":     sprained(env.Protocol, squad[0], 6),
		"no ankle":     {limit("2026-03-20")},
		"not guided": sprained(env.Protocol, squad[0], 0, rehab.Entry{Episode: 1, At: tuesday, Logged: tuesday,
			Body: rehab.Lifted{Course: "other", Reason: "fracture"}}),
	} {
		if got := says(entries, matches); got != "" {
			t.Errorf("%s: %q", what, got)
		}
	}
}

func keysOf(p *rehab.Protocol) []string {
	var out []string
	for _, s := range p.Stages[:5] { // "sport" and "returned" are words anybody uses
		out = append(out, strings.ToLower(s.Key))
	}
	return out
}

// Medical staff read the same chances as the coaches' words stand for.
func TestMedicalStaffReadChancesForMatches(t *testing.T) {
	env := outlookEnv(t)
	c := one(env, sprained(env.Protocol, squad[0], 4))
	reply := outlookCard(env, c, squad[0], []time.Time{tuesday.AddDate(0, 0, 3), tuesday.AddDate(1, 2, 0)})
	text := strings.Join(reply.Lines, "\n")
	for _, want := range []string{"half are back", "8 in 10", "Back for the match: Fri 6 Mar possible (", "likely (over 99 %)", "From published figures of college athletes."} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in:\n%s", want, text)
		}
	}
	if !reply.Health {
		t.Error("without the caution line")
	}
}

// From enough finished stages on, the outlook says that the club's own count.
func TestTheClubsOwnStagesAreNamedOnceThereAreEnough(t *testing.T) {
	env := outlookEnv(t)
	entries := map[int64][]rehab.Entry{}
	for i, a := range squad[:2] {
		entries[a.ID] = sprained(env.Protocol, a, 6)
		got := newClub(env, squad[:2], entries).restsOn()
		want := []string{"from published figures of college athletes", "from published figures of college athletes, and 12 finished stages of this club's"}[i]
		if got != want {
			t.Errorf("%d episodes: %q, want %q", i+1, got, want)
		}
	}
}

// A past outlook knows nothing but what had been logged by then: whatever is told later changes the
// return it is compared with, never the range.
func TestAPastOutlookKnowsNothingOfWhatCameLater(t *testing.T) {
	env := outlookEnv(t)
	env.Now = tuesday.AddDate(0, 0, 60)
	p := env.Protocol
	backOn := func(day int) scored {
		var steps []rehab.Entry
		at := tuesday.AddDate(0, 0, day)
		for i := range 6 {
			steps = append(steps, rehab.Entry{Episode: 1, At: at, Logged: at, Body: rehab.Decided{Action: rehab.Advance, From: p.Stages[i].Key, To: p.Stages[i+1].Key}})
		}
		return one(env, sprained(p, squad[0], 0, steps...)).score(env)
	}
	for day, want := range map[int]scored{1: {1, 0, 0}, 8: {1, 0, 0}, 20: {1, 1, 1}, 27: {1, 1, 0}, 55: {1, 0, 0}} {
		if got := backOn(day); got != want {
			t.Errorf("back after %d days: %+v, want %+v", day, got, want)
		}
	}
}

// While an ankle is held there are days after the lifting, and no date at all.
func TestNoDatesWhileHeld(t *testing.T) {
	env := outlookEnv(t)
	c := one(env, sprained(env.Protocol, squad[0], 1, rehab.Entry{Episode: 1, At: tuesday, Logged: tuesday,
		Body: rehab.Screened{Answers: []rehab.Answer{{Finding: "squeeze", Yes: true}}}}))
	reply := outlookCard(env, c, squad[0], []time.Time{tuesday.AddDate(0, 0, 60)})
	text := strings.Join(reply.Lines, "\n")
	if !strings.Contains(text, "From the day the hold is lifted, as a high ankle sprain: half are back in") {
		t.Errorf("no days after the hold in:\n%s", text)
	}
	for _, date := range []string{"Mar", "Apr", "May", "match"} {
		if strings.Contains(text, date) {
			t.Errorf("%q is a date in:\n%s", date, text)
		}
	}
}

// An open episode keeps its protocol while the team's has other stages: its outlook goes by the stage's key,
// not by its place.
func TestAnOutlookKnowsAStageByItsKey(t *testing.T) {
	env := outlookEnv(t)
	entries := sprained(env.Protocol, squad[0], 5)
	of := func(env *Env) string {
		c := one(env, entries)
		f, err := c.forecast(c.states[1].Open()[0], env.Now)
		if err != nil {
			t.Fatal(err)
		}
		return daysRange(f, 0.8)
	}
	want := of(env)
	shorter, own := *env.Protocol, *env
	shorter.Hash, shorter.Stages = "shorter", slices.Delete(slices.Clone(env.Protocol.Stages), 2, 3)
	episodes := env.Protocol
	own.Protocol, own.Book = &shorter, func(string) *rehab.Protocol { return episodes }
	if got := of(&own); got != want {
		t.Errorf("%s under the team's own protocol, %s under the episode's", got, want)
	}
}
