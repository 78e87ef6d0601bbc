package bot

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"footing/rehab"
	"footing/store"
)

const (
	// Dead letters are collected for a minute before they are told, and told once an hour at most: a storm of
	// them makes one notice.
	collectFor = time.Minute
	noticeHour = "2006-01-02T15"
	// mostNames is how many places one line of a notice lists.
	mostNames = 10
)

// undelivered says in plain words why a message was given up, by the word kept with it: first of someone's
// direct messages, then of a channel.
var undelivered = map[string][2]string{
	"closed":     {"their direct messages are closed. Ask them to open them.", "I cannot write there."},
	"gone":       {"the account is gone. Tell them yourself.", "the channel is gone. Set up another."},
	"forbidden":  {"I may not write to them. Tell them yourself.", "I may not write there. Let me, or set up another channel."},
	"refused":    {"it was refused. Tell them yourself.", "it was refused."},
	"expired":    {"it would have come too late.", "it would have come too late."},
	"tried":      {"it failed too often. Tell them yourself.", "it failed too often."},
	"unreadable": {"it was damaged in storage.", "it was damaged in storage."},
}

// errTold rolls back a notice in an hour that had one: what was given up since waits for the next.
var errTold = errors.New("a notice went out this hour")

// tellUndelivered tells each team's medical staff once what could not be delivered, without its text.
func (b *Bot) tellUndelivered(ctx context.Context) (told bool, err error) {
	now := b.Clock()
	teams, err := b.Store.TeamsWithDeadLetters(ctx, now.Add(-collectFor))
	if err != nil {
		return false, err
	}
	var failed []error
	for _, id := range teams {
		err := b.Store.Do(ctx, now, func(tx *store.Tx) error { return b.notice(ctx, tx, id) })
		switch {
		case err == nil:
			told = true
		case !errors.Is(err, errTold):
			failed = append(failed, fmt.Errorf("telling team %d of dead letters: %w", id, err))
		}
	}
	return told, errors.Join(failed...)
}

func (b *Bot) notice(ctx context.Context, tx *store.Tx, team int64) error {
	if err := tx.Enter(ctx, team); err != nil {
		return err
	}
	t, err := tx.TeamByID(ctx, team)
	if err != nil {
		return err
	}
	roster, err := tx.Athletes(ctx)
	if err != nil {
		return err
	}
	dead, err := tx.DeadLetters(ctx)
	if err != nil || len(dead) == 0 || !t.Gone.IsZero() {
		return err // of a server that the bot had to leave nobody can be told
	}
	o, err := outgoing(t, MedicalRoom, "notice", fmt.Sprintf("undelivered/%d/%s", t.ID, tx.Now().Format(noticeHour)), body{Text: undeliveredText(dead, roster)})
	if err != nil {
		return err
	}
	o.Due = tx.Now()
	o, err = tx.Enqueue(ctx, o)
	if err == nil && o.ID == 0 {
		return errTold
	}
	return err
}

// undeliveredText is a line for each reason, with the places it holds for.
func undeliveredText(dead []store.DeadLetter, roster []rehab.Athlete) string {
	var reasons []string
	to := map[string][]string{}
	for _, d := range dead {
		name, reason := recipient(d, roster)
		if !slices.Contains(reasons, reason) {
			reasons = append(reasons, reason)
		}
		if !slices.Contains(to[reason], name) {
			to[reason] = append(to[reason], name)
		}
	}
	if len(reasons) == 1 && len(to[reasons[0]]) == 1 {
		what := "A message to " + to[reasons[0]][0]
		if len(dead) > 1 {
			what = fmt.Sprintf("%d messages to %s", len(dead), to[reasons[0]][0])
		}
		return what + " could not be delivered: " + reasons[0]
	}
	lines := []string{fmt.Sprintf("%d messages could not be delivered.", len(dead))}
	for _, reason := range reasons {
		names := to[reason]
		more := ""
		if n := len(names) - mostNames; n > 0 {
			names, more = names[:mostNames], fmt.Sprintf(" and %d more", n)
		}
		line := strings.Join(names, ", ") + more + ": " + reason
		lines = append(lines, strings.ToUpper(line[:1])+line[1:]) // shirts and our own words: ASCII
	}
	return strings.Join(lines, "\n")
}

// recipient names whom a dead letter was for, and says why they did not get it.
func recipient(d store.DeadLetter, roster []rehab.Athlete) (name, reason string) {
	says, known := undelivered[d.Why]
	if !known {
		says = undelivered["refused"]
	}
	place := Place(d.Destination)
	_, direct := place.Direct()
	_, alone := place.Alone()
	switch {
	case place == StaffRoom:
		return "the staff room", says[1]
	case place == MedicalRoom:
		return "the medical room", says[1]
	case !direct && !alone:
		return "an open channel", says[1]
	}
	for _, a := range roster {
		if d.Athlete != nil && *d.Athlete == a.ID {
			return a.Label(), says[0]
		}
	}
	return "someone who is linked with no athlete", says[0]
}
