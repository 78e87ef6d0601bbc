package store_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"footing/store"
	"footing/store/storetest"
)

func TestClaims(t *testing.T) {
	share(t, cases{
		"Most urgent is claimed first":         mostUrgentIsClaimedFirst,
		"Less urgent is left alone when asked": lessUrgentIsLeftAloneWhenAsked,
		"Alert overtakes at its place":         alertOvertakesAtItsPlace,
		"Dead letters are told once":           deadLettersAreToldOnce,
	})
}

// put writes one message of a kind.
func put(q squad, kind, to, key string, due time.Time) {
	q.t.Helper()
	q.at(due, func(tx *store.Tx) {
		must(tx.Enqueue(ctx, store.Outgoing{Team: q.team.ID, Destination: to, Kind: kind, Key: key, Body: "x", Due: due}))(q.t)
	})
}

func mostUrgentIsClaimedFirst(t *testing.T, q squad) {
	kinds := []string{"reminder", "report", "correction", "reply", "alert"}
	for i, kind := range kinds { // the least urgent has waited longest
		put(q, kind, "late "+kind, "late "+kind, noon.Add(-time.Minute))
		put(q, kind, "early "+kind, "early "+kind, noon.Add(-time.Hour+time.Duration(i)*time.Second))
	}
	put(q, "alert", "later", "not yet", noon.Add(time.Second))
	var want []string
	for _, kind := range slices.Backward(kinds) {
		want = append(want, "early "+kind, "late "+kind)
	}
	var got []string
	for range want {
		got = append(got, keys(claim(q, noon, "A"))...)
	}
	same(t, "the order", got, want)
}

func lessUrgentIsLeftAloneWhenAsked(t *testing.T, q squad) {
	put(q, "reminder", "@7", "k1", noon)
	put(q, "report", "staff", "k2", noon)
	same(t, "up to replies", must(q.s.ClaimDue(ctx, noon, "A", 1))(t), store.Batch{})
	b := must(q.s.ClaimDue(ctx, noon, "A", 3))(t)
	same(t, "up to reports", keys(b), []string{"k2"})
	same(t, "its urgency", b.Urgency, 3)
}

func alertOvertakesAtItsPlace(t *testing.T, q squad) {
	put(q, "notice", "medical", "k1", noon)
	put(q, "reply", "medical", "k2", noon)
	put(q, "alert", "medical", "k3", noon)
	put(q, "alert", "medical", "k4", noon)
	same(t, "the batch", keys(claim(q, noon, "A")), []string{"k3", "k4", "k1", "k2"})
}

func deadLettersAreToldOnce(t *testing.T, q squad) {
	other := q.found(t, "bats")
	q.at(noon, func(tx *store.Tx) { ok(t, tx.Link(ctx, q.physio.ID, q.a.ID)) })
	put(q, "reminder", "@physio", "k1", noon)
	put(q, "reply", "~physio", "k2", noon)
	put(q, "report", "staff", "k3", noon)
	put(q, "alert", "medical", "k4", noon)
	put(other, "report", "staff", "k5", noon)
	for range 5 {
		o := claim(q, noon, "A").Messages[0]
		ok(t, q.s.Dead(ctx, noon, o, "closed", o.Key != "k4", true))
	}
	same(t, "too early", must(q.s.TeamsWithDeadLetters(ctx, noon.Add(-moment)))(t), []int64(nil))
	same(t, "whose", must(q.s.TeamsWithDeadLetters(ctx, noon))(t), []int64{q.team.ID, other.team.ID})
	is(t, "work that fails", q.try(q.s, noon, func(tx *store.Tx) error {
		must(tx.DeadLetters(ctx))(t)
		return errAny
	}), errAny)
	q.at(noon, func(tx *store.Tx) {
		var got []string
		for _, d := range must(tx.DeadLetters(ctx))(t) {
			athlete := int64(0)
			if d.Athlete != nil {
				athlete = *d.Athlete
			}
			got = append(got, fmt.Sprint(d.Destination, " ", d.Kind, " ", d.Why, " ", athlete == q.a.ID))
		}
		same(t, "the dead letters", got, []string{"@physio reminder closed true", "~physio reply closed true", "staff report closed false"})
		same(t, "a second time", len(must(tx.DeadLetters(ctx))(t)), 0)
	})
	same(t, "who is left", must(q.s.TeamsWithDeadLetters(ctx, noon))(t), []int64{other.team.ID})
}

// backlogs are ways in which many messages can wait. Each is written for a number of places.
var backlogs = map[string]string{
	"due":         `'', NULL, '2026-03-02T11:00:00.000000Z'`,
	"not yet due": `'', NULL, '2026-03-03T11:00:00.000000Z'`,
	"put back":    `'', '2026-03-02T12:05:00.000000Z', '2026-03-02T12:05:00.000000Z'`,
}

// What a claim costs does not grow with what waits: 25 times as many messages may not take 5 times as
// long. (What reads them all takes 25 times as long: see it by dropping the index.)
func TestClaimsDoNotGrowWithTheBacklog(t *testing.T) {
	for name, backlog := range backlogs {
		t.Run(name, func(t *testing.T) {
			storetest.Each(t, func(t *testing.T, c store.Config) {
				cases{"claiming": func(t *testing.T, q squad) { backlogCosts(t, q, backlog) }}.run(t, c)
			})
		})
	}
}

func backlogCosts(t *testing.T, q squad, backlog string) {
	writeBacklog(q, backlog, 1, 1000)
	few := claimCost(q)
	writeBacklog(q, backlog, 1001, 25000)
	many := claimCost(q)
	t.Logf("%v with 1,000, %v with 25,000", few, many)
	if many > 5*few {
		t.Errorf("a claim takes %v with 1,000 messages waiting and %v with 25,000", few, many)
	}
	plan := explained(q)
	bad := []string{"Sort", "TEMP B-TREE", "Seq Scan on outbox", "SCAN o"}
	if !strings.Contains(plan, "outbox_due") || slices.ContainsFunc(bad, func(word string) bool { return strings.Contains(plan, word) }) {
		t.Errorf("the claim is read so:\n%s", plan)
	}
}

func writeBacklog(q squad, backlog string, from, to int) {
	q.t.Helper()
	parts := strings.SplitN(backlog, ", ", 3)
	numbers := fmt.Sprintf(`WITH RECURSIVE n (i) AS (SELECT %d UNION ALL SELECT i + 1 FROM n WHERE i < %d) `, from, to)
	instant := "TEXT"
	if q.s.Engine() == "postgres" {
		instant = "TIMESTAMPTZ"
	}
	cast := func(v string) string { return "CAST(" + v + " AS " + instant + ")" }
	exec(q.t, q.db, numbers+fmt.Sprintf(`INSERT INTO destinations (team_id, key, lease_by, lease_until) SELECT %d, '@' || i, %s, %s FROM n`, q.team.ID, parts[0], cast(parts[1])))
	exec(q.t, q.db, numbers+fmt.Sprintf(`INSERT INTO outbox (team_id, destination_id, kind, urgency, dedupe_key, due_at, written_at)
		SELECT %d, d.id, 'reminder', 4, 'backlog' || i, %s, %s FROM n JOIN destinations d ON d.key = '@' || i`, q.team.ID, cast(parts[2]), cast(parts[2])))
	exec(q.t, q.db, `INSERT INTO outbox_bodies (team_id, outbox_id, body) SELECT o.team_id, o.id, '{}' FROM outbox o LEFT JOIN outbox_bodies b ON b.outbox_id = o.id WHERE b.outbox_id IS NULL`)
}

// claimCost is the median of many claims, each given back.
func claimCost(q squad) time.Duration {
	q.t.Helper()
	var times []time.Duration
	for range 101 {
		start := time.Now()
		b := claim(q, noon, "A")
		times = append(times, time.Since(start))
		if b.Fence != 0 {
			ok(q.t, q.s.Release(ctx, b.Lease))
		}
	}
	slices.Sort(times)
	return times[len(times)/10] // what others on this machine do makes some slower, none faster
}

func explained(q squad) string {
	q.t.Helper()
	if q.s.Engine() == "postgres" {
		query := strings.NewReplacer("$1", "4", "$2", "'2026-03-02T12:00:00Z'").Replace(store.Claimable)
		return strings.Join(rows(q.t, q.db, "EXPLAIN "+query+" FOR NO KEY UPDATE OF d SKIP LOCKED"), "\n")
	}
	return strings.Join(rows(q.t, q.db, "EXPLAIN QUERY PLAN "+store.Claimable, 4, "2026-03-02T12:00:00.000000Z"), "\n")
}
