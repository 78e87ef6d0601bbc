package commands

import (
	"context"
	"fmt"
	"strings"
	"time"

	"footing/rehab"
)

type remindArgs struct {
	Athlete          rehab.Athlete
	What, At, Switch string
	Quiet, NotOn     string
}

var (
	onOff        = NewWords(Word{"on", []string{"start", "again"}}, Word{"off", []string{"stop", "none", "never"}})
	athleteWhats = NewWords(
		Word{rehab.DrillCard, []string{"drill", "exercises", "plan"}}, Word{rehab.MorningQuestion, []string{"mornings", "morning question"}}, Word{rehab.Nudge, []string{"nudges"}},
	)
	teamWhats = NewWords(
		Word{rehab.DrillCard, []string{"drill", "exercises", "plans"}}, Word{rehab.MorningQuestion, []string{"mornings", "morning question"}}, Word{rehab.Nudge, []string{"nudges"}},
		Word{rehab.ClinicList, []string{"clinic list"}}, Word{rehab.WeekSummary, []string{"week", "monday", "monday summary"}},
	)
)

const remindName, remindersName = "remind", "reminders"

// RemindCmd says when one athlete is written to; without anything it shows it.
var RemindCmd = New(Def[remindArgs]{
	Name:    remindName,
	Also:    []string{"remind me"},
	Summary: "When an athlete is reminded: times, quiet hours, days off, on or off.",
	Exact:   true,
	Needs:   rehab.ReportSelf,
	Privacy: OwnOnly,
	Self:    true,
	Fields: func(a *remindArgs) []Field {
		return append([]Field{Athlete(&a.Athlete)}, habitFields(a, athleteWhats)...)
	},
	Subject:  func(a *remindArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"remind 7", "remind 7 drills 18:00", "remind 7 quiet 20:00-08:00", "remind 7 not sun", "remind 7 off"},
	Run: func(ctx context.Context, env *Env, a remindArgs) (Reply, error) {
		entries, err := env.Records.Entries(ctx, a.Athlete.ID)
		if err != nil {
			return Reply{}, err
		}
		return env.remind(ctx, a, entries)
	},
})

// RemindersCmd says when the team is written to; without anything it shows it.
var RemindersCmd = New(Def[remindArgs]{
	Name:    remindersName,
	Also:    []string{"team reminders"},
	Summary: "When the team is reminded: clinic list, morning question, drills, nudge, Monday summary, quiet hours.",
	Exact:   true,
	Needs:   rehab.ManageRoster,
	Privacy: Anyone,
	Squad:   true,
	Fields: func(a *remindArgs) []Field {
		return habitFields(a, teamWhats)
	},
	Examples: []string{"reminders", "reminders drills 17:30", "reminders clinic 07:00", "reminders nudge off", "reminders off", "reminders quiet 21:30-06:30", "reminders summary off"},
	Run: func(ctx context.Context, env *Env, a remindArgs) (Reply, error) {
		return env.remind(ctx, a, nil)
	},
})

func habitFields(a *remindArgs, whats Words) []Field {
	return []Field{Opt(Choice("what", &a.What, whats)), AtClock(&a.At), Opt(Choice("switch", &a.Switch, onOff)), Quiet(&a.Quiet), NotOn(&a.NotOn)}
}

// prefers is what a line asks for; line is its command with what it is about, for an example.
func (a remindArgs) prefers(line string) ([]rehab.Preferred, error) {
	var out []rehab.Preferred
	what := a.What
	switch {
	case a.At != "" && a.Switch == "off":
		return nil, refuse("At %s, or off? Say one. Nothing was saved.", a.At)
	case a.At != "" && (what == rehab.Nudge || what == rehab.WeekSummary):
		return nil, refuse("The %s has no time of its own: only on or off. Nothing was saved.", what)
	case a.At != "" && what == "":
		what = rehab.DrillCard
	case a.What != "" && a.At == "" && a.Switch == "":
		return nil, refuse("The %s: at what time, on or off? For example: %s off. Nothing was saved.", what, line)
	}
	if a.At != "" {
		out = append(out, rehab.Preferred{What: what, Says: a.At})
	} else if a.Switch != "" {
		if what == "" {
			what = rehab.Everything
		}
		out = append(out, rehab.Preferred{What: what, Says: a.Switch})
	}
	if a.Quiet != "" {
		out = append(out, rehab.Preferred{What: rehab.QuietHours, Says: a.Quiet})
	}
	if a.NotOn != "" {
		out = append(out, rehab.Preferred{What: rehab.DaysOff, Says: strings.Replace(a.NotOn, everyDayWord, "", 1)})
	}
	return out, nil
}

// remind records what a line prefers, for the squad when it names no athlete, and says what then holds.
func (e *Env) remind(ctx context.Context, a remindArgs, own []rehab.Entry) (Reply, error) {
	line := join(" ", remindersName, a.What)
	if a.Athlete.ID != 0 {
		line = e.line(remindName, a.Athlete, a.What)
	}
	wants, err := a.prefers(line)
	if err != nil {
		return Reply{}, err
	}
	squad, err := e.Records.SquadEntries(ctx)
	if err != nil {
		return Reply{}, err
	}
	h, err := rehab.TeamHabits(e.Team, squad)
	if err != nil {
		return Reply{}, err
	}
	h = h.After(own)
	id := a.Athlete.ID
	if id == 0 {
		row, err := e.Records.Squad(ctx)
		if err != nil {
			return Reply{}, err
		}
		id = row.ID
	}
	reply := Reply{}
	for _, p := range wants {
		h = h.With(p)
		reply.Entries = append(reply.Entries, rehab.Entry{Athlete: id, At: e.Told, Body: p})
	}
	reply.Lines = e.sayHabits(a.Athlete, h)
	cal := rehab.FoldCalendar(squad)
	for _, p := range wants {
		says, err := e.firstAt(ctx, a.Athlete, h, cal, p)
		if err != nil {
			return Reply{}, err
		}
		if says != "" {
			reply.Lines = append(reply.Lines, says)
		}
	}
	return reply, nil
}

// sayHabits is what holds, in a line or two.
func (e *Env) sayHabits(a rehab.Athlete, h rehab.Habits) []string {
	who := "The team"
	if a.ID != 0 {
		who = a.Label()
	}
	if a.ID != 0 && !h.Sends(rehab.Everything) {
		return []string{who + ": no reminders. To have them again: " + e.line(remindName, a, "on") + ". Something is wrong? It can always be typed: " + Wrong.Name}
	}
	times := func(what, says string) string {
		if !h.Sends(what) {
			return says + " off"
		}
		at := h.Times[what]
		if what != rehab.ClinicList { // a room is no one's phone
			allowed, ok := h.For(a.ID != 0 && a.Minor(e.Now, e.Team.StrictMinors)).Allowed(at)
			if !ok {
				return says + " never"
			}
			at = allowed
		}
		return says + " " + at.String()
	}
	drills := times(rehab.DrillCard, "drills")
	if h.Sends(rehab.DrillCard) {
		drills += ", 10 min before the end on training days"
	}
	parts := []string{times(rehab.MorningQuestion, "morning question"), drills, "nudge " + onWord(h.Sends(rehab.Nudge))}
	if a.ID == 0 {
		parts = append([]string{times(rehab.ClinicList, "clinic list"), "Monday summary " + onWord(h.Sends(rehab.WeekSummary))}, parts...)
	}
	quiet := "none"
	if len(h.Quiet) > 0 {
		quiet = h.Quiet[0].String()
	}
	out := []string{who + ": " + strings.Join(parts, "; ") + ".", "Nothing to athletes in quiet hours: " + quiet + daysOffSay(h) + "."}
	if a.ID != 0 && a.Minor(e.Now, e.Team.StrictMinors) {
		out[1] += " Under 18: nor " + rehab.AfterHours.String() + "."
	}
	return out
}

func onWord(on bool) string {
	if on {
		return "on"
	}
	return "off"
}

func daysOffSay(h rehab.Habits) string {
	var out []string
	for _, d := range h.DaysOff {
		out = append(out, d.String())
	}
	return rehab.Prefixed("; days off: ", strings.Join(out, ", "))
}

// horizon is how many days ahead the first time is looked for.
const horizon = 8

// firstAt says when a new time first holds: not again on a day that had it. Where quiet hours or days off leave
// no time it says that; what is off has none.
func (e *Env) firstAt(ctx context.Context, a rehab.Athlete, h rehab.Habits, cal rehab.Calendar, p rehab.Preferred) (string, error) {
	what := p.What
	switch {
	case p.Says == "off" && what != rehab.QuietHours, what == rehab.Nudge:
		return "", nil
	case what == rehab.QuietHours || what == rehab.DaysOff || what == rehab.Everything:
		what = rehab.DrillCard
	}
	if !h.Sends(what) {
		return "", nil
	}
	r := rehab.Receiver{Athlete: a.ID, Habits: h, Minor: a.ID != 0 && a.Minor(e.Now, e.Team.StrictMinors), Treated: true, Drilled: true}
	key := what
	if a.ID != 0 {
		key = fmt.Sprintf("%s %d", what, a.ID)
	}
	latest, err := e.Records.LatestOccurrence(ctx, key)
	if err != nil {
		return "", err
	}
	for n := range horizon {
		date := dateOf(e.Now).AddDate(0, 0, n)
		for _, s := range rehab.Slots(h, cal, []rehab.Receiver{r}, date, e.Now.Location()) {
			if s.What == what && s.At.After(e.Now) && date.Format(time.DateOnly) > latest {
				return fmt.Sprintf("The next %s: %s.", slotSay[what], e.sayStart(s.At)), nil
			}
		}
	}
	return fmt.Sprintf("Quiet hours and days off leave no time for the %s: nothing is sent. Change them, for example: quiet 21:00-07:00", slotSay[what]), nil
}

// slotSay names what is sent.
var slotSay = map[string]string{
	rehab.DrillCard: "drills", rehab.MorningQuestion: "morning question", rehab.ClinicList: "clinic list", rehab.WeekSummary: "summary",
}
