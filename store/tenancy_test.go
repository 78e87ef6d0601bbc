package store_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"footing/rehab"
	"footing/store"
)

// Tables that say something about a person's health, or who they are. A new table with a team's rows
// belongs in one of these two lists.
var (
	private   = []string{"athletes", "members", "athlete_state", "messages", "entries", "measurements", "decisions", "pending", "outbox_bodies", "told"}
	crossTeam = []string{"destinations", "outbox", "occurrences", "links", "cursors", "looks"}
)

// fill puts at least one row into every table for a squad.
func fill(q squad) {
	q.t.Helper()
	e, f := q.note(q.a.ID, "m1", ""), q.note(q.a.ID, "m1", "")
	e.Body = rehab.Tested{Test: "hop", Side: rehab.Left, Trials: []rehab.Trial{{Value: 1}}}
	f.Body = rehab.Decided{Action: rehab.Stay, Protocol: hash}
	q.at(noon, func(tx *store.Tx) {
		ok(q.t, tx.PutMessage(ctx, store.Message{Key: "m1", Author: q.physio.ID, Place: "medical", Sent: noon}))
		ok(q.t, tx.Append(ctx, []rehab.Entry{e, f}))
		ok(q.t, tx.Flag(ctx, "m1"))
		ok(q.t, tx.Link(ctx, q.physio.ID, q.a.ID))
		ok(q.t, tx.PutCursor(ctx, "channel of "+q.team.Key, q.team.ID, "100"))
		ok(q.t, tx.PutPending(ctx, button(q, "token of "+q.team.Key, "g1")))
		ok(q.t, tx.PutTold(ctx, "2026-03-01", map[int64]rehab.Availability{q.a.ID: {Level: rehab.Full}}))
		must(tx.Occur(ctx, "report", "2026-03-01", "sent"))(q.t)
		must(tx.Enqueue(ctx, store.Outgoing{Destination: "staff", Kind: "reply", Key: q.team.Key, Body: "x", Due: noon, LeaseBy: "A"}))(q.t)
	})
}

// held dumps all rows of a squad's team.
func held(q squad) []string {
	q.t.Helper()
	var out []string
	for _, table := range slices.Concat(private, crossTeam) {
		list := rows(q.t, q.db, `SELECT * FROM `+table+` WHERE team_id = $1`, q.team.ID)
		if len(list) == 0 {
			q.t.Errorf("the test has put nothing into %s", table)
		}
		slices.Sort(list)
		for _, line := range list {
			out = append(out, table+" "+line)
		}
	}
	return out
}

func TestTeamsAreApart(t *testing.T) {
	share(t, cases{
		"Team neither sees nor changes another":     teamNeitherSeesNorChangesAnother,
		"Link to another team's athlete is refused": linkToAnotherTeamsAthleteIsRefused,
	})
}

// The queries themselves keep teams apart: SQLite has no row security to do it for them.
func teamNeitherSeesNorChangesAnother(t *testing.T, q squad) {
	other := q.found(t, "bats")
	fill(q)
	exec(t, q.db, `UPDATE entries SET salt = 'altered'`) // for the chain to have something to tell
	mine := held(q)
	var name string // of a call that must not find the other team's rows
	refused := func(err error) {
		t.Helper()
		is(t, name, err, store.ErrNotFound)
	}
	other.at(noon.Add(24*time.Hour), func(tx *store.Tx) {
		same(t, "the roster", must(tx.Athletes(ctx))(t), []rehab.Athlete{other.a, other.b})
		same(t, "entries", must(tx.Entries(ctx, q.a.ID))(t), []rehab.Entry{})
		same(t, "all entries", must(tx.TeamEntries(ctx))(t), map[int64][]rehab.Entry{})
		same(t, "entries of a message", must(tx.SourceEntries(ctx, "m1"))(t), []rehab.Entry{})
		source, _, err := tx.LastSource(ctx, q.physio.ID, noon.Add(-time.Hour))
		same(t, "the last message", source, must("", err)(t))
		date, _, err := tx.Told(ctx, "2026-03-02")
		same(t, "the day told", date, must("", err)(t))
		same(t, "members", must(tx.MemberNames(ctx))(t), map[int64]string{other.physio.ID: "physio"})
		same(t, "the account", must(tx.Account(ctx, "physio"))(t).ID, other.physio.ID)
		same(t, "linked accounts", must(tx.Accounts(ctx))(t), map[int64]rehab.Member{})
		same(t, "a claim", must(tx.Claiming(ctx, q.physio.ID))(t), false)
		same(t, "the locked team", must(tx.LockTeam(ctx))(t).Key, "bats")
		ok(t, tx.Rename(ctx, q.physio.ID, "taken over"))
		ok(t, tx.Part(ctx, q.a.ID))
		same(t, "flagged", must(tx.Flagged(ctx))(t), map[int64]int{})
		same(t, "the log's version", must(tx.Version(ctx, q.a.ID))(t), int64(0))
		same(t, "occurred", must(tx.LatestOccurrence(ctx, "report"))(t), "")
		if seq, _ := tx.VerifyChain(ctx, q.a.ID); seq != 0 {
			t.Error("another team's log is read to verify it")
		}
		if m := must(tx.Member(ctx, "physio", []rehab.Role{rehab.Coach}))(t); m.ID != other.physio.ID {
			t.Errorf("one key in two teams is one member: %v", m)
		}

		name = "the chat message"
		_, err = tx.Message(ctx, "m1")
		refused(err)
		name = "the button"
		_, err = tx.Pending(ctx, "token of otters")
		refused(err)
		name = "the athlete"
		_, err = tx.Athlete(ctx, q.a.ID)
		refused(err)
		name = "locking"
		_, err = tx.Lock(ctx, q.a.ID)
		refused(err)
		name = "appending"
		refused(tx.Append(ctx, []rehab.Entry{q.note(q.a.ID, "m1", "x")}))
		name = "changing the athlete"
		refused(tx.ChangeAthlete(ctx, rehab.Athlete{ID: q.a.ID, Shirt: 70, Name: "x"}, strings.ToLower))

		same(t, "revising", must(tx.Revise(ctx, "m1", noon.Add(time.Hour)))(t), false)
		same(t, "pressing", must(tx.UsePending(ctx, "g1"))(t), false)
		ok(t, tx.DropPending(ctx, "m1"))
		ok(t, tx.ForgetExpired(ctx))
		ok(t, tx.Void(ctx, "m1", 0, other.physio.ID))
		ok(t, tx.Supersede(ctx, "m1", 0))
		ok(t, tx.Flag(ctx, "m1"))
		ok(t, tx.Settle(ctx, "m1"))
		ok(t, tx.Link(ctx, q.physio.ID, other.a.ID))
		for _, day := range []string{"2026-02-28", "2026-03-01"} { // the team was told things on the second
			told := map[int64]rehab.Availability{other.a.ID: {Level: rehab.Unavailable, Out: 2}}
			ok(t, tx.PutTold(ctx, day, told))
			date, got, err := tx.Told(ctx, "2026-03-02")
			ok(t, err)
			same(t, "the day told", date, day)
			same(t, "what was told", got, told)
		}
		same(t, "occurring", must(tx.Occur(ctx, "report", "2026-03-01", "missed"))(t), true)
	})
	same(t, "the team's rows", held(q), mine)
}

func linkToAnotherTeamsAthleteIsRefused(t *testing.T, q squad) {
	other := q.found(t, "bats")
	if err := q.try(q.s, noon, func(tx *store.Tx) error { return tx.Link(ctx, q.physio.ID, other.a.ID) }); err == nil {
		t.Error("a member is linked to an athlete of another team")
	}
}
