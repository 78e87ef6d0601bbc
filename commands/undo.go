package commands

import (
	"context"
	"fmt"
	"strings"
	"time"

	"footing/rehab"
)

// Undo takes back the last message of the author that recorded something. The entries stay in the
// log, marked void.
var Undo = New(Def[struct{}]{
	Name:     "undo",
	Summary:  "Take back your last record of the day.",
	Needs:    rehab.ReportSelf,
	Privacy:  OwnOnly,
	Examples: []string{"undo"},
	Run: func(ctx context.Context, env *Env, _ struct{}) (Reply, error) {
		since := env.Now.Add(-time.Duration(env.Protocol.Limits.UndoHours) * time.Hour)
		source, entries, err := env.Records.LastSource(ctx, env.Actor.ID, since)
		if err != nil {
			return Reply{}, err
		}
		if source == "" {
			return Reply{}, refuse("Nothing of yours from the last %d hours to undo.", env.Protocol.Limits.UndoHours)
		}
		return void(ctx, env, source, entries, "Undone: ")
	},
})

// void takes a message's entries back and says what that was and what it leaves behind.
func void(ctx context.Context, env *Env, source string, entries []rehab.Entry, head string) (Reply, error) {
	what, err := describe(ctx, env, entries)
	if err != nil {
		return Reply{}, err
	}
	reply := lines(head + what + ". It stays in the log, marked void.")
	reply.Void = source
	for _, e := range entries {
		switch b := e.Body.(type) {
		case rehab.Sprained:
			if n, err := orphans(ctx, env, e, source); err != nil {
				return Reply{}, err
			} else if n > 0 && !b.Again {
				reply.Lines = append(reply.Lines, fmt.Sprintf("%s of that sprain from other messages no longer count as one.", plural(n, "record")))
			}
		case rehab.Joined:
			all, err := env.Records.Entries(ctx, e.Athlete)
			if err != nil {
				return Reply{}, err
			}
			if len(all) > len(entries) {
				return Reply{}, refuse("That put an athlete on the roster who has records since. Undo those first.")
			}
		}
	}
	return reply, nil
}

func orphans(ctx context.Context, env *Env, sprain rehab.Entry, source string) (int, error) {
	all, err := env.Records.Entries(ctx, sprain.Athlete)
	n := 0
	for _, e := range all {
		if e.Episode == sprain.Episode && e.Source != source {
			n++
		}
	}
	return n, err
}

// describe names what some entries recorded, in a few words.
func describe(ctx context.Context, env *Env, entries []rehab.Entry) (string, error) {
	roster, err := env.Records.Athletes(ctx)
	if err != nil {
		return "", err
	}
	var out []string
	for _, e := range entries {
		who := "an athlete no longer on the roster"
		for _, a := range roster {
			if a.ID == e.Athlete {
				who = a.Label()
			}
		}
		out = append(out, who+": "+kindWords(e.Body))
	}
	return strings.Join(out, "; "), nil
}

func kindWords(b rehab.Body) string {
	switch b := b.(type) {
	case rehab.Joined:
		return "put on the roster"
	case rehab.Sprained:
		return string(b.Side) + " ankle sprain"
	case rehab.Screened:
		return plural(len(b.Answers), "finding")
	case rehab.Lifted:
		return "hold lifted"
	case rehab.Tested:
		return join(" ", b.Test, b.Side.Short(), b.Choice, sayTrials(b.Trials), b.Absent)
	case rehab.Responded:
		return fmt.Sprintf("morning pain %d", b.Pain)
	case rehab.Decided:
		return string(b.Action)
	case rehab.Restricted:
		if b.Level == rehab.Full {
			return "available again"
		}
		return join(", ", string(b.Level), b.Cause, rehab.Prefixed("no ", strings.Join(b.Cannot, ", no ")))
	}
	return "note"
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
		Needs: rehab.Decide, Privacy: MedicalOnly,
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
		Needs: rehab.Decide, Privacy: MedicalOnly,
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
