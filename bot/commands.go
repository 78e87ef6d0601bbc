package bot

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"footing/commands"
	"footing/store"
)

// Listed is a command as a front offers it by named options.
type Listed struct {
	Name    string
	Summary string
	Privacy commands.Privacy
	Options []commands.NamedOption
}

// Commands lists every command that people type, in the order help lists them. The list is shared: it is only read.
func (b *Bot) Commands() []Listed { return b.listed }

func listed(reg *commands.Registry) (out []Listed) {
	for _, c := range reg.Commands() {
		if slices.Contains([]*commands.Command{commands.Keep, commands.Drop, commands.UndoMessage, commands.NotThem}, c) {
			continue // only ever pressed
		}
		out = append(out, Listed{c.Name, c.Summary, c.Privacy, reg.Options(c.Name)})
	}
	return out
}

// Complete suggests values for an option of a command while it is typed, of what whoever types may see.
// in is the event as for a message. Nothing is suggested to whoever may not use the command.
func (b *Bot) Complete(ctx context.Context, in Inbound, option, typed string) (list []commands.Suggestion, err error) {
	w := &work{b: b, in: in}
	err = b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error {
		list, w.tx, w.in = nil, tx, in
		if known, err := w.home(ctx); err != nil || !known {
			return err
		}
		if err := w.enter(ctx); err != nil {
			return err
		}
		if err := w.readRoster(ctx); err != nil {
			return err
		}
		i := slices.IndexFunc(b.registry.Commands(), func(c *commands.Command) bool { return c.Name == in.Command })
		if i < 0 || w.may(b.registry.Commands()[i], w.in.Place) != nil {
			return nil
		}
		w.narrow()
		w.lang.Self = w.self(line{place: w.in.Place})
		list = b.registry.Complete(in.Command, option, typed, w.lang)
		return nil
	})
	if errors.Is(err, errNoTeam) || errors.Is(err, errStranger) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("suggesting: %w", err)
	}
	return list, nil
}
