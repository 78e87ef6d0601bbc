package rehab

import (
	"cmp"
	"slices"
	"time"
)

// State is everything known of one athlete, folded from the live entries. It depends on no clock
// and no protocol.
type State struct {
	Athlete  Athlete
	Episodes []Episode // by number
	Readings []Reading // every test, oldest first
	Seq      int64     // of the last entry folded

	Restrictions []Restriction // every one said, ended and over ones too, oldest first; Current reads them

	LastEpisode int // the highest episode number any entry names
}

// Episode is one ankle from sprain to return.
type Episode struct {
	Number   int
	Side     Side
	Protocol string    // hash of the protocol it follows
	At       time.Time // of the sprain that opened it
	Sprain   Sprained
	Entries  []Entry // all that belong to it, in the order they were first logged
}

// Reading is one test of one side as it was recorded.
type Reading struct {
	Tested
	At      time.Time
	Seq     int64
	Episode int
}

// Fold works out the state from an athlete's live entries, in any order. Entries of an episode
// whose sprain is no longer on record are left out of every episode; their tests still count as
// tests.
func Fold(a Athlete, entries []Entry) State {
	st := State{Athlete: a}
	ordered := slices.Clone(entries)
	slices.SortFunc(ordered, func(x, y Entry) int {
		return cmp.Or(cmp.Compare(x.Original(), y.Original()), cmp.Compare(x.Seq, y.Seq))
	})
	byNumber := map[int]*Episode{}
	for _, e := range ordered {
		st.Seq, st.LastEpisode = max(st.Seq, e.Seq), max(st.LastEpisode, e.Episode)
		if b, ok := e.Body.(Sprained); ok && !b.Again && byNumber[e.Episode] == nil {
			byNumber[e.Episode] = &Episode{Number: e.Episode, Side: b.Side, Protocol: b.Protocol, At: e.At, Sprain: b}
		}
		if b, ok := e.Body.(Tested); ok {
			st.Readings = append(st.Readings, Reading{Tested: b, At: e.At, Seq: e.Seq, Episode: e.Episode})
		}
	}
	st.Restrictions = restrictions(ordered)
	for _, e := range ordered {
		if ep := byNumber[e.Episode]; ep != nil {
			ep.Entries = append(ep.Entries, e)
		}
	}
	for _, ep := range byNumber {
		st.Episodes = append(st.Episodes, *ep)
	}
	slices.SortFunc(st.Episodes, func(x, y Episode) int { return cmp.Compare(x.Number, y.Number) })
	slices.SortFunc(st.Readings, func(x, y Reading) int {
		return cmp.Or(x.At.Compare(y.At), cmp.Compare(x.Seq, y.Seq))
	})
	return st
}

// each calls f with every entry of the episode whose body is a T, in the order first logged.
func each[T Body](ep Episode, f func(Entry, T)) {
	for _, e := range ep.Entries {
		if b, ok := e.Body.(T); ok {
			f(e, b)
		}
	}
}
