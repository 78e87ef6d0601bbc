package commands

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"footing/rehab"
)

// Undo takes back the last message of the author that recorded something. The entries stay in the
// log, marked void. Where a plan or a question came after it, which record nothing of theirs, it may be meant
// for that: it names the record and asks.
var Undo = New(Def[struct{}]{
	Name:     "undo",
	Summary:  "Take back your last record of the day; after a plan or an open question it names it and asks first.",
	Exact:    true,
	Needs:    rehab.TakeBack,
	Privacy:  Anyone, // what it names is judged by the place, below
	Examples: []string{"undo"},
	Run: func(ctx context.Context, env *Env, _ struct{}) (Reply, error) {
		source, entries, err := env.Records.LastSource(ctx, env.Actor.ID, env.undoSince())
		if err != nil {
			return Reply{}, err
		}
		if source == "" {
			return Reply{}, refuse("Nothing of yours from the last %d hours to undo.", env.Protocol.Limits.UndoHours)
		}
		if !env.mayName(entries) {
			return Reply{}, refuse(saidMedical)
		}
		since, err := env.Records.ShownSince(ctx, env.Actor.ID, source)
		if err != nil {
			return Reply{}, err
		}
		if since {
			return Reply{}, askUndo(ctx, env, source, entries)
		}
		return takeBack(ctx, env, source, entries)
	},
})

const saidMedical = "Your last record holds medical detail: take it back in the medical channel."

// askUndo names what an undo would take back, and asks.
func askUndo(ctx context.Context, env *Env, source string, entries []rehab.Entry) error {
	what, err := describe(ctx, env, entries)
	if err != nil {
		return err
	}
	logged := entries[len(entries)-1].Logged.In(env.Now.Location()).Format("Mon 15:04")
	return &Refusal{
		Says:    fmt.Sprintf("A plan or an open question came last: that records nothing, so there is nothing of it to undo.\nYour last record, %s, is %s. Take it back?", logged, what),
		Buttons: []Button{{Label: "Take it back", Line: UndoMessage.Name + " : " + source, Own: true}},
	}
}

// UndoMessage takes back what one message of the author's recorded, later ones left alone. It is offered
// as a button under the reply.
var UndoMessage = New(Def[sourceArgs]{
	Name:     "undo-message",
	Summary:  "Take back what one message of yours recorded.",
	Exact:    true,
	Needs:    rehab.TakeBack,
	Privacy:  Anyone, // as of undo
	Fields:   func(a *sourceArgs) []Field { return []Field{sourceField(&a.Source)} },
	Examples: []string{"undo-message : 1234"},
	Run: func(ctx context.Context, env *Env, a sourceArgs) (Reply, error) {
		entries, err := env.Records.SourceEntries(ctx, a.Source)
		if err != nil {
			return Reply{}, err
		}
		entries = slices.DeleteFunc(entries, func(e rehab.Entry) bool { return e.Author != env.Actor.ID || e.Logged.Before(env.undoSince()) })
		if len(entries) == 0 {
			return Reply{}, refuse("That message has no record of yours from the last %d hours. Nothing was undone.", env.Protocol.Limits.UndoHours)
		}
		if !env.mayName(entries) {
			return Reply{}, refuse(saidMedical)
		}
		return takeBack(ctx, env, a.Source, entries)
	},
})

// UndoButton takes back what one message recorded.
func UndoButton(source string) Button {
	return Button{Label: "Undo", Line: UndoMessage.Name + " : " + source, Own: true}
}

// Undoable reports whether a reply records something that a person told and an undo takes back. A plan is
// the bot's own; accounts, consent and settings are changed by their own commands only.
func Undoable(r Reply) bool {
	told := len(r.Put) > 0
	for _, e := range r.Entries {
		switch e.Body.Kind() {
		case rehab.KindLinked, rehab.KindConsented, rehab.KindConfigured:
			return false
		case rehab.KindPlanned:
		default:
			told = true
		}
	}
	return told
}

// undoSince is from when on one's own records may be undone.
func (e *Env) undoSince() time.Time {
	return e.Now.Add(-time.Duration(e.Protocol.Limits.UndoHours) * time.Hour)
}

// takeBack undoes what the author recorded in one message.
func takeBack(ctx context.Context, env *Env, source string, entries []rehab.Entry) (Reply, error) {
	var ids []int64
	for _, e := range entries {
		ids = append(ids, e.Athlete)
	}
	if _, err := env.Records.Lock(ctx, ids...); err != nil {
		return Reply{}, err
	}
	entries, err := env.Records.SourceEntries(ctx, source) // as they are now that nobody else may add
	if err != nil {
		return Reply{}, err
	}
	entries = slices.DeleteFunc(entries, func(e rehab.Entry) bool { return e.Author != env.Actor.ID })
	reply, err := void(ctx, env, source, entries, "Undone: ")
	reply.By = env.Actor.ID
	return reply, err
}

// mayName reports whether some records may be named where the reply is seen: all of them in the medical
// room, one's own in direct messages, elsewhere only the roster and the calendar.
func (e *Env) mayName(entries []rehab.Entry) bool {
	return e.Medical || !slices.ContainsFunc(entries, func(x rehab.Entry) bool {
		switch x.Body.(type) {
		case rehab.Joined, rehab.Changed, rehab.Departed, rehab.Scheduled, rehab.Moved, rehab.Cancelled, rehab.Configured, rehab.Imported, rehab.Attended:
			return false
		}
		return !e.Direct || x.Athlete != e.Actor.Athlete
	})
}

// void takes a message's entries back and says what that was and what it leaves behind.
func void(ctx context.Context, env *Env, source string, entries []rehab.Entry, head string) (Reply, error) {
	what, err := describe(ctx, env, entries)
	if err != nil {
		return Reply{}, err
	}
	reply := lines(head + what + ". It stays in the log, marked void.")
	reply.Void = source
	if reply.Restore, err = Before(ctx, env.Records, entries); err != nil {
		var no *Refusal
		if errors.As(err, &no) { // what stands in the way is recorded next, so that a plain undo would take that back
			no.Buttons = []Button{{Label: "Try again", Line: "void-deleted : " + source, Own: true}}
		}
		return Reply{}, err
	}
	for _, e := range entries {
		if b, ok := e.Body.(rehab.Sprained); ok {
			if n, err := orphans(ctx, env, e, source); err != nil {
				return Reply{}, err
			} else if n > 0 && !b.Again {
				return Reply{}, refuse("%s rest on that sprain. Take those back first, or correct the sprain by editing its line. It stands.", plural(n, "record"))
			}
		}
	}
	return reply, nil
}

func orphans(ctx context.Context, env *Env, sprain rehab.Entry, source string) (int, error) {
	all, err := env.Records.Entries(ctx, sprain.Athlete)
	n := 0
	for _, e := range all {
		if e.Episode == sprain.Episode && e.Source != source && e.Body.Kind() != rehab.KindPlanned {
			n++
		}
	}
	return n, err
}

// describeMost is how many records are named one by one.
const describeMost = 12

// describe names what some entries recorded, in a few words.
func describe(ctx context.Context, env *Env, entries []rehab.Entry) (string, error) {
	var out []string
	for i, e := range entries {
		if i == describeMost && len(entries) > describeMost+1 {
			out = append(out, fmt.Sprintf("and %d more", len(entries)-i))
			break
		}
		a, err := env.Records.Athlete(ctx, e.Athlete)
		if err != nil {
			return "", err
		}
		says := kindWords(env, e.Body)
		if a.Shirt != 0 {
			says = a.Label() + ": " + says
		}
		out = append(out, says)
	}
	return strings.Join(out, "; "), nil
}

func kindWords(env *Env, b rehab.Body) string {
	switch b := b.(type) {
	case rehab.Joined:
		return "put on the roster"
	case rehab.Changed:
		return strings.Join(b.Fields, ", ") + " changed"
	case rehab.Departed:
		return "taken off the roster"
	case rehab.Scheduled:
		if n := len(b.More); n > 0 {
			return fmt.Sprintf("%d %s from %s, %d min each", n+1, kindWord(n+1, b.Session), env.sayStart(b.Start), b.Minutes)
		}
		return fmt.Sprintf("%s %s, %d min", b.Session, env.sayStart(b.Start), b.Minutes)
	case rehab.Moved:
		return b.Session + " " + env.sayStart(b.From) + " moved to " + env.sayStart(b.To)
	case rehab.Cancelled:
		if n := len(b.More); n > 0 {
			return fmt.Sprintf("%d %s from %s cancelled", n+1, kindWord(n+1, b.Session), env.sayStart(b.Start))
		}
		return b.Session + " " + env.sayStart(b.Start) + " cancelled"
	case rehab.Configured:
		return saySet(b)
	case rehab.Imported:
		return "calendar file, " + filing{Imported: b}.counted()
	case rehab.Attended:
		return "who took part in " + b.Session + " " + env.sayStart(b.Start)
	case rehab.Linked:
		if b.Account == "" {
			return "account parted"
		}
		return "account linked"
	case rehab.Consented:
		if b.Given {
			return string(b.By) + "'s consent"
		}
		return "no consent of the " + string(b.By)
	case rehab.Preferred:
		return "reminders" + rehab.Prefixed(": ", strings.TrimPrefix(join(" ", b.What, b.Says), rehab.Everything+" "))
	case rehab.Past:
		if b.Side == rehab.None {
			return "past of both ankles"
		}
		return "past of the " + string(b.Side) + " ankle"
	case rehab.Sprained:
		return string(b.Side) + " ankle sprain"
	case rehab.Screened:
		return foundWords(env.Lang, b.Answers)
	case rehab.Lifted:
		return "hold lifted"
	case rehab.Tested:
		return join(" ", b.Test, b.Side.Short(), b.Choice, sayTrials(b.Trials), b.Absent)
	case rehab.Responded:
		return fmt.Sprintf("morning pain %d", b.Pain)
	case rehab.Decided:
		return string(b.Action)
	case rehab.Noted:
		if b.Seen {
			return "seen: " + b.Text
		}
		return "note: " + b.Text
	case rehab.Trained:
		return "drills " + b.Did + painWord(b.Pain) + rehab.Prefixed(", ", b.Why)
	case rehab.Planned:
		return fmt.Sprintf("plan of %d min", b.Minutes)
	case rehab.Worked:
		return join(" ", b.What, fmt.Sprintf("effort %d over %d min", b.Effort, b.Minutes))
	case rehab.Adopted:
		return "protocol accepted"
	case rehab.Supported:
		return "support " + b.Support + rehab.Prefixed(", ", b.For)
	case rehab.PlayedOn:
		if len(b.Missed) > 0 {
			return "does not play on"
		}
		return "plays on"
	case rehab.Restricted:
		if b.Level == rehab.Full {
			return "available again"
		}
		return join(", ", string(b.Level), b.Cause, rehab.Prefixed("no ", strings.Join(b.Cannot, ", no ")))
	}
	return "note"
}

// foundWords names a few findings, and counts many.
func foundWords(l *Lang, list []rehab.Answer) string {
	if len(list) > 3 {
		return plural(len(list), "finding")
	}
	var out []string
	for _, a := range list {
		f, _ := l.Protocol.Finding(a.Finding)
		if a.Yes {
			out = append(out, f.Name)
		} else {
			out = append(out, denied(f))
		}
	}
	return strings.Join(out, ", ")
}

type sourceArgs struct{ Source string }

// source is the id of a message, as the bot itself puts it into a button.
func sourceField(to *string) Field {
	return Rest("message", "the message's id", to)
}

// Drop voids what a deleted message recorded; Keep lets it stand. Both are offered as buttons when a
// message is deleted, since anyone may have deleted it.
var (
	Drop = New(Def[sourceArgs]{
		Name: "void-deleted", Summary: "Void what a deleted message recorded.",
		Needs: rehab.Decide, Privacy: MedicalOnly, Exact: true,
		Fields:   func(a *sourceArgs) []Field { return []Field{sourceField(&a.Source)} },
		Examples: []string{"void-deleted : 1234"},
		Run: func(ctx context.Context, env *Env, a sourceArgs) (Reply, error) {
			entries, err := env.Records.SourceEntries(ctx, a.Source)
			if err != nil {
				return Reply{}, err
			}
			if len(entries) == 0 {
				return Reply{}, refuse("That message has no record left to void.")
			}
			reply, err := void(ctx, env, a.Source, entries, "Void: ")
			reply.Settle = a.Source
			return reply, err
		},
	})
	Keep = New(Def[sourceArgs]{
		Name: "keep-deleted", Summary: "Let stand what a deleted message recorded.",
		Needs: rehab.Decide, Privacy: MedicalOnly, Exact: true,
		Fields:   func(a *sourceArgs) []Field { return []Field{sourceField(&a.Source)} },
		Examples: []string{"keep-deleted : 1234"},
		Run: func(ctx context.Context, env *Env, a sourceArgs) (Reply, error) {
			entries, err := env.Records.SourceEntries(ctx, a.Source)
			if err != nil {
				return Reply{}, err
			}
			if len(entries) == 0 {
				return Reply{}, refuse("That message has no record left to keep.")
			}
			what, err := describe(ctx, env, entries)
			reply := lines("The record stands: " + what + ".")
			reply.Settle = a.Source
			return reply, err
		},
	})
)

// Deleted asks medical staff what to do with the record of a message that was deleted.
func Deleted(ctx context.Context, env *Env, source string, entries []rehab.Entry) (Reply, error) {
	what, err := describe(ctx, env, entries)
	if err != nil {
		return Reply{}, err
	}
	reply := lines("A message was deleted that recorded: "+what+".", "The record stands until medical staff decide.")
	reply.Buttons = []Button{{Label: "Keep", Line: "keep-deleted : " + source}, {Label: "Void", Line: "void-deleted : " + source}}
	return reply, nil
}
