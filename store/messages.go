package store

import (
	"context"
	"time"
)

// Claim takes an event for this transaction. It is false when the event was handled before; a
// rollback gives it free again.
func (t *Tx) Claim(ctx context.Context, event string) (bool, error) {
	n, err := t.changed(ctx, "claiming the event", `INSERT INTO inbox (event_key, claimed_at) VALUES ($1, $2) ON CONFLICT (event_key) DO NOTHING`, event, at(t.now))
	return n == 1, err
}

// Claimed reports whether an event was handled, for when a commit's answer was lost.
func (s *Store) Claimed(ctx context.Context, event string) (bool, error) {
	var n int
	err := s.Do(ctx, time.Time{}, func(t *Tx) error {
		return t.get(ctx, "looking for the event", &n, `SELECT count(*) FROM inbox WHERE event_key = $1`, event)
	})
	return n > 0, err
}

// Message is what is known of a chat message: never its text.
type Message struct {
	Key     string
	Author  int64     `db:"author_id"`
	Place   string    // where it was posted
	Sent    time.Time `db:"-"`
	Edited  time.Time `db:"-"`
	Deleted time.Time `db:"-"`
	Lines   int       // how many lines it had when first read
}

// PutMessage remembers a message when it is first read, also where its deletion was told before it.
func (t *Tx) PutMessage(ctx context.Context, m Message) error {
	return t.exec(ctx, "storing the message", `INSERT INTO messages (team_id, key, author_id, place, sent_at, lines) VALUES ($1, $2, $3, $4, $5, $6)
		ON CONFLICT (team_id, key) DO UPDATE SET author_id = $3, place = $4, lines = $6 WHERE messages.deleted_at IS NOT NULL AND messages.lines = 0`, t.team, m.Key, m.Author, m.Place, at(m.Sent), m.Lines)
}

// Message finds a message; ErrNotFound when it was never seen.
func (t *Tx) Message(ctx context.Context, key string) (Message, error) {
	var r struct {
		Message
		SentAt    instant `db:"sent_at"`
		EditedAt  instant `db:"edited_at"`
		DeletedAt instant `db:"deleted_at"`
	}
	err := t.get(ctx, "finding the message", &r, `SELECT key, author_id, place, sent_at, edited_at, deleted_at, lines FROM messages WHERE team_id = $1 AND key = $2`, t.team, key)
	r.Sent, r.Edited, r.Deleted = r.SentAt.Time, r.EditedAt.Time, r.DeletedAt.Time
	return r.Message, err
}

// Revise moves a message to a later edit. It is false when that edit or a later one was seen: a
// stale edit loses.
func (t *Tx) Revise(ctx context.Context, key string, edited time.Time) (bool, error) {
	n, err := t.changed(ctx, "revising the message", `UPDATE messages SET edited_at = $3 WHERE team_id = $1 AND key = $2 AND (edited_at IS NULL OR edited_at < $3)`, t.team, key, at(edited))
	return n == 1, err
}

// Flag marks a message as deleted in the chat; its record stands until someone decides.
func (t *Tx) Flag(ctx context.Context, key string) error {
	return t.exec(ctx, "flagging the deleted message", `UPDATE messages SET deleted_at = $3 WHERE team_id = $1 AND key = $2 AND deleted_at IS NULL`, t.team, key, at(t.now))
}

// Settle marks a deleted message's flag as answered.
func (t *Tx) Settle(ctx context.Context, key string) error {
	return t.exec(ctx, "settling the deleted message", `UPDATE messages SET settled_at = $3 WHERE team_id = $1 AND key = $2`, t.team, key, at(t.now))
}

// Flagged counts, per athlete, the deleted messages whose records still stand undecided.
func (t *Tx) Flagged(ctx context.Context) (map[int64]int, error) {
	var rows []struct {
		Athlete int64 `db:"athlete_id"`
		N       int
	}
	err := t.list(ctx, "listing deleted messages", &rows, `SELECT e.athlete_id, count(DISTINCT m.key) AS n FROM messages m JOIN entries e ON e.team_id = m.team_id AND e.source = m.key
		WHERE m.team_id = $1 AND m.deleted_at IS NOT NULL AND m.settled_at IS NULL AND e.voided_at IS NULL AND e.superseded_at IS NULL GROUP BY e.athlete_id`, t.team)
	out := map[int64]int{}
	for _, r := range rows {
		out[r.Athlete] = r.N
	}
	return out, err
}

// Pending is a button that waits to be pressed.
type Pending struct {
	Token     string
	Group     string `db:"group_key"`
	Label     string
	Line      string // the command line it stands for
	File      string // that came with the line, "" for none
	Confirmed bool
	Strict    bool // refused once anything about the athlete changed
	Place     string
	Source    string // the message that asked, to which the record belongs
	SourceRow int    `db:"source_line"`
	Athlete   int64  `db:"-"`
	Seq       int64  // of the athlete when it was asked
	AskedOf   int64  `db:"asked_of"`
	Anyone    bool   // may press it, any number of times

	Asked   time.Time `db:"-"` // the original time: what is recorded happened then
	Expires time.Time `db:"-"`
	Used    time.Time `db:"-"`
}

// PutPending keeps a button.
func (t *Tx) PutPending(ctx context.Context, p Pending) error {
	return t.exec(ctx, "storing the question", `INSERT INTO pending
		(token, team_id, group_key, label, line, confirmed, strict, place, source, source_line, athlete_id, seq, asked_of, asked_at, expires_at, anyone, file)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17)`,
		p.Token, t.team, p.Group, p.Label, p.Line, p.Confirmed, p.Strict, p.Place, p.Source, p.SourceRow, orNull(p.Athlete), p.Seq, p.AskedOf, at(p.Asked), at(p.Expires), p.Anyone, p.File)
}

// Pending finds a button by its token. ErrNotFound for a token this team never had.
func (t *Tx) Pending(ctx context.Context, token string) (Pending, error) {
	var r struct {
		Pending
		AthleteID *int64  `db:"athlete_id"`
		AskedAt   instant `db:"asked_at"`
		ExpiresAt instant `db:"expires_at"`
		UsedAt    instant `db:"used_at"`
	}
	err := t.get(ctx, "finding the question", &r, `SELECT token, group_key, label, line, confirmed, strict, place, source, source_line, athlete_id, seq, asked_of, asked_at, expires_at, used_at, anyone, file
		FROM pending WHERE team_id = $1 AND token = $2`, t.team, token)
	if r.AthleteID != nil {
		r.Athlete = *r.AthleteID
	}
	r.Asked, r.Expires, r.Used = r.AskedAt.Time, r.ExpiresAt.Time, r.UsedAt.Time
	return r.Pending, err
}

// Claiming reports whether a member's word that they wear a shirt still waits for medical staff.
func (t *Tx) Claiming(ctx context.Context, member int64) (bool, error) {
	var n int
	err := t.get(ctx, "looking for a claim", &n, `SELECT count(*) FROM pending WHERE team_id = $1 AND asked_of = $2 AND used_at IS NULL AND expires_at >= $3 AND line LIKE 'link %'`, t.team, member, at(t.now))
	return n > 0, err
}

// UsePending uses up a question and every other button of its message, and forgets their lines and files. It is
// false when one of them was used before.
func (t *Tx) UsePending(ctx context.Context, group string) (bool, error) {
	n, err := t.changed(ctx, "using the question", `UPDATE pending SET used_at = $3, line = '', file = '' WHERE team_id = $1 AND group_key = $2 AND used_at IS NULL`, t.team, group, at(t.now))
	return n > 0, err
}

// DropPending forgets the buttons a message's earlier version asked, which an edit overtakes.
func (t *Tx) DropPending(ctx context.Context, source string) error {
	return t.exec(ctx, "dropping overtaken questions", `UPDATE pending SET used_at = $3, line = '', file = '' WHERE team_id = $1 AND source = $2 AND used_at IS NULL`, t.team, source, at(t.now))
}
