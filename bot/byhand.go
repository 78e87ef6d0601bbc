package bot

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"footing/commands"
	"footing/rehab"
	"footing/store"
)

// ByHand asks for what a team's day has to be written now, whatever its time.
type ByHand struct {
	Team   string    // the chat side's key, or the name
	Date   time.Time // local day, as a UTC date; zero for today's
	Report bool      // the morning report alone; else everything but it
	DryRun bool      // nothing is written
}

// Written is one thing of a day and what became of it.
type Written struct {
	What    string
	To      string // a room, or an athlete
	Due     time.Time
	Outcome string // sent, none, or why it was left alone
}

// errDry takes back what a dry run wrote.
var errDry = errors.New("a dry run writes nothing")

// WriteByHand writes what a team's day has, as the clock would, and tells what became of each. What
// happened or was missed stays as it is, and what is past its grace is not written: so it may be run beside
// a serving process. The error names the teams where none is meant.
func (b *Bot) WriteByHand(ctx context.Context, ask ByHand) ([]Written, error) {
	var out []Written
	err := b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error {
		team, err := teamCalled(ctx, tx, ask.Team)
		if err != nil {
			return err
		}
		if err := tx.Enter(ctx, team.ID); err != nil {
			return err
		}
		if err := tx.LockSquad(ctx); err != nil {
			return err
		}
		found, _, err := tx.Look(ctx)
		if err != nil {
			return err
		}
		l, err := b.newLook(ctx, tx, found)
		if err != nil {
			return err
		}
		if out, err = l.byHand(ctx, ask); err != nil {
			return err
		}
		if l.failed != nil {
			return l.failed
		}
		if ask.DryRun {
			return errDry
		}
		return nil
	})
	if errors.Is(err, errDry) {
		err = nil
	}
	return out, err
}

// byHand writes what a day has.
func (l *look) byHand(ctx context.Context, ask ByHand) ([]Written, error) {
	day := ask.Date
	if day.IsZero() {
		y, m, d := l.env.Now.Date()
		day = time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	}
	who, err := commands.Receivers(ctx, l.env, l.habits)
	if err != nil {
		return nil, err
	}
	roster, err := l.env.Records.Athletes(ctx)
	if err != nil {
		return nil, err
	}
	done, err := l.tx.Occurrences(ctx, day.Format(time.DateOnly))
	if err != nil {
		return nil, err
	}
	var out []Written
	for _, s := range rehab.Slots(l.habits, l.cal, who, day, l.zone) {
		if ask.Report != (s.What == rehab.MorningReport) {
			continue
		}
		w := Written{What: s.What, To: receiver(s, roster), Due: s.At.In(l.zone)}
		switch was := done[occurrence(s)]; {
		case was != "":
			w.Outcome = "left alone: " + was + " already"
		case l.tx.Now().After(s.Until):
			w.Outcome = "left alone: too late"
		case s.At.Sub(l.tx.Now()) > ahead:
			w.Outcome = "left alone: not of today"
		default:
			if w.Outcome, err = l.do(ctx, s); err != nil {
				return nil, err
			}
		}
		out = append(out, w)
	}
	return out, nil
}

// ahead is how long before its time something may be written by hand.
const ahead = 24 * time.Hour

func receiver(s rehab.Slot, roster []rehab.Athlete) string {
	switch {
	case s.What == rehab.MorningReport:
		return "the staff room"
	case s.Athlete == 0:
		return "the medical room"
	}
	for _, a := range roster {
		if a.ID == s.Athlete {
			return fmt.Sprintf("shirt %d", a.Shirt)
		}
	}
	return "an athlete"
}

// teamCalled finds a team by key or name.
func teamCalled(ctx context.Context, tx *store.Tx, name string) (rehab.Team, error) {
	teams, err := tx.Teams(ctx)
	if err != nil {
		return rehab.Team{}, err
	}
	var found []rehab.Team
	var names []string
	for _, t := range teams {
		if t.Key == name {
			return t, nil
		}
		if strings.EqualFold(t.Name, name) {
			found = append(found, t)
		}
		names = append(names, fmt.Sprintf("%s (%s)", t.Name, t.Key))
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return rehab.Team{}, fmt.Errorf("there is no team %q; there is: %s", name, strings.Join(names, ", "))
	}
	return rehab.Team{}, fmt.Errorf("several teams are called %q: give the key instead: %s", name, strings.Join(names, ", "))
}
