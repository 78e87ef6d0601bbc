package bot

import (
	"context"
	"errors"
	"fmt"
	"time"

	"footing/commands"
	"footing/rehab"
	"footing/store"
)

// What became of something that was due.
const (
	wasSent   = "sent"
	wasMissed = "missed"
	wasVoid   = "none" // there was nothing to say
)

// Occurrences lists what can become of something that was due.
var Occurrences = []string{wasSent, wasMissed, wasVoid}

// Tick does what is due now and sends what waits, until nothing can be sent any more.
func (b *Bot) Tick(ctx context.Context) error {
	return errors.Join(b.Schedule(ctx), b.Drain(ctx))
}

// Schedule writes what has come due; Deliver sends it. It may be called at any time, any number of times and
// by any number of processes; everything is written once.
func (b *Bot) Schedule(ctx context.Context) error {
	var teams []int64
	err := b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) (err error) {
		teams, err = tx.Looks(ctx)
		return err
	})
	if err != nil {
		return fmt.Errorf("looking for what is due: %w", err)
	}
	var failed []error // one team's trouble keeps no other team from its own
	for _, id := range teams {
		if err := b.guard("clock", func() error { return b.lookAt(ctx, id) }); err != nil {
			failed = append(failed, fmt.Errorf("writing what is due in team %d: %w", id, err))
		}
	}
	if err := b.tidy(ctx); err != nil {
		failed = append(failed, err)
	}
	b.bell.ring()
	return errors.Join(failed...)
}

// tidy forgets once a day what nobody asks for any more.
func (b *Bot) tidy(ctx context.Context) error {
	now := b.Clock()
	today := now.Unix() / int64(24*time.Hour/time.Second)
	if b.tidied.Swap(today) == today {
		return nil
	}
	if err := b.Store.ForgetEvents(ctx, now); err != nil {
		return fmt.Errorf("forgetting old events: %w", err)
	}
	return nil
}

// Next is when a team's schedule is to be looked at again. store.ErrNotFound when there is no such team.
func (b *Bot) Next(ctx context.Context, team string) (next time.Time, err error) {
	err = b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error {
		next, err = tx.NextLook(ctx, team)
		return err
	})
	return next, err
}

// lookAt writes all that is due in one team, in one transaction.
func (b *Bot) lookAt(ctx context.Context, team int64) error {
	now := b.Clock()
	return b.Store.Do(ctx, now, func(tx *store.Tx) error {
		if err := tx.Enter(ctx, team); err != nil {
			return err
		}
		if err := tx.LockSquad(ctx); err != nil {
			return err
		}
		found, due, err := tx.Look(ctx)
		if err != nil || !due {
			return err
		}
		l, err := b.newLook(ctx, tx, found)
		if err != nil {
			return err
		}
		if err := l.run(ctx); err != nil {
			return err
		}
		if l.failed != nil {
			return l.failed
		}
		return tx.Looked(ctx, l.next)
	})
}

// look is one look at a team's schedule.
type look struct {
	*work
	env    *commands.Env
	habits rehab.Habits
	cal    rehab.Calendar
	since  time.Time // what came due after it is to be done
	next   time.Time
	missed []rehab.Slot
}

func (b *Bot) newLook(ctx context.Context, tx *store.Tx, found store.Look) (*look, error) {
	zone, err := time.LoadLocation(found.Team.Zone)
	if err != nil {
		return nil, fmt.Errorf("loading the team's zone: %w", err)
	}
	now := tx.Now()
	w := &work{b: b, tx: tx, team: found.Team, zone: zone, in: Inbound{Sent: now, Team: found.Team.Key}}
	v, err := b.vocabulary(ctx, tx, found.Team.Protocol)
	if err != nil {
		return nil, err
	}
	l := &look{work: w, since: found.Planned.Add(-1)}
	l.env = &commands.Env{
		Team: found.Team, Now: now.In(zone), Told: now.In(zone), Records: &remembered{Tx: tx}, Protocol: v.Protocol, Book: b.book(ctx, tx, &w.failed), Registry: b.registry,
	}
	squad, err := l.env.Records.SquadEntries(ctx)
	if err != nil {
		return nil, err
	}
	if l.habits, err = rehab.TeamHabits(found.Team, squad); err != nil {
		return nil, err
	}
	l.cal = rehab.FoldCalendar(squad)
	if from := found.Team.ReportFrom; l.since.Before(from) { // an earlier time of that day is not made up for
		l.since = from
	}
	if l.since.After(now) { // something was recorded, or the clock went back: what comes late by that is not made up for
		l.since = now
	}
	return l, nil
}

// run does what is due and finds when to look again.
func (l *look) run(ctx context.Context) error {
	if err := l.tx.ForgetExpired(ctx); err != nil {
		return err
	}
	who, err := commands.Receivers(ctx, l.env, l.habits)
	if err != nil {
		return err
	}
	due, next := rehab.Agenda(l.since, l.tx.Now(), l.zone, func(day time.Time) []rehab.Slot {
		return rehab.Slots(l.habits, l.cal, who, day, l.zone)
	})
	l.next = next
	done := map[time.Time]map[string]string{}
	for _, s := range due {
		if done[s.Day] == nil {
			if done[s.Day], err = l.tx.Occurrences(ctx, s.Day.Format(time.DateOnly)); err != nil {
				return err
			}
		}
		if done[s.Day][occurrence(s)] != "" {
			continue
		}
		if _, err := l.do(ctx, s); err != nil {
			return err
		}
	}
	return l.tellMissed(ctx)
}

// occurrence is what a slot is called among those of its day.
func occurrence(s rehab.Slot) string {
	if s.Athlete == 0 {
		return s.What
	}
	return fmt.Sprintf("%s %d", s.What, s.Athlete)
}

// do says what a slot is for, or notes that it was missed, and that it happened; it gives what became of it.
func (l *look) do(ctx context.Context, s rehab.Slot) (outcome string, err error) {
	outcome = wasMissed
	if !l.tx.Now().After(s.Until) {
		said, err := l.say(ctx, s)
		if err != nil {
			return "", err
		}
		outcome = wasVoid
		if said {
			outcome = wasSent
		}
	} else {
		l.missed = append(l.missed, s)
	}
	l.tx.Then(func() { l.b.Meter.Occurred(s.What, outcome) })
	_, err = l.tx.Occur(ctx, occurrence(s), s.Day.Format(time.DateOnly), outcome)
	return outcome, err
}

// remembered reads each thing of a team once in a look.
type remembered struct {
	*store.Tx
	roster   []rehab.Athlete
	entries  map[int64][]rehab.Entry
	accounts map[int64]rehab.Member
}

// Athletes implements commands.Records.
func (r *remembered) Athletes(ctx context.Context) (_ []rehab.Athlete, err error) {
	if r.roster == nil {
		r.roster, err = r.Tx.Athletes(ctx)
	}
	return r.roster, err
}

// TeamEntries implements commands.Records.
func (r *remembered) TeamEntries(ctx context.Context) (_ map[int64][]rehab.Entry, err error) {
	if r.entries == nil {
		r.entries, err = r.Tx.TeamEntries(ctx)
	}
	return r.entries, err
}

// Entries implements commands.Records.
func (r *remembered) Entries(ctx context.Context, athlete int64) ([]rehab.Entry, error) {
	all, err := r.TeamEntries(ctx)
	return all[athlete], err
}

// Accounts implements commands.Records.
func (r *remembered) Accounts(ctx context.Context) (_ map[int64]rehab.Member, err error) {
	if r.accounts == nil {
		r.accounts, err = r.Tx.Accounts(ctx)
	}
	return r.accounts, err
}
