package bot

import (
	"context"
	"errors"
	"fmt"

	"footing/commands"
	"footing/rehab"
	"footing/store"
)

const (
	maxButtons = 25 // of one message, as chat systems allow
	maxLabel   = 80 // letters on one button

	// undoFits is how many buttons a reply may have and still get one that takes its record back.
	undoFits = 4
	// itsOwn in place of a row marks a button whose line belongs to no message but is sent when it is pressed.
	itsOwn = -1
)

// buttons keeps each button's line until it is pressed. Those of one message are a group under the
// message's key.
func (w *work) buttons(ctx context.Context, l line, key string, list []commands.Button, subject rehab.Athlete) ([]Button, error) {
	var seq int64
	if subject.ID != 0 && len(list) > 0 {
		var err error
		if seq, err = w.version(ctx, subject.ID); err != nil {
			return nil, err
		}
	}
	return w.pending(ctx, list, store.Pending{
		Group: key, Place: string(l.place), Source: l.source, SourceRow: l.row, Athlete: subject.ID, Seq: seq, AskedOf: w.actor.ID, Asked: l.at,
		Expires: w.in.Sent.Add(questionLife),
	})
}

// pending keeps the buttons of one message; all is what they have in common.
func (w *work) pending(ctx context.Context, list []commands.Button, all store.Pending) ([]Button, error) {
	var out []Button
	for _, b := range list[:min(len(list), maxButtons)] {
		p := all
		p.Token, p.Label, p.Line, p.Confirmed, p.Strict = token(), short(b.Label), b.Line, b.Confirmed, b.Strict
		if b.About != 0 {
			p.Athlete = b.About
		}
		if b.Own || b.Strict {
			p.SourceRow = itsOwn
		}
		if !b.Until.IsZero() {
			p.Expires = b.Until
		}
		if b.File {
			p.File = string(w.in.File)
		}
		if err := w.tx.PutPending(ctx, p); err != nil {
			return nil, err
		}
		out = append(out, Button{Label: p.Label, Token: p.Token, Style: b.Style})
	}
	return out, nil
}

// short cuts a label to what fits on a button.
func short(label string) string {
	if letters := []rune(label); len(letters) > maxLabel {
		return string(letters[:maxLabel-1]) + "…"
	}
	return label
}

// shown finds the message that a group of buttons was on, zero when there is no group or it is not known
// to have been said.
func (w *work) shown(ctx context.Context, group string) (Shown, error) {
	if group == "" {
		return Shown{}, nil
	}
	id, destination, err := w.tx.SentAs(ctx, group)
	if errors.Is(err, store.ErrNotFound) || id == "" {
		return Shown{}, nil
	}
	place := Place(destination)
	return Shown{ID: id, Place: place, Channel: channel(place, w.team.Rooms)}, err
}

// withUndo adds a button that takes back what a line just recorded, where medical staff read the reply.
// A message of several lines has none: it would take back all of them.
func (w *work) withUndo(ctx context.Context, l line, r *commands.Reply) error {
	if !commands.Undoable(*r) || !w.medicalEyes(l.place) || len(r.Buttons) > undoFits {
		return nil
	}
	lines := l.first
	if lines == 0 {
		m, err := w.tx.Message(ctx, l.source)
		if err != nil && !errors.Is(err, store.ErrNotFound) { // what a button recorded is no message's
			return err
		}
		lines = m.Lines
	}
	if lines < 2 {
		r.Buttons = append(r.Buttons, commands.UndoButton(l.source))
	}
	return nil
}

// pressed answers a question. Everything is checked again as it is now; the original time stays.
func (w *work) pressed(ctx context.Context) error {
	p, err := w.tx.Pending(ctx, w.in.Token)
	l := line{key: w.in.event() + "/0", place: w.in.Place, at: w.in.Sent, source: w.in.event()}
	looks := err == nil && !p.Confirmed && w.b.registry.Looks(p.Line)
	no := func(says string) error {
		return w.refused(ctx, l, &commands.Refusal{Says: says}, rehab.Athlete{})
	}
	switch {
	case errors.Is(err, store.ErrNotFound):
		return no(saidNoButton)
	case err != nil:
		return err
	case !p.Anyone && !looks && w.actor.ID != p.AskedOf && !rehab.May(w.actor.Roles, rehab.Decide):
		return no("That question is for someone else.")
	case !p.Used.IsZero():
		l.answered = p.Group
		return no(saidAnswered + w.elseWrong())
	case w.in.Sent.After(p.Expires):
		l.answered = p.Group
		return no(saidExpired + w.elseWrong())
	}
	w.takes(&l, p, looks)
	if err := w.adopt(ctx, p); err != nil {
		return err
	}
	if p.Strict && p.Athlete != 0 {
		version, err := w.version(ctx, p.Athlete)
		if err != nil {
			return err
		}
		if version != p.Seq {
			return w.staleCard(ctx, l, p)
		}
	}
	_, err = w.carryOut(ctx, l)
	return err
}

// takes makes a button's line the one to carry out, in its place: as the line it belongs to, or as one of its own.
// Where only whoever presses reads the answer, as in a medical room that is no longer private, it is said to them.
func (w *work) takes(l *line, p store.Pending, looks bool) {
	l.text, l.confirmed, l.use, l.place, l.about = p.Line, p.Confirmed, p.Group, Place(p.Place), p.Athlete
	if _, alone := w.in.Place.Alone(); alone {
		l.place = w.in.Place
	}
	if p.File != "" {
		w.in.File = []byte(p.File)
	}
	switch {
	case looks: // whoever may, as often as they like
		l.use, l.place = "", w.in.Place
	case p.Anyone: // each presser for themselves, where only they read the answer
		if _, direct := w.in.Place.Direct(); !direct {
			w.in.Place = OnlyTo(w.in.Author)
		}
		l.use, l.place = "", w.in.Place
	case !p.Strict && p.SourceRow != itsOwn:
		l.source, l.row, l.at = p.Source, p.SourceRow, p.Asked
	}
}

// adopt remembers the message of a question that was asked before its team was known, so that an edit of
// it finds what it recorded.
func (w *work) adopt(ctx context.Context, p store.Pending) error {
	if _, direct := Place(p.Place).Direct(); !direct || p.Strict || p.Anyone || p.SourceRow == itsOwn {
		return nil
	}
	if _, err := w.tx.Message(ctx, p.Source); !errors.Is(err, store.ErrNotFound) {
		return err
	}
	return w.tx.PutMessage(ctx, store.Message{Key: p.Source, Author: p.AskedOf, Place: p.Place, Sent: p.Asked, Lines: 1})
}

// elseWrong reminds an athlete whose button is dead of what they can always type: it may have been the
// one that calls for help.
func (w *work) elseWrong() string {
	if w.actor.Athlete == 0 || !w.own(w.in.Place) {
		return ""
	}
	return " Something is wrong? Type: " + commands.Wrong.Name
}

// use uses up the question that a line answers. It is false when it was answered before.
func (w *work) use(ctx context.Context, l *line) (bool, error) {
	if l.use == "" {
		return true, nil
	}
	l.answered = l.use
	return w.tx.UsePending(ctx, l.use)
}

// version counts what ever happened to an athlete's log: entries, and entries taken back.
func (w *work) version(ctx context.Context, athlete int64) (int64, error) {
	if _, err := w.tx.Lock(ctx, athlete); err != nil {
		return 0, err
	}
	return w.tx.Version(ctx, athlete)
}

// staleCard says that things changed since a card was shown, and shows it, or asks, as it is now.
func (w *work) staleCard(ctx context.Context, l line, p store.Pending) error {
	if _, err := w.use(ctx, &l); err != nil {
		return err
	}
	roster, err := w.tx.Athletes(ctx)
	if err != nil {
		return err
	}
	l.confirmed, l.use, l.prefix = false, "", "Something changed since that card; nothing was decided. "
	for _, a := range roster {
		if a.ID == p.Athlete && !p.Confirmed {
			l.text = fmt.Sprintf("ready %d", a.Shirt)
		}
	}
	_, err = w.carryOut(ctx, l)
	return err
}

// asButtons turns a question about a line into buttons that carry the answered line.
func asButtons(err error) error {
	var q *commands.Question
	if !errors.As(err, &q) {
		return err
	}
	refusal := &commands.Refusal{Says: q.Asks}
	for _, o := range q.Options {
		refusal.Buttons = append(refusal.Buttons, commands.Button{Label: o.Label, Line: o.Line, About: o.Athlete})
	}
	return refusal
}
