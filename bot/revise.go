package bot

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"footing/commands"
	"footing/rehab"
	"footing/store"
)

// edited reads a message again. What each line recorded before is replaced by what it says now; a
// line that is no longer understood keeps its earlier record, and that is said.
func (w *work) edited(ctx context.Context) error {
	if strings.TrimSpace(w.in.Text) == "" {
		return nil // a chat side that lost the text: never an edit
	}
	m, err := w.tx.Message(ctx, w.in.Message)
	switch {
	case errors.Is(err, store.ErrNotFound): // never seen unedited: it is news
		if err := w.message(ctx); err != nil {
			return err
		}
		_, err := w.tx.Revise(ctx, w.in.Message, w.in.Sent)
		return err
	case err != nil:
		return err
	case m.Author != w.actor.ID:
		return nil // only its author can edit a message; anything else is not an edit
	}
	if newer, err := w.tx.Revise(ctx, w.in.Message, w.in.Sent); err != nil || !newer {
		return err
	}
	if err := w.tx.DropPending(ctx, w.in.Message); err != nil {
		return err
	}
	before, err := w.tx.SourceEntries(ctx, w.in.Message)
	if err != nil {
		return err
	}
	w.touch(before)
	had := map[int]bool{}
	for _, e := range before {
		had[e.Line] = true
	}
	rows := strings.Split(w.in.Text, "\n")
	if says := unfit(w.in.Text); says != "" {
		return w.refuse(ctx, says+" What it recorded before still stands.")
	}
	if len(had) > 1 && m.Lines > 0 && len(rows) != m.Lines {
		return w.refuse(ctx, "I cannot tell which line is which: keep the number of lines (empty one to take it back). What it recorded before still stands.")
	}
	for i, text := range rows {
		if strings.TrimSpace(text) == "" {
			continue
		}
		l := line{text: text, source: m.Key, row: i, at: m.Sent, key: fmt.Sprintf("%s/%d", w.in.event(), i), place: w.in.Place, prefix: "Edited. ", edit: true}
		ok, err := w.carryOut(ctx, l)
		if err != nil {
			return err
		}
		if !ok && had[i] {
			l.key, l.prefix = l.key+"/kept", ""
			if err := w.reply(ctx, l, commands.Reply{Lines: []string{"What that line recorded before still stands."}}, rehab.Athlete{}); err != nil {
				return err
			}
		}
		delete(had, i)
	}
	return w.dropLines(ctx, m.Key, had)
}

// dropLines takes back what lines recorded that the edit removed.
func (w *work) dropLines(ctx context.Context, source string, gone map[int]bool) error {
	if len(gone) == 0 {
		return nil
	}
	l := line{key: w.in.event() + "/gone", place: w.in.Place}
	entries, err := w.tx.SourceEntries(ctx, source)
	if err != nil {
		return err
	}
	taken := slices.DeleteFunc(slices.Clone(entries), func(e rehab.Entry) bool { return !gone[e.Line] })
	before, err := commands.Before(ctx, w.tx, taken)
	for _, e := range taken {
		others, read := w.tx.Entries(ctx, e.Athlete)
		if err == nil {
			err = read
		}
		if err == nil {
			err = w.mayRestate([]rehab.Entry{e}, nil, others)
		}
	}
	var no *commands.Refusal
	if errors.As(err, &no) {
		return w.refused(ctx, l, &commands.Refusal{Says: no.Says + " What the lines taken out had recorded still stands."}, rehab.Athlete{})
	}
	if err != nil {
		return err
	}
	if err := w.restore(ctx, before); err != nil {
		return err
	}
	for row := range gone {
		if err := w.tx.Supersede(ctx, source, row); err != nil {
			return err
		}
	}
	return w.reply(ctx, l, commands.Reply{Lines: []string{fmt.Sprintf("Edited. Lines taken out: %d; what they recorded no longer counts.", len(gone))}}, rehab.Athlete{})
}

// deleted flags the record of a deleted message and asks medical staff: anyone may have deleted it.
func (w *work) deleted(ctx context.Context) error {
	if _, err := w.tx.Message(ctx, w.in.Message); errors.Is(err, store.ErrNotFound) {
		// It came before the message itself: remember it, and ask when the message is read.
		if err := w.tx.PutMessage(ctx, store.Message{Key: w.in.Message, Author: w.actor.ID, Place: string(w.in.Place), Sent: w.in.Sent}); err != nil {
			return err
		}
	} else if err != nil {
		return err
	}
	if err := w.tx.Flag(ctx, w.in.Message); err != nil {
		return err
	}
	return w.askDeleted(ctx)
}

// askDeleted asks medical staff about the record of the deleted message, if there is one.
func (w *work) askDeleted(ctx context.Context) error {
	entries, err := w.tx.SourceEntries(ctx, w.in.Message)
	entries = slices.DeleteFunc(entries, func(e rehab.Entry) bool { return e.Body.Kind() == rehab.KindConfigured }) // not theirs to decide
	if err != nil || len(entries) == 0 {
		return err
	}
	if err := w.readRoster(ctx); err != nil {
		return err
	}
	l := line{source: "deleted/" + w.in.Message, at: w.in.Sent, key: w.in.event() + "/deleted", place: MedicalRoom}
	reply, err := commands.Deleted(ctx, w.env(ctx, l), w.in.Message, entries)
	if err != nil {
		return err
	}
	return w.reply(ctx, l, reply, rehab.Athlete{})
}
