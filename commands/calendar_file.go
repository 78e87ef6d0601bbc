package commands

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"footing/commands/ics"
	"footing/rehab"
)

// CalendarCmd takes the sessions of a calendar file. It asks before it records anything.
var CalendarCmd = New(Def[struct{}]{
	Name:     "calendar",
	Exact:    true,
	Summary:  "Take the sessions of an attached calendar file (.ics), for a year ahead.",
	Needs:    rehab.ManageCalendar,
	Privacy:  Anyone,
	Squad:    true,
	Fields:   func(*struct{}) []Field { return []Field{Attached()} },
	Examples: []string{"calendar"},
	Run:      func(ctx context.Context, env *Env, _ struct{}) (Reply, error) { return importCalendar(ctx, env) },
})

// Attached is a field for the file that comes with a line. No word of the line is it.
func Attached() Field {
	return Field{
		Name: "file", Usage: "attach a file", Optional: true, Kind: KindFile, About: "the file",
		words: func(*Lang) []phrase { return nil },
		match: func(*reader) (int, func() error, error) { return 0, nil, nil },
		text:  func() string { return "" },
	}
}

// isCalendar reports whether a file says of itself that it is a calendar.
func isCalendar(file []byte) bool {
	start := bytes.TrimLeft(bytes.TrimPrefix(file[:min(len(file), 100)], []byte("\ufeff")), " \t\r\n")
	return len(start) >= 15 && strings.EqualFold(string(start[:15]), "BEGIN:VCALENDAR")
}

func importCalendar(ctx context.Context, env *Env) (Reply, error) {
	switch {
	case len(env.Replaces) > 0:
		return Reply{}, refuse("A calendar file is not edited: undo it, then send the file again.")
	case env.NoFile != "":
		return Reply{}, refuse("%s", env.NoFile)
	case env.File == nil:
		return Reply{}, refuse("Attach the calendar as an .ics file, 1 MB at most, and type calendar with it. For what stands type sessions.")
	}
	file, err := ics.Read(env.File, ics.Window{Zone: env.Told.Location(), From: env.Told, To: env.Told.AddDate(1, 0, 0)})
	var no *ics.Fault
	if errors.As(err, &no) {
		return Reply{}, refuse("%s. Nothing was taken.", upper(no.Error()))
	} else if err != nil {
		return Reply{}, err
	}
	squad, err := env.Records.Squad(ctx)
	if err != nil {
		return Reply{}, err
	}
	if _, err := env.Records.Lock(ctx, squad.ID); err != nil {
		return Reply{}, err
	}
	cal, err := env.Calendar(ctx)
	if err != nil {
		return Reply{}, err
	}
	f := env.compare(cal, file)
	switch {
	case len(f.Sessions)+len(f.Gone) == 0:
		return Reply{}, &Refusal{Says: strings.Join(env.sayFile(f), "\n")}
	case !env.Confirmed:
		return Reply{}, &Refusal{
			Says:    strings.Join(env.sayFile(f), "\n"),
			Buttons: []Button{{Label: "Record them", Line: env.Call.Text(), Confirmed: true, File: true}},
		}
	}
	reply := lines("Recorded: "+f.counted()+". Type sessions for the next two weeks, undo to take it all back.",
		"A match that is none: cancel match sat 15:00, then training sat 15:00.")
	reply.Entries = []rehab.Entry{{Athlete: squad.ID, At: env.Told, Body: f.Imported}}
	return reply, nil
}

// filing is what a file would change in the calendar.
type filing struct {
	rehab.Imported
	file ics.File

	fresh, other int           // sessions that are new, and that are now otherwise
	same         int           // that stand already, or that staff changed since this was said of them
	older        int           // of an earlier revision than the one that was taken
	left         int           // sessions of other files, which stay
	names        []ics.Session // of Sessions, for naming them
}

// compare works out what a file would change. What it says again changes nothing, so that what staff moved
// or cancelled since stays so. What an event that it still has no longer has goes; what is of other events
// stays.
func (e *Env) compare(cal rehab.Calendar, file ics.File) filing {
	f := filing{file: file}
	known, stands := map[string]rehab.Filed{}, map[string]rehab.Session{}
	for _, s := range cal.Sessions {
		stands[s.What+s.Start.UTC().String()] = s
		if s.Filed.UID != "" {
			known[slotOf(s.Filed)] = s.Filed
		}
	}
	for _, o := range cal.Off {
		known[slotOf(o)] = o
	}
	taken, has := map[string]bool{}, map[string]bool{}
	for _, s := range file.Sessions {
		now := e.filed(s)
		at := now.Session + now.Start.UTC().String()
		was, before := known[slotOf(now)]
		has[slotOf(now)] = true
		there, full := stands[at]
		switch {
		case taken[at]:
			f.same++
			continue
		case before && was.Sequence > now.Sequence:
			f.older++
			continue
		case before && sameFiled(was, now), !before && full && f.foreign(there) && there.Minutes == now.Minutes:
			f.same++
			taken[at] = true
			continue
		case before:
			f.other++
		case full && there.Minutes == now.Minutes: // typed before: from now on the file's
			f.same++
		default:
			f.fresh++
		}
		taken[at] = true
		f.Sessions, f.names = append(f.Sessions, now), append(f.names, s)
	}
	for _, s := range cal.Sessions {
		switch w := s.Filed; {
		case w.UID == "" || !s.Start.After(e.Told) || !w.Start.After(e.Told) || has[slotOf(w)]:
		case slices.Contains(file.UIDs, w.UID):
			f.Gone = append(f.Gone, rehab.Filed{UID: w.UID, Slot: w.Slot})
		default:
			f.left++
		}
	}
	return f
}

// foreign reports whether a session came from a file, but is of no event of this one.
func (f filing) foreign(s rehab.Session) bool {
	return s.Filed.UID != "" && !slices.Contains(f.file.UIDs, s.Filed.UID)
}

func slotOf(f rehab.Filed) string { return f.UID + "\x00" + f.Slot.UTC().String() }

// sameFiled reports whether a file says the same of a session again.
func sameFiled(a, b rehab.Filed) bool {
	return a.Session == b.Session && a.Start.Equal(b.Start) && a.Minutes == b.Minutes
}

// filed is a session of a file as the calendar keeps it.
func (e *Env) filed(s ics.Session) rehab.Filed {
	what := sessionKind(s.Summary + " " + s.Categories)
	length := s.Minutes
	if length == 0 {
		length = e.usual(what)
	}
	return rehab.Filed{UID: s.UID, Slot: s.Slot.UTC(), Session: what, Start: s.Start.UTC(), Minutes: length, Sequence: s.Sequence}
}

var (
	trainingTitles = []string{"training", "practice", "session", "gym", "recovery"}
	matchTitles    = []string{"match", "matches", "game", "games", "fixture", "fixtures", "v", "vs", "versus", "friendly", "final", "semifinal", "cup"}
)

// sessionKind tells a match from training by the words of its title: "Match simulation training" is
// training, "Harbour v Rovers" a match.
func sessionKind(title string) string {
	has := func(list []string) bool {
		return slices.ContainsFunc(words(title), func(w string) bool { return slices.Contains(list, w) })
	}
	if has(matchTitles) && !has(trainingTitles) {
		return rehab.Match
	}
	return rehab.Training
}

// counted says how many sessions are recorded: "46 sessions (34 training, 12 match)".
func (f filing) counted() string {
	matches := 0
	for _, s := range f.Sessions {
		matches += boolInt(s.Session == rehab.Match)
	}
	var out []string
	if n := len(f.Sessions); n > 0 {
		out = append(out, fmt.Sprintf("%s (%d training, %d %s)", plural(n, "session"), n-matches, matches, kindWord(matches, rehab.Match)))
	}
	if n := len(f.Gone); n > 0 {
		out = append(out, fmt.Sprintf("%d taken out", n))
	}
	return strings.Join(out, ", ")
}

// How many sessions and faults of a file are named.
const (
	namedSessions = 4
	namedFaults   = 5
)

// sayFile says what a file would change, before anything is recorded.
func (e *Env) sayFile(f filing) []string {
	var parts, out []string
	count := func(n int, says string) {
		if n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, says))
		}
	}
	count(f.fresh, "new")
	count(f.other, "otherwise than before")
	count(len(f.Gone), "no longer there")
	count(f.same, "standing already")
	count(f.older, "older than what was taken")
	head := "The file has no session in the next 12 months."
	if len(parts) > 0 {
		head = "Sessions in the file, 12 months ahead: " + strings.Join(parts, ", ") + "."
	}
	if len(f.Sessions)+len(f.Gone) == 0 {
		head += " Nothing was changed."
	}
	out = append(out, head)
	for i, s := range f.Sessions[:min(namedSessions, len(f.Sessions))] {
		out = append(out, "• "+e.saySession(rehab.Session{What: s.Session, Start: s.Start, Minutes: s.Minutes})+rehab.Prefixed(": ", clip(f.names[i].Summary)))
	}
	if n := len(f.Sessions) - namedSessions; n > 0 {
		out = append(out, fmt.Sprintf("and %d more.", n))
	}
	parts = nil
	count(f.file.AllDay, "of whole days")
	count(f.file.Long, "longer than a day")
	count(f.file.Cancelled, "called off")
	count(f.file.Outside, "not in the next 12 months")
	if len(parts) > 0 {
		out = append(out, "No sessions: "+strings.Join(parts, ", ")+".")
	}
	if n := f.file.Endless; n > 0 {
		out = append(out, fmt.Sprintf("%s without end: taken for 12 months.", plural(n, "series")))
	}
	if f.left > 0 {
		out = append(out, fmt.Sprintf("Only in an earlier file: %s. Left as it was; cancel what is off.", plural(f.left, "session")))
	}
	return append(out, sayFaults(f.file.Faults)...)
}

// sayFaults names the events that were left out.
func sayFaults(faults []ics.Fault) []string {
	var out []string
	for _, no := range faults[:min(namedFaults, len(faults))] {
		out = append(out, "Left out, "+join(" ", fmt.Sprintf("line %d", no.Line), bracketed(clip(no.Summary)))+": "+no.Says+".")
	}
	if n := len(faults) - namedFaults; n > 0 {
		out = append(out, fmt.Sprintf("and %d more left out.", n))
	}
	return out
}

func bracketed(s string) string {
	if s == "" {
		return ""
	}
	return "(" + s + ")"
}
