package bot

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"footing/commands"
	"footing/rehab"
	"footing/store"
)

// Grace is how late a report may still go out. Later it is recorded as missed and told to staff.
const Grace = 2 * time.Hour

// lookBack is how many past days are searched for reports that never went out.
const lookBack = 3

// occasion is one scheduled thing of one team on one local day.
type occasion struct {
	team rehab.Team
	date time.Time // local midnight, as a UTC date
	at   time.Time
}

// reportTime is when a team's report is due on a local date.
func reportTime(t rehab.Team, date time.Time, zone *time.Location) time.Time {
	clock, err := time.Parse("15:04", t.ReportAt)
	if err != nil {
		return time.Time{}
	}
	return rehab.LocalTime(date, clock.Hour(), clock.Minute(), zone)
}

// due lists a team's report times that have come, oldest first: today's and those of the last days,
// never from before the report time was chosen. A team that is not set up, or whose server the bot was
// removed from, has none.
func due(t rehab.Team, now time.Time) []occasion {
	if !t.Ready || !t.Gone.IsZero() {
		return nil
	}
	from := t.ReportFrom
	if from.IsZero() {
		from = t.Created // set up before that was kept
	}
	zone, err := time.LoadLocation(t.Zone)
	if err != nil {
		return nil
	}
	var out []occasion
	local := now.In(zone)
	for back := lookBack; back >= 0; back-- {
		date := time.Date(local.Year(), local.Month(), local.Day()-back, 0, 0, 0, 0, time.UTC)
		if at := reportTime(t, date, zone); !at.After(now) && !at.Before(from) {
			out = append(out, occasion{t, date, at})
		}
	}
	return out
}

// Next is the first moment after now at which something falls due for a team.
func Next(t rehab.Team, now time.Time) time.Time {
	zone, err := time.LoadLocation(t.Zone)
	if err != nil {
		return time.Time{}
	}
	local := now.In(zone)
	for ahead := 0; ; ahead++ {
		date := time.Date(local.Year(), local.Month(), local.Day()+ahead, 0, 0, 0, 0, time.UTC)
		if at := reportTime(t, date, zone); at.After(now) {
			return at
		}
	}
}

// Tick does what is due now and sends what waits, until nothing can be sent any more.
func (b *Bot) Tick(ctx context.Context) error {
	return errors.Join(b.Schedule(ctx), b.Drain(ctx))
}

// Schedule writes the reports whose time has come; Deliver sends them. It may be called at any time and
// any number of times; each report is written once.
func (b *Bot) Schedule(ctx context.Context) error {
	var teams []rehab.Team
	now := b.Clock()
	err := b.Store.Do(ctx, now, func(tx *store.Tx) (err error) {
		teams, err = tx.Teams(ctx)
		return err
	})
	if err != nil {
		return fmt.Errorf("looking for what is due: %w", err)
	}
	var failed []error // one team's trouble keeps no other team from its report
	for _, t := range teams {
		if !t.Ready || !t.Gone.IsZero() {
			continue
		}
		for _, o := range due(t, now) {
			report := func(tx *store.Tx) error { return b.report(ctx, tx, o, now) }
			if err := b.guard("clock", func() error { return b.Store.Do(ctx, now, report) }); err != nil {
				failed = append(failed, fmt.Errorf("writing the report of team %d: %w", t.ID, err))
			}
		}
	}
	b.bell.ring()
	return errors.Join(failed...)
}

// report writes one morning report, or records that it was missed, once.
func (b *Bot) report(ctx context.Context, tx *store.Tx, o occasion, now time.Time) error {
	if err := tx.Enter(ctx, o.team.ID); err != nil {
		return err
	}
	date := o.date.Format(time.DateOnly)
	outcome := "sent"
	if now.Sub(o.at) > Grace {
		outcome = "missed"
	}
	// A day before one already dealt with is no longer due: a team that moves west would else be told
	// that it missed a report it had.
	if latest, err := tx.LatestOccurrence(ctx, "report"); err != nil || date <= latest {
		return err
	}
	if first, err := tx.Occur(ctx, "report", date, outcome); err != nil || !first {
		return err
	}
	tx.Then(func() { b.Meter.Occurred("report", outcome) })
	if err := tx.ForgetExpired(ctx); err != nil {
		return err
	}
	zone, err := time.LoadLocation(o.team.Zone)
	if err != nil {
		return fmt.Errorf("loading the team's zone: %w", err)
	}
	text := []string{fmt.Sprintf("The morning report of %s did not go out in time. Type report for the state now.", o.date.Format("Mon 2 Jan"))}
	if outcome == "sent" {
		if err := lockSquad(ctx, tx); err != nil {
			return err
		}
		v, err := b.vocabulary(ctx, tx, o.team.Protocol)
		if err != nil {
			return err
		}
		var failed error
		env := &commands.Env{Team: o.team, Now: now.In(zone), Records: tx, Protocol: v.Protocol, Book: b.book(ctx, tx, &failed)}
		var told map[int64]rehab.Availability
		if text, told, err = commands.Availability(ctx, env); err != nil {
			return err
		}
		if failed != nil {
			return failed
		}
		if err := tx.PutTold(ctx, date, told); err != nil {
			return err
		}
	}
	return b.post(ctx, tx, o, outcome, date, strings.Join(text, "\n"))
}

// lockSquad makes whoever records something of an athlete meanwhile either be in the report or see that
// it was told, and correct it.
func lockSquad(ctx context.Context, tx *store.Tx) error {
	roster, err := tx.Athletes(ctx)
	if err != nil {
		return err
	}
	ids := make([]int64, len(roster))
	for i, a := range roster {
		ids[i] = a.ID
	}
	_, err = tx.Lock(ctx, ids...)
	return err
}

func (b *Bot) post(ctx context.Context, tx *store.Tx, o occasion, outcome, date, text string) error {
	for i, part := range split(text) {
		m, err := json.Marshal(body{Text: part, Channel: channel(StaffRoom, o.team.Rooms)})
		if err != nil {
			return fmt.Errorf("encoding a report: %w", err)
		}
		if _, err := tx.Enqueue(ctx, store.Outgoing{
			Team: o.team.ID, TeamKey: o.team.Key, Destination: string(StaffRoom), Kind: "report",
			Key: fmt.Sprintf("report/%d/%s/%s.%d", o.team.ID, date, outcome, i), Body: string(m), Due: tx.Now(), Expires: tx.Now().Add(Grace),
		}); err != nil {
			return err
		}
	}
	return nil
}
