package rehab

import (
	"testing"
	"time"
)

// Under 18 by age in whole years: the age of majority in most of the world (Convention on the Rights of
// the Child, article 1). A birth year alone counts the birthday as still to come.
func TestWhoIsAMinor(t *testing.T) {
	day := time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		born          string
		usual, strict bool
	}{
		{"2008-03-02", false, false}, {"2008-03-03", true, true}, {"2007", false, false}, {"2008", true, true}, {"", false, true}, {"1999", false, false},
	} {
		a := Athlete{Born: c.born}
		if a.Minor(day, false) != c.usual || a.Minor(day, true) != c.strict {
			t.Errorf("born %q: minor %v, with the strict rule %v", c.born, a.Minor(day, false), a.Minor(day, true))
		}
	}
}

func TestWhoseConsentIsMissing(t *testing.T) {
	yes := func(by Party, version int) Body { return Consented{Version: version, Given: true, By: by} }
	no := func(by Party) Body { return Consented{Version: 1, By: by} }
	linked := Linked{Account: "x"}
	for name, c := range map[string]struct {
		said         []Body
		grown, minor Party
	}{
		"nothing was said":                     {nil, ByAthlete, ByAthlete},
		"the athlete agreed":                   {[]Body{linked, yes(ByAthlete, 1)}, "", ByGuardian},
		"the guardian alone agreed":            {[]Body{yes(ByGuardian, 1)}, ByAthlete, ByAthlete},
		"both agreed":                          {[]Body{yes(ByGuardian, 1), yes(ByAthlete, 1)}, "", ""},
		"the athlete withdrew":                 {[]Body{yes(ByGuardian, 1), yes(ByAthlete, 1), no(ByAthlete)}, ByAthlete, ByAthlete},
		"the guardian withdrew":                {[]Body{yes(ByGuardian, 1), yes(ByAthlete, 1), no(ByGuardian)}, "", ByGuardian},
		"withdrew and agreed again":            {[]Body{yes(ByAthlete, 1), no(ByAthlete), yes(ByAthlete, 1)}, "", ByGuardian},
		"agreed to another text":               {[]Body{yes(ByGuardian, 2), yes(ByAthlete, 2)}, ByAthlete, ByAthlete},
		"another account was linked since":     {[]Body{linked, yes(ByAthlete, 1), yes(ByGuardian, 1), Linked{Account: "y"}}, ByAthlete, ByAthlete},
		"the account was parted":               {[]Body{linked, yes(ByAthlete, 1), Linked{}}, ByAthlete, ByAthlete},
		"left the roster":                      {[]Body{linked, yes(ByAthlete, 1), Departed{}}, ByAthlete, ByAthlete},
		"the next account's holder agreed too": {[]Body{linked, yes(ByAthlete, 1), Linked{Account: "y"}, yes(ByAthlete, 1)}, "", ByGuardian},
	} {
		var entries []Entry
		for i, b := range c.said {
			entries = append(entries, Entry{Seq: int64(i + 1), At: time.Date(2026, 3, 2, 12, i, 0, 0, time.UTC), Body: b})
		}
		got := Fold(Athlete{}, entries).Consent
		if got.Lacks(1, false) != c.grown || got.Lacks(1, true) != c.minor {
			t.Errorf("%s: a grown-up lacks %q, not %q; a minor %q, not %q", name, got.Lacks(1, false), c.grown, got.Lacks(1, true), c.minor)
		}
	}
}
