package store_test

import (
	"testing"
	"time"

	"footing/rehab"
	"footing/store"
)

func TestSetUp(t *testing.T) {
	share(t, cases{
		"Joining never resets":                      joiningNeverResets,
		"A report time counts from when it changed": reportTimeCountsFromItsChange,
		"The locked team is the present one":        lockedTeamIsThePresentOne,
	})
}

func joiningNeverResets(t *testing.T, q squad) {
	first := rehab.Team{Key: "bats", Name: "Bats", Zone: "UTC", ReportAt: "07:30", Protocol: hash}
	q.at(noon, func(tx *store.Tx) {
		got := must(tx.Join(ctx, first))(t)
		same(t, "a new team", []any{got.Ready, got.Zone, got.ReportAt, got.SetUpBy, got.Created}, []any{false, "UTC", "07:30", "", noon})
	})
	var set rehab.Team
	q.at(noon.Add(time.Hour), func(tx *store.Tx) {
		t1 := must(tx.Team(ctx, "bats"))(t)
		t1.Zone, t1.ReportAt, t1.Ready, t1.SetUpBy, t1.Sport = "Europe/Oslo", "06:15", true, "kim", "rugby"
		t1.Rooms = rehab.Rooms{MedicalRoles: []string{"1", "2"}, CoachRoles: []string{"3"}, Medical: "4", Staff: "5"}
		set = must(tx.PutTeam(ctx, t1))(t)
		ok(t, tx.SetGone(ctx, "bats", noon))
	})
	q.at(noon.Add(2*time.Hour), func(tx *store.Tx) {
		first.Name = "The Bats"
		set.Name, set.ReportFrom = first.Name, noon.Add(2*time.Hour)
		same(t, "joined again", must(tx.Join(ctx, first))(t), set)
	})
	q.at(noon.Add(3*time.Hour), func(tx *store.Tx) { // told twice of the same joining
		same(t, "joined though it was there", must(tx.Join(ctx, first))(t), set)
	})
}

func reportTimeCountsFromItsChange(t *testing.T, q squad) {
	team := q.team
	team.Ready = true
	for i, c := range []struct {
		change func()
		from   time.Duration
	}{
		{func() {}, time.Minute}, // set up
		{func() { team.Sport = "rugby" }, time.Minute},
		{func() { team.ReportAt = "08:00" }, 3 * time.Minute},
		{func() { team.StrictMinors = true }, 3 * time.Minute},
		{func() { team.Zone = "Europe/Oslo" }, 5 * time.Minute},
	} {
		q.at(noon.Add(time.Duration(i+1)*time.Minute), func(tx *store.Tx) {
			c.change()
			same(t, "since when", must(tx.PutTeam(ctx, team))(t).ReportFrom, noon.Add(c.from))
		})
	}
}

func lockedTeamIsThePresentOne(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		changed := q.team
		changed.Name = "Ōtters"
		must(tx.PutTeam(ctx, changed))(t)
		same(t, "the name", must(tx.LockTeam(ctx))(t).Name, "Ōtters")
	})
}

func TestAccounts(t *testing.T) {
	share(t, cases{
		"An account is found by its key":       accountIsFoundByItsKey,
		"Parting takes every account":          partingTakesEveryAccount,
		"A claim waits until it is answered":   claimWaitsUntilAnswered,
		"A button for anyone comes back as it": buttonForAnyone,
	})
}

func accountIsFoundByItsKey(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		same(t, "a stranger", must(tx.Account(ctx, "robin"))(t), rehab.Member{})
		m := must(tx.Member(ctx, "robin", nil))(t)
		ok(t, tx.Rename(ctx, m.ID, "Robin R"))
		same(t, "with a name", must(tx.Account(ctx, "robin"))(t), rehab.Member{ID: m.ID, Key: "robin", Name: "Robin R"})
		same(t, "the name stays", must(tx.Member(ctx, "robin", nil))(t).Name, "Robin R")
		same(t, "names", must(tx.MemberNames(ctx))(t), map[int64]string{q.physio.ID: "physio", m.ID: "Robin R"})
		ok(t, tx.Link(ctx, m.ID, q.a.ID))
		want := rehab.Member{ID: m.ID, Key: "robin", Name: "Robin R", Athlete: q.a.ID}
		same(t, "linked", must(tx.Account(ctx, "robin"))(t), want)
		same(t, "all linked", must(tx.Accounts(ctx))(t), map[int64]rehab.Member{q.a.ID: want})
	})
}

func partingTakesEveryAccount(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		for _, key := range []string{"robin", "kim"} {
			ok(t, tx.Link(ctx, must(tx.Member(ctx, key, nil))(t).ID, q.a.ID))
		}
		ok(t, tx.Link(ctx, must(tx.Member(ctx, "lee", nil))(t).ID, q.b.ID))
		ok(t, tx.Part(ctx, q.a.ID))
		for key, teams := range map[string]int{"robin": 0, "kim": 0, "lee": 1} {
			same(t, key+" is in", len(must(tx.LinkedTeams(ctx, key))(t)), teams)
		}
		same(t, "robin is", must(tx.Account(ctx, "robin"))(t).Athlete, int64(0))
		same(t, "lee is", must(tx.Account(ctx, "lee"))(t).Athlete, q.b.ID)
	})
}

func claimWaitsUntilAnswered(t *testing.T, q squad) {
	q.at(noon, func(tx *store.Tx) {
		other := button(q, "t0", "g0")
		other.AskedOf = must(tx.Member(ctx, "robin", nil))(t).ID
		ok(t, tx.PutPending(ctx, other)) // a question of another kind is no claim
		same(t, "before", must(tx.Claiming(ctx, other.AskedOf))(t), false)
		claim := other
		claim.Token, claim.Group, claim.Line = "t1", "g1", "link 7 account robin"
		ok(t, tx.PutPending(ctx, claim))
		same(t, "asked", must(tx.Claiming(ctx, other.AskedOf))(t), true)
		same(t, "somebody else", must(tx.Claiming(ctx, q.physio.ID))(t), false)
	})
	q.at(noon.Add(13*time.Hour), func(tx *store.Tx) {
		same(t, "expired", must(tx.Claiming(ctx, must(tx.Account(ctx, "robin"))(t).ID))(t), false)
	})
	q.at(noon, func(tx *store.Tx) {
		must(tx.UsePending(ctx, "g1"))(t)
		same(t, "answered", must(tx.Claiming(ctx, must(tx.Account(ctx, "robin"))(t).ID))(t), false)
	})
}

func buttonForAnyone(t *testing.T, q squad) {
	p := button(q, "t1", "g1")
	p.Anyone = true
	q.at(noon, func(tx *store.Tx) {
		ok(t, tx.PutPending(ctx, p))
		same(t, "the button", must(tx.Pending(ctx, "t1"))(t), p)
	})
}
