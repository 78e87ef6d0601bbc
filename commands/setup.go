package commands

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"footing/rehab"
)

type setUpArgs struct {
	MedicalRoles, CoachRoles []string
	MedicalRoom, StaffRoom   []string // one at most
	Zone, ReportAt           string
	Sport, Minors            string
}

var sportWords = func() Words {
	also := map[string][]string{"football": {"soccer", "sport soccer"}}
	var list []Word
	for _, s := range rehab.Sports {
		list = append(list, Word{s, append([]string{"sport " + s}, also[s]...)})
	}
	return NewWords(list...)
}()

var minorsWords = NewWords(
	Word{"strict", []string{"minors strict", "strict minors"}}, Word{"usual", []string{"minors usual", "usual minors"}},
)

// strictly is the word for a rule for minors.
func strictly(strict bool) string {
	if strict {
		return "strict"
	}
	return "usual"
}

var setUpExamples = []string{
	"setup medical-role <@&1> coach-role <@&2> medical-channel <#3> staff-channel <#4> zone Pacific/Auckland report 07:30 rugby",
	"setup report 08:00",
}

// SetUp says which roles and channels of the chat server stand for the team's, and when it reports. Once
// set up, only what is named changes.
var SetUp = New(Def[setUpArgs]{
	Name:    "setup",
	Also:    []string{"set up"},
	Summary: "Set the team up: roles, channels, zone, report time, sport, minors; later only what changes.",
	Exact:   true,
	Needs:   rehab.ManageTeam,
	Privacy: Anyone,
	Squad:   true,
	Fields: func(a *setUpArgs) []Field {
		return []Field{
			roleRef.field("medical-role", 10, &a.MedicalRoles, "medical roles", "medical"), roleRef.field("coach-role", 10, &a.CoachRoles, "coach roles", "coach", "coaches"),
			channelRef.field("medical-channel", 1, &a.MedicalRoom, "medical room"), channelRef.field("staff-channel", 1, &a.StaffRoom, "staff room"),
			ZoneField(&a.Zone), ClockField(&a.ReportAt), Opt(Choice("sport", &a.Sport, sportWords)), Opt(Choice("minors", &a.Minors, minorsWords)),
		}
	},
	Examples: setUpExamples,
	Run:      setUp,
})

func setUp(ctx context.Context, env *Env, a setUpArgs) (Reply, error) {
	was, err := env.Records.LockTeam(ctx)
	if err != nil {
		return Reply{}, err
	}
	if was.Ready && !env.Owns && env.Actor.Key != was.SetUpBy {
		return Reply{}, refuse("Only the owner of this server, or whoever set the team up, may change its settings. Nothing was saved.")
	}
	now := was
	changed := a.onto(&now)
	if err := a.fit(now); err != nil {
		return Reply{}, err
	}
	if was.Ready && len(changed) == 0 {
		return Reply{}, refuse("Nothing is changed by that. Say what to change: %s. settings shows what is set.", setUpExamples[1])
	}
	if !was.Ready {
		now.Ready, now.SetUpBy = true, env.Actor.Key
	}
	record := rehab.Configured{Changes: changed}
	reply := lines("Changed: " + saySet(record) + ".")
	if !was.Ready {
		reply = lines(now.Name + " is set up.")
	}
	squad, err := env.Records.Squad(ctx)
	if err != nil {
		return Reply{}, err
	}
	reply.Team, reply.Entries = &now, []rehab.Entry{{Athlete: squad.ID, At: env.Now, Body: record}}
	reply.Lines = append(reply.Lines, settingLines(env, now)...)
	if !was.Ready || was.Zone != now.Zone || was.ReportAt != now.ReportAt {
		first, err := firstReport(ctx, env, now)
		if err != nil {
			return Reply{}, err
		}
		reply.Lines = append(reply.Lines, "The first report at that time: "+first.Format("Mon 2 Jan 15:04")+".")
	}
	if !was.Ready {
		reply.Lines = append(reply.Lines, fmt.Sprintf("Next: make sure that only medical staff can open %s. Put the squad on the roster (import, or add 7 Mere Tau), then type invite in a channel the athletes read.", channelRef.mention(now.Rooms.Medical)))
	}
	return reply, nil
}

// onto puts what was given into a team's settings and tells what that changes. Until a team is set up,
// nothing was chosen before.
func (a setUpArgs) onto(t *rehab.Team) (changed []rehab.SettingChange) {
	fresh := !t.Ready
	note := func(what, from, to string) {
		if fresh {
			from = ""
		}
		changed = append(changed, rehab.SettingChange{What: what, From: from, To: to})
	}
	list := func(to *[]string, given []string, what string) {
		if len(given) > 0 && !slices.Equal(*to, given) {
			note(what, roleRef.mentions(*to), roleRef.mentions(given))
			*to = given
		}
	}
	one := func(to *string, given, what string, says func(string) string) {
		if given != "" && (*to != given || fresh) {
			note(what, says(*to), says(given))
			*to = given
		}
	}
	plain := func(s string) string { return s }
	room := func(to *string, given []string, what string) {
		if len(given) > 0 {
			one(to, given[0], what, channelRef.mention)
		}
	}
	list(&t.Rooms.MedicalRoles, a.MedicalRoles, "medical role")
	list(&t.Rooms.CoachRoles, a.CoachRoles, "coach role")
	room(&t.Rooms.Medical, a.MedicalRoom, "medical channel")
	room(&t.Rooms.Staff, a.StaffRoom, "staff channel")
	one(&t.Zone, a.Zone, "zone", plain)
	one(&t.ReportAt, a.ReportAt, "report", plain)
	one(&t.Sport, a.Sport, "sport", plain)
	minors := strictly(t.StrictMinors)
	one(&minors, a.Minors, "minors", plain)
	t.StrictMinors = minors == "strict"
	return changed
}

// saySet names changed settings: "report 08:00 (was 07:30)".
func saySet(s rehab.Configured) string {
	var out []string
	for _, c := range s.Changes {
		says := c.What + " " + c.To
		if c.From != "" {
			says += " (was " + c.From + ")"
		}
		out = append(out, says)
	}
	return strings.Join(out, "; ")
}

// fit refuses settings that lack something, or that would let the wrong people read.
func (a setUpArgs) fit(t rehab.Team) error {
	r := t.Rooms
	everyone := func(id string) bool { return id == t.Key || strings.EqualFold(id, "everyone") }
	for _, id := range r.MedicalRoles {
		if slices.Contains(r.CoachRoles, id) {
			return refuse("%s cannot be both a medical and a coach role: coaches would read medical detail. Nothing was saved.", roleRef.mention(id))
		}
	}
	if slices.ContainsFunc(slices.Concat(r.MedicalRoles, r.CoachRoles), everyone) {
		return refuse("The role that everyone has cannot stand for staff. Make a role for them and choose that. Nothing was saved.")
	}
	if r.Medical != "" && r.Medical == r.Staff {
		return refuse("The medical and the staff channel must be two: coaches read the staff channel. Nothing was saved.")
	}
	if t.Ready {
		return nil
	}
	var missing []string
	for _, m := range []struct {
		name  string
		given bool
	}{
		{"medical-role", len(r.MedicalRoles) > 0}, {"coach-role", len(r.CoachRoles) > 0}, {"medical-channel", r.Medical != ""}, {"staff-channel", r.Staff != ""}, {"zone", a.Zone != ""},
	} {
		if !m.given {
			missing = append(missing, m.name)
		}
	}
	if len(missing) > 0 {
		return refuse("Still to say: %s. All in one line, for example: %s. Nothing was saved.", strings.Join(missing, ", "), setUpExamples[0])
	}
	return nil
}

// firstReport is when a team's report goes out next, by its settings: not again on a day that had one.
func firstReport(ctx context.Context, env *Env, t rehab.Team) (time.Time, error) {
	zone, err := time.LoadLocation(t.Zone)
	if err != nil {
		return time.Time{}, fmt.Errorf("loading the team's zone: %w", err)
	}
	clock, err := rehab.ParseClock(t.ReportAt)
	if err != nil {
		return time.Time{}, fmt.Errorf("reading the report time: %w", err)
	}
	latest, err := env.Records.LatestOccurrence(ctx, "report")
	if err != nil {
		return time.Time{}, err
	}
	y, m, d := env.Now.In(zone).Date()
	for date := time.Date(y, m, d, 0, 0, 0, 0, time.UTC); ; date = date.AddDate(0, 0, 1) {
		at := clock.On(date, zone)
		if at.After(env.Now) && date.Format(time.DateOnly) > latest {
			return at.In(zone), nil
		}
	}
}

// Settings shows how the team is set up.
var Settings = New(Def[struct{}]{
	Name:     "settings",
	Summary:  "How the team is set up.",
	Needs:    rehab.ManageRoster,
	Privacy:  Anyone,
	Examples: []string{"settings"},
	Run: func(ctx context.Context, env *Env, _ struct{}) (Reply, error) {
		reply := lines(append([]string{env.Team.Name + ":"}, settingLines(env, env.Team)...)...)
		changes, err := changeLines(ctx, env)
		if err != nil {
			return Reply{}, err
		}
		reply.Lines = append(reply.Lines, changes...)
		reply.Lines = append(reply.Lines, "The server's owner, or whoever set it up, changes one with setup: "+setUpExamples[1])
		return reply, nil
	},
})

// shownChanges is how many of the latest changes are shown.
const shownChanges = 5

// changeLines say who last changed which setting, and when; the latest first.
func changeLines(ctx context.Context, env *Env) ([]string, error) {
	entries, err := env.Records.SquadEntries(ctx)
	if err != nil {
		return nil, err
	}
	names, err := env.Records.MemberNames(ctx)
	var out []string
	for _, e := range slices.Backward(entries) {
		if set, ok := e.Body.(rehab.Configured); ok && len(out) < shownChanges {
			out = append(out, fmt.Sprintf("%s, %s: %s.", e.At.In(env.Now.Location()).Format("Mon 2 Jan 2006 15:04"), cmp.Or(names[e.Author], "someone"), saySet(set)))
		}
	}
	return out, err
}

// settingLines say a team's settings back.
func settingLines(env *Env, t rehab.Team) []string {
	rooms := fmt.Sprintf("Medical: %s in %s. Coaches: %s; reports in %s.", roleRef.mentions(t.Rooms.MedicalRoles), channelRef.mention(t.Rooms.Medical), roleRef.mentions(t.Rooms.CoachRoles), channelRef.mention(t.Rooms.Staff))
	sport := "sport not said: full contact is asked for before a return"
	switch {
	case noContact(t.Sport, env.Protocol):
		sport = t.Sport + ": no full-contact session is asked for"
	case t.Sport != "":
		sport = t.Sport + ": full contact is asked for before a return"
	}
	out := []string{rooms, fmt.Sprintf("Zone %s, report %s. %s. Minors: %s.", t.Zone, t.ReportAt, capital(sport), minorsSay[t.StrictMinors])}
	if t.Rooms.Medical == "" {
		out = out[1:] // a team without channels of its own, as in a terminal
	}
	if t.RoomFault != "" {
		out = append(out, t.RoomFault)
	}
	return out
}

// minorsSay tells what a rule for minors means, by whether it is strict.
var minorsSay = map[bool]string{true: "strict, every under-18 is imaged or examined again", false: "usual"}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
