package store_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"footing/rehab"
	"footing/store"
)

func TestPeople(t *testing.T) {
	share(t, cases{
		"Team that was never set up is not found":   teamThatWasNeverSetUpIsNotFound,
		"Failed query is never not found":           failedQueryIsNeverNotFound,
		"Put team changes settings":                 putTeamChangesSettings,
		"Team needs a stored protocol":              teamNeedsAStoredProtocol,
		"Protocol is kept under its hash":           protocolIsKeptUnderItsHash,
		"Member keeps the roles last seen":          memberKeepsTheRolesLastSeen,
		"Member names":                              memberNames,
		"Add athlete":                               addAthlete,
		"Taken shirt leaves the transaction usable": takenShirtLeavesTheTransactionUsable,
		"Shirt is free once its wearer is inactive": shirtIsFreeOnceItsWearerIsInactive,
		"Change athlete":                            changeAthlete,
		"Athlete is read on the roster or not":      athleteIsReadOnTheRosterOrNot,
	})
}

func teamThatWasNeverSetUpIsNotFound(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		_, err := tx.Team(ctx, "nobody")
		is(t, "an unknown team", err, store.ErrNotFound)
		same(t, "the known one", must(tx.Team(ctx, "otters"))(t), q.team)
	})
}

func failedQueryIsNeverNotFound(t *testing.T, q squad) {
	gone, cancel := context.WithCancel(ctx)
	cancel()
	_ = q.try(q.s, noon, func(tx *store.Tx) error {
		if _, err := tx.Team(gone, "otters"); err == nil || errors.Is(err, store.ErrNotFound) {
			t.Errorf("a query that could not run gave %v", err)
		}
		return nil
	})
}

func putTeamChangesSettings(t *testing.T, q squad) {
	changed := q.team
	changed.Name, changed.Zone, changed.ReportAt, changed.StrictMinors, changed.ReportFrom = "Ōtters", "Europe/Oslo", "06:15", true, noon.Add(time.Hour)
	q.at(noon.Add(time.Hour), func(tx *store.Tx) {
		same(t, "what PutTeam gives", must(tx.PutTeam(ctx, changed))(t), changed)
		same(t, "what Team reads", must(tx.Team(ctx, "otters"))(t), changed)
		other := must(tx.PutTeam(ctx, rehab.Team{Key: "bats", Name: "Bats", Zone: "UTC", ReportAt: "07:00", Protocol: hash}))(t)
		same(t, "when a team was made", other.Created, noon.Add(time.Hour))
		same(t, "all teams", must(tx.Teams(ctx))(t), []rehab.Team{changed, other})
	})
}

func teamNeedsAStoredProtocol(t *testing.T, q squad) {
	err := q.try(q.s, noon, func(tx *store.Tx) error {
		_, err := tx.PutTeam(ctx, rehab.Team{Key: "bats", Name: "Bats", Zone: "UTC", ReportAt: "07:00", Protocol: "unknown"})
		return err
	})
	if err == nil {
		t.Error("a team may follow a protocol that is not there")
	}
}

func protocolIsKeptUnderItsHash(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		ok(t, tx.PutProtocol(ctx, "h2", "second", "ā\ttext", false))
		ok(t, tx.PutProtocol(ctx, "h2", "renamed", "other text", false)) // a hash stands for one text for good
		same(t, "the text", must(tx.Protocol(ctx, "h2"))(t), "ā\ttext")
		_, err := tx.Protocol(ctx, "h3")
		is(t, "an unknown hash", err, store.ErrNotFound)
	})
}

func memberKeepsTheRolesLastSeen(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		first := must(tx.Member(ctx, "u1", []rehab.Role{rehab.Coach}))(t)
		same(t, "a new member", first, rehab.Member{ID: first.ID, Key: "u1", Roles: []rehab.Role{rehab.Coach}})
		ok(t, tx.Link(ctx, first.ID, q.b.ID))
		again := must(tx.Member(ctx, "u1", []rehab.Role{rehab.AthleteRole, rehab.Owner}))(t)
		same(t, "the same member", again, rehab.Member{ID: first.ID, Key: "u1", Roles: []rehab.Role{rehab.AthleteRole, rehab.Owner}, Athlete: q.b.ID})
	})
	same(t, "the row", rows(t, q.db, `SELECT roles FROM members WHERE key = 'u1'`), []string{"athlete owner"})
	q.at(noon, func(tx *store.Tx) {
		same(t, "without roles", must(tx.Member(ctx, "u1", nil))(t).Athlete, q.b.ID)
	})
	same(t, "the row", rows(t, q.db, `SELECT roles FROM members WHERE key = 'u1'`), []string{""})
}

func memberNames(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		coach := must(tx.Member(ctx, "u1", nil))(t)
		same(t, "the names", must(tx.MemberNames(ctx))(t), map[int64]string{q.physio.ID: "physio", coach.ID: "u1"})
	})
}

func addAthlete(t *testing.T, q squad) {
	want := rehab.Athlete{Shirt: 3, Name: "Ōriwa Ngāta", Nick: "Ō", Position: "wing", Sex: "female", Born: "2009-05-02", Leg: 88.5, Active: true}
	q.at(noon, func(tx *store.Tx) {
		got := must(tx.AddAthlete(ctx, want, strings.ToLower))(t)
		want.ID = got.ID
		same(t, "the athlete", got, want)
		same(t, "the roster by shirt", must(tx.Athletes(ctx))(t), []rehab.Athlete{want, q.a, q.b})
		same(t, "their log", must(tx.Lock(ctx, want.ID))(t), map[int64]int64{want.ID: 0})
	})
	same(t, "the folded names", rows(t, q.db, `SELECT name_folded, nick_folded FROM athletes WHERE shirt = 3`), []string{"ōriwa ngāta|ō"})
}

// An error inside a PostgreSQL transaction ends it; a taken shirt must not be one.
func takenShirtLeavesTheTransactionUsable(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		_, err := tx.AddAthlete(ctx, rehab.Athlete{Shirt: 7, Name: "Second"}, strings.ToLower)
		is(t, "a taken shirt", err, store.ErrShirtTaken)
		if errors.Is(err, store.ErrNotFound) {
			t.Error("a taken shirt is told as not found")
		}
		ok(t, tx.Append(ctx, []rehab.Entry{q.note(q.a.ID, "m1", "after the refusal")}))
	})
	q.at(noon, func(tx *store.Tx) {
		same(t, "what was stored after it", len(must(tx.Entries(ctx, q.a.ID))(t)), 1)
		same(t, "the roster", must(tx.Athletes(ctx))(t), []rehab.Athlete{q.a, q.b})
	})
}

func shirtIsFreeOnceItsWearerIsInactive(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		left := q.a
		left.Active = false
		ok(t, tx.ChangeAthlete(ctx, left, strings.ToLower))
		same(t, "the roster", must(tx.Athletes(ctx))(t), []rehab.Athlete{q.b})
		next := must(tx.AddAthlete(ctx, rehab.Athlete{Shirt: 7, Name: "Next"}, strings.ToLower))(t)
		if next.ID == q.a.ID {
			t.Error("the new wearer got the old one's id")
		}
		same(t, "the old one's log", must(tx.Lock(ctx, q.a.ID))(t), map[int64]int64{q.a.ID: 0})
	})
	err := q.try(q.s, noon, func(tx *store.Tx) error { return tx.ChangeAthlete(ctx, q.a, strings.ToLower) })
	if err == nil {
		t.Error("two active athletes wear one shirt")
	}
}

func changeAthlete(t *testing.T, q squad) {
	want := rehab.Athlete{ID: q.a.ID, Shirt: 70, Name: "MERE", Nick: "M", Position: "lock", Sex: "female", Born: "2001", Leg: 90, Active: true}
	q.at(noon, func(tx *store.Tx) {
		ok(t, tx.ChangeAthlete(ctx, want, strings.ToLower))
		same(t, "the roster", must(tx.Athletes(ctx))(t), []rehab.Athlete{q.b, want})
		is(t, "an unknown id", tx.ChangeAthlete(ctx, rehab.Athlete{ID: 9999, Shirt: 1, Name: "?"}, strings.ToLower), store.ErrNotFound)
	})
	same(t, "the folded names", rows(t, q.db, `SELECT name_folded, nick_folded FROM athletes WHERE shirt = 70`), []string{"mere|m"})
}

func athleteIsReadOnTheRosterOrNot(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		same(t, "on the roster", must(tx.Athlete(ctx, q.a.ID))(t), q.a)
		left := q.a
		left.Active = false
		ok(t, tx.ChangeAthlete(ctx, left, strings.ToLower))
		same(t, "off the roster", must(tx.Athlete(ctx, q.a.ID))(t), left)
		_, err := tx.Athlete(ctx, q.a.ID+1000)
		is(t, "an athlete the team does not have", err, store.ErrNotFound)
	})
}
