package store

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"footing/rehab"
)

// Lock takes the athletes' rows for this transaction, in id order so that two writers never wait for
// each other, and gives each one's latest seq. Writers on one athlete go one after the other.
func (t *Tx) Lock(ctx context.Context, athletes ...int64) (map[int64]int64, error) {
	ids := slices.Clone(athletes)
	slices.Sort(ids)
	out := map[int64]int64{}
	for _, id := range slices.Compact(ids) {
		seq, ours := t.locked[id]
		if ours { // nobody else can have moved it
			out[id] = seq
			continue
		}
		err := t.get(ctx, "locking the athlete", &seq, `UPDATE athlete_state SET seq = seq WHERE team_id = $1 AND athlete_id = $2 RETURNING seq`, t.team, id)
		if err != nil {
			return nil, err
		}
		if t.locked == nil {
			t.locked = map[int64]int64{}
		}
		t.locked[id], out[id] = seq, seq
	}
	return out, nil
}

type entryRow struct {
	ID       int64
	Athlete  int64 `db:"athlete_id"`
	Seq      int64
	First    int64 `db:"first_seq"`
	Episode  int
	Kind     rehab.Kind
	Version  int
	Body     string
	Happened instant `db:"happened_at"`
	Logged   instant `db:"logged_at"`
	Author   *int64  `db:"author_id"`
	Source   string
	Line     int `db:"source_line"`
}

func (r entryRow) entry() (e rehab.Entry, err error) {
	e = r.header()
	e.Body, err = decode(r.Kind, r.Version, r.Body)
	return e, err
}

// header is the entry without its body.
func (r entryRow) header() rehab.Entry {
	e := rehab.Entry{Seq: r.Seq, First: r.First, Athlete: r.Athlete, Episode: r.Episode, At: r.Happened.Time, Logged: r.Logged.Time, Source: r.Source, Line: r.Line}
	if r.Author != nil {
		e.Author = *r.Author
	}
	return e
}

const (
	entryColumns = `id, athlete_id, seq, first_seq, episode, kind, version, body, happened_at, logged_at, author_id, source, source_line`
	live         = ` voided_at IS NULL AND superseded_at IS NULL `
)

func (t *Tx) entries(ctx context.Context, where string, args ...any) ([]rehab.Entry, error) {
	var rows []entryRow
	if err := t.list(ctx, "reading entries", &rows, `SELECT `+entryColumns+` FROM entries WHERE team_id = $1 AND `+where+` ORDER BY athlete_id, seq`, append([]any{t.team}, args...)...); err != nil {
		return nil, err
	}
	out := make([]rehab.Entry, len(rows))
	for i, r := range rows {
		e, err := r.entry()
		if err != nil {
			return nil, fmt.Errorf("reading entry %d: %w", r.ID, err)
		}
		out[i] = e
	}
	return out, nil
}

// Entries lists an athlete's live entries by seq.
func (t *Tx) Entries(ctx context.Context, athlete int64) ([]rehab.Entry, error) {
	return t.entries(ctx, live+`AND athlete_id = $2`, athlete)
}

// TeamEntries lists every athlete's live entries, by athlete, in one query; the squad's own are there
// under its row.
func (t *Tx) TeamEntries(ctx context.Context) (map[int64][]rehab.Entry, error) {
	all, err := t.entries(ctx, live)
	out := map[int64][]rehab.Entry{}
	for _, e := range all {
		out[e.Athlete] = append(out[e.Athlete], e)
	}
	return out, err
}

// SourceEntries lists the live entries of one message.
func (t *Tx) SourceEntries(ctx context.Context, source string) ([]rehab.Entry, error) {
	return t.entries(ctx, live+`AND source = $2`, source)
}

// LastSource finds the latest message by an author since a time whose entries still stand. A plan that
// was shown is no record of theirs.
func (t *Tx) LastSource(ctx context.Context, author int64, since time.Time) (string, []rehab.Entry, error) {
	var sources []string
	if err := t.list(ctx, "finding the last record", &sources, `SELECT source FROM entries WHERE team_id = $1 AND author_id = $2 AND logged_at >= $3 AND kind <> 'planned' AND`+live+`ORDER BY logged_at DESC, id DESC LIMIT 1`, t.team, author, at(since)); err != nil || len(sources) == 0 {
		return "", nil, err
	}
	entries, err := t.entries(ctx, live+`AND source = $2 AND author_id = $3`, sources[0], author)
	return sources[0], entries, err
}

// ShownSince reports whether, after a message of an author recorded something, they asked for a plan or for
// something that was answered with a question which still waits: an undo may be meant for that.
func (t *Tx) ShownSince(ctx context.Context, author int64, source string) (bool, error) {
	var n int
	err := t.get(ctx, "looking for what was shown since", &n, `WITH last AS (
			SELECT max(e.id) AS id, max(coalesce(m.edited_at, m.sent_at, e.logged_at)) AS told FROM entries e
			LEFT JOIN messages m ON m.team_id = e.team_id AND m.key = e.source WHERE e.team_id = $1 AND e.author_id = $2 AND e.source = $3)
		SELECT (SELECT count(*) FROM entries e JOIN messages m ON m.team_id = e.team_id AND m.key = e.source, last
			WHERE e.team_id = $1 AND e.author_id = $2 AND e.kind = 'planned' AND e.voided_at IS NULL AND e.superseded_at IS NULL AND e.id > last.id)
		+ (SELECT count(*) FROM pending p, last WHERE p.team_id = $1 AND p.asked_of = $2 AND p.used_at IS NULL AND NOT p.strict AND NOT p.anyone
			AND p.source_line >= 0 AND p.asked_at > last.told AND p.expires_at >= $4
			AND NOT EXISTS (SELECT 1 FROM entries e WHERE e.team_id = p.team_id AND e.source = p.source))`, t.team, author, source, at(t.now))
	return n > 0, err
}

// Append adds entries to athletes' logs and gives them their seq. The athletes must be locked.
func (t *Tx) Append(ctx context.Context, entries []rehab.Entry) error {
	for _, e := range entries {
		if err := t.append(ctx, e); err != nil {
			return fmt.Errorf("appending a %s entry: %w", e.Body.Kind(), err)
		}
	}
	if len(entries) == 0 {
		return nil
	}
	return t.soon(ctx)
}

func (t *Tx) append(ctx context.Context, e rehab.Entry) error {
	body, err := encode(e.Body)
	if err != nil {
		return err
	}
	var head struct {
		Seq    int64
		Digest string
	}
	if err := t.get(ctx, "taking a seq", &head, `UPDATE athlete_state SET seq = seq + 1 WHERE team_id = $1 AND athlete_id = $2 RETURNING seq, digest`, t.team, e.Athlete); err != nil {
		return err
	}
	if t.locked == nil {
		t.locked = map[int64]int64{}
	}
	t.locked[e.Athlete] = head.Seq // which locks, too
	salt := make([]byte, 16)
	if _, err := rand.Read(salt); err != nil {
		return fmt.Errorf("drawing a salt: %w", err)
	}
	e.Seq, e.Logged = head.Seq, t.now
	c := commitment(hex.EncodeToString(salt), e, e.Body.Kind(), bodyVersion, body)
	chain := link(head.Digest, c)
	var id int64
	err = t.get(ctx, "storing the entry", &id, `INSERT INTO entries
		(team_id, athlete_id, seq, first_seq, episode, kind, version, body, happened_at, logged_at, author_id, source, source_line, salt, commitment, chain)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16) RETURNING id`,
		t.team, e.Athlete, e.Seq, e.First, e.Episode, string(e.Body.Kind()), bodyVersion, body, at(e.At), at(t.now), orNull(e.Author), e.Source, e.Line, hex.EncodeToString(salt), c, chain)
	if err != nil {
		return err
	}
	if err := t.exec(ctx, "moving the chain", `UPDATE athlete_state SET digest = $3 WHERE team_id = $1 AND athlete_id = $2`, t.team, e.Athlete, chain); err != nil {
		return err
	}
	switch b := e.Body.(type) {
	case rehab.Tested:
		return t.measure(ctx, id, e, b)
	case rehab.Decided:
		return t.decide(ctx, id, e, b)
	}
	return nil
}

// commitment binds an entry's content: who, when, what. With its salt gone it tells nothing.
func commitment(salt string, e rehab.Entry, kind rehab.Kind, version int, body string) string {
	sum := sha256.Sum256([]byte(strings.Join([]string{salt, strconv.FormatInt(e.Athlete, 10), strconv.FormatInt(e.Seq, 10), strconv.FormatInt(e.First, 10), strconv.Itoa(e.Episode), strconv.FormatInt(e.Author, 10),
		string(kind), strconv.Itoa(version), e.At.UTC().Format(instantLayout), e.Logged.UTC().Format(instantLayout), e.Source, strconv.Itoa(e.Line), body}, "\x1f")))
	return hex.EncodeToString(sum[:])
}

func link(before, commitment string) string {
	sum := sha256.Sum256([]byte(before + commitment))
	return hex.EncodeToString(sum[:])
}

func orNull(id int64) any {
	if id == 0 {
		return nil
	}
	return id
}

func (t *Tx) measure(ctx context.Context, id int64, e rehab.Entry, b rehab.Tested) error {
	trials := b.Trials
	if b.Choice != "" {
		trials = []rehab.Trial{{Failed: false}}
	}
	for i, tr := range trials {
		var value any = tr.Value
		if tr.Failed || b.Choice != "" {
			value = nil
		}
		err := t.exec(ctx, "storing a measurement", `INSERT INTO measurements (team_id, entry_id, athlete_id, test, side, trial, value, failed, capped, choice, happened_at)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)`, t.team, id, e.Athlete, b.Test, string(b.Side), i, value, tr.Failed, tr.Capped, b.Choice, at(e.At))
		if err != nil {
			return err
		}
	}
	return nil
}

func (t *Tx) decide(ctx context.Context, id int64, e rehab.Entry, b rehab.Decided) error {
	evidence, err := json.Marshal(b.Evidence)
	if err != nil {
		return fmt.Errorf("encoding evidence: %w", err)
	}
	return t.exec(ctx, "storing the evidence", `INSERT INTO decisions (team_id, entry_id, athlete_id, action, from_stage, to_stage, protocol_hash, seen_seq, evidence)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`, t.team, id, e.Athlete, string(b.Action), b.From, b.To, b.Protocol, e.Seq-1, string(evidence))
}

// Void marks a message's live entries as taken back: those of one author, or with author 0 all.
func (t *Tx) Void(ctx context.Context, source string, author, by int64) error {
	return t.takeBack(ctx, "voiding", `UPDATE entries SET voided_at = $3, voided_by = $4 WHERE team_id = $1 AND source = $2 AND ($5 = 0 OR author_id = $5) AND`+live, t.team, source, at(t.now), by, author)
}

// takeBack marks entries that no longer count, which may change what is due.
func (t *Tx) takeBack(ctx context.Context, doing, q string, args ...any) error {
	n, err := t.changed(ctx, doing, q, args...)
	if err != nil || n == 0 {
		return err
	}
	return t.soon(ctx)
}

// Version counts everything that ever happened to an athlete's log: entries appended, and entries
// taken back or replaced. A plan that was shown changes nothing that a question rests on.
func (t *Tx) Version(ctx context.Context, athlete int64) (int64, error) {
	var n int64
	err := t.get(ctx, "reading the log's version", &n, `SELECT count(*) + coalesce(sum(CASE WHEN voided_at IS NULL AND superseded_at IS NULL THEN 0 ELSE 1 END), 0) FROM entries WHERE team_id = $1 AND athlete_id = $2 AND kind <> 'planned'`, t.team, athlete)
	return n, err
}

// Supersede marks the live entries of one line of a message as replaced by an edit.
func (t *Tx) Supersede(ctx context.Context, source string, line int) error {
	return t.takeBack(ctx, "superseding", `UPDATE entries SET superseded_at = $4 WHERE team_id = $1 AND source = $2 AND source_line = $3 AND`+live, t.team, source, line, at(t.now))
}

// VerifyChain checks that an athlete's log is what was written: every commitment fits its entry and
// every link the one before. It names the first seq that does not fit, 0 when all do.
func (t *Tx) VerifyChain(ctx context.Context, athlete int64) (broken int64, err error) {
	// The head first: what is appended meanwhile is not looked at.
	var state struct {
		Seq    int64
		Digest string
	}
	if err := t.get(ctx, "reading the chain's head", &state, `SELECT seq, digest FROM athlete_state WHERE team_id = $1 AND athlete_id = $2`, t.team, athlete); err != nil {
		return 0, err
	}
	var rows []struct {
		entryRow
		Salt       string
		Commitment string
		Chain      string
	}
	if err := t.list(ctx, "reading the chain", &rows, `SELECT `+entryColumns+`, salt, commitment, chain FROM entries WHERE team_id = $1 AND athlete_id = $2 AND seq <= $3 ORDER BY seq`, t.team, athlete, state.Seq); err != nil {
		return 0, err
	}
	head := ""
	for i, r := range rows {
		e := r.header()
		head = link(head, r.Commitment)
		if e.Seq != int64(i+1) || commitment(r.Salt, e, r.Kind, r.Version, r.Body) != r.Commitment || head != r.Chain {
			return int64(i + 1), nil
		}
	}
	if int64(len(rows)) != state.Seq || head != state.Digest {
		return int64(len(rows) + 1), nil // its end was cut off
	}
	return 0, nil
}
