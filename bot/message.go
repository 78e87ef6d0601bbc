package bot

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"footing/commands"
	"footing/rehab"
	"footing/store"
)

// created carries a new message out, unless its edit or its deletion came first.
func (w *work) created(ctx context.Context) error {
	m, err := w.tx.Message(ctx, w.in.Message)
	switch {
	case errors.Is(err, store.ErrNotFound):
		return w.message(ctx)
	case err != nil:
		return err
	case !m.Edited.IsZero():
		return nil // its edit came first and says what it says now
	}
	if err := w.message(ctx); err != nil || m.Deleted.IsZero() {
		return err
	}
	return w.askDeleted(ctx) // its deletion came first
}

// unfit says why a text cannot be taken at all, "" when it can.
func unfit(text string) string {
	switch {
	case !utf8.ValidString(text) || strings.ContainsRune(text, 0):
		return saidBadText
	case len(text) > maxBytes || strings.Count(text, "\n") >= maxLines:
		return saidTooMany
	}
	return ""
}

// message carries out each line of a message. The good lines are kept, each is answered.
func (w *work) message(ctx context.Context) error {
	if says := unfit(w.in.Text); says != "" {
		return w.refuse(ctx, says)
	}
	rows := strings.Split(w.in.Text, "\n")
	if w.in.Command != "" {
		rows = []string{w.in.Command}
	}
	if err := w.tx.PutMessage(ctx, store.Message{Key: w.in.Message, Author: w.actor.ID, Place: string(w.in.Place), Sent: w.in.Sent, Lines: len(rows)}); err != nil {
		return err
	}
	if err := w.lockAll(ctx, rows); err != nil {
		return err
	}
	for i, text := range rows {
		if strings.TrimSpace(text) == "" {
			continue
		}
		l := line{text: text, options: w.in.Options, named: w.in.Command != "", source: w.in.Message, row: i, at: w.in.Sent, key: fmt.Sprintf("%s/%d", w.in.event(), i), place: w.in.Place, first: len(rows)}
		if _, err := w.carryOut(ctx, l); err != nil {
			return err
		}
	}
	return nil
}

// lockAll takes every athlete of a message of several lines in one order, so that two such messages
// do not wait for each other.
func (w *work) lockAll(ctx context.Context, rows []string) error {
	if len(rows) < 2 {
		return nil
	}
	var ids []int64
	for _, text := range rows {
		call, err := w.b.registry.Parse(text, w.lang)
		if err != nil {
			continue
		}
		about, err := w.about(ctx, call)
		if err != nil {
			return err
		}
		ids = append(ids, about...)
	}
	_, err := w.tx.Lock(ctx, slices.DeleteFunc(ids, func(id int64) bool { return id == 0 })...)
	return err
}

// about is whose records a call reads and adds to: its athletes, or the squad as a whole.
func (w *work) about(ctx context.Context, call *commands.Call) ([]int64, error) {
	var ids []int64
	for _, a := range call.Athletes() {
		ids = append(ids, a.ID)
	}
	if !call.Command.Squad {
		return ids, nil
	}
	squad, err := w.tx.Squad(ctx)
	return append(ids, squad.ID), err
}

func (w *work) refuse(ctx context.Context, says string) error {
	return w.reply(ctx, line{key: w.in.event() + "/0", place: w.in.Place}, commands.Reply{Lines: []string{says}}, rehab.Athlete{})
}
