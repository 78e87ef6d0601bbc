package rehab_test

import (
	"fmt"
	"testing"

	"footing/rehab"
)

// What a player brought with them, as told bit by bit. A later count replaces an earlier one, other
// things add up, and "nothing" wipes the side.
func TestThePastAddsUpBySide(t *testing.T) {
	left, right := rehab.Left, rehab.Right
	for _, r := range []struct {
		what, left, right string
		told              []rehab.Past
	}{
		{"nobody asked", "not asked", "not asked", nil},
		{"one side", "2 true true", "not asked", []rehab.Past{{Side: left, Sprains: 2, Surgery: true, Lax: true}}},
		{"bit by bit", "2 true false", "not asked", []rehab.Past{{Side: left, Sprains: 2}, {Side: left, Surgery: true}}},
		{"counted again", "1 false false", "not asked", []rehab.Past{{Side: left, Sprains: 2}, {Side: left, Sprains: 1}}},
		{"each side", "2 false false", "1 false false", []rehab.Past{{Side: left, Sprains: 2}, {Side: right, Sprains: 1}}},
		{"without a side it is both", "0 false true", "0 false true", []rehab.Past{{Lax: true}}},
		{"nothing on one side", "0 false false", "3 false false", []rehab.Past{{Sprains: 3}, {Side: left}}},
	} {
		c := sprain(t, adult)
		c.episode = 0
		for _, p := range r.told {
			c.log(day(1), p)
		}
		st := rehab.Fold(c.athlete, c.entries)
		said := func(side rehab.Side) string {
			p, asked := st.Past[side]
			if !asked {
				return "not asked"
			}
			return fmt.Sprint(p.Sprains, p.Surgery, p.Lax)
		}
		want(t, r.what+", left", said(left), r.left, practice)
		want(t, r.what+", right", said(right), r.right, practice)
		want(t, r.what+", episodes", fmt.Sprint(len(st.Episodes), st.LastEpisode), "1 1", practice)
	}
}

// A row with some fields of another differs from the first in just those.
func TestARowIsChangedOnlyWhereItIsNamed(t *testing.T) {
	before := rehab.Athlete{ID: 7, Shirt: 7, Name: "Mere Tau", Nick: "Mez", Position: "wing", Sex: "female", Born: "1999", Leg: 88, Active: true}
	after := rehab.Athlete{Shirt: 17, Name: "Mere Tau-Hale", Nick: "Mere", Position: "lock", Sex: "male", Born: "1999-04-30", Leg: 88.5}
	fields := before.Differs(after)
	want(t, "every field", fmt.Sprint(fields), "[shirt name nick position sex born leg]", practice)
	for _, f := range fields {
		changed := before.With([]string{f}, after)
		want(t, f, fmt.Sprint(before.Differs(changed), changed.ID, changed.Active), fmt.Sprint([]string{f}, 7, true), practice)
		want(t, f+" and back", fmt.Sprint(changed.With([]string{f}, before)), fmt.Sprint(before), practice)
	}
}
