package rehab

import (
	"maps"
	"time"
)

// Stint is the time spent on one stage of a course. It is not finished while the athlete is in the
// stage, or was put back before its gate: of such a stint only a least length is known.
type Stint struct {
	Stage    string
	Days     int // local midnights passed in it while nothing held the ankle
	Finished bool
}

// Stints lists the stints of an episode up to now, the finished ones first, the present one last.
//
// A day is a local midnight passed in a stage. Several gates of one sitting make stints of no days. A
// midnight under a hold counts for no stage, as known that night: what a later edit says of the hold
// counts from when it was told. A stage that is left by a step back, a new sprain or a giving way is
// not finished; when it is taken up again its days go on from where they were.
//
// There are none for an ankle that played on without a course, nor where no course is guided.
func (v View) Stints(now time.Time) []Stint {
	if !v.Course.Guided || v.Rank < 0 || v.Playing.On {
		return nil
	}
	nights := v.nights(now)
	var done []Stint
	spent := map[int]int{} // days put into stages that are not finished
	rank, since := 0, v.At
	move := func(to int, at time.Time) {
		spent[rank] += count(nights, since, at)
		for ; rank < to; rank++ {
			done = append(done, Stint{v.P.Stages[rank].Key, spent[rank], true})
			delete(spent, rank)
		}
		rank, since = to, at
	}
	for _, m := range moves(v.Episode, v.P) {
		if _, to := v.P.Stage(m.to); to >= 0 {
			move(to, m.at)
		}
	}
	end := len(v.P.Stages) - 1
	if rank >= end {
		return done
	}
	spent[rank] += count(nights, since, now)
	for i := end - 1; i > rank; i-- {
		if spent[i] > 0 {
			done = append(done, Stint{v.P.Stages[i].Key, spent[i], false})
		}
	}
	return append(done, Stint{v.P.Stages[rank].Key, spent[rank], false})
}

// nights are the local midnights from the sprain to now at which nothing held the ankle, going by what
// had been told by then. Entries stand in the order first told, so none was told after its successor.
func (v View) nights(now time.Time) []time.Time {
	told := make([]time.Time, len(v.Entries))
	for i := len(told) - 1; i >= 0; i-- {
		told[i] = v.Entries[i].Logged
		if i+1 < len(told) {
			told[i] = earlier(told[i], told[i+1])
		}
	}
	s := newScreener(v.athlete, v.Episode, v.P, v.strict)
	var free []time.Time
	seen := 0
	zone := now.Location()
	for n := 1; ; n++ {
		y, m, d := v.At.In(zone).Date()
		night := time.Date(y, m, d+n, 0, 0, 0, 0, zone)
		if night.After(now) {
			return free
		}
		for ; seen < len(told) && !told[seen].After(night); seen++ {
			s.step(v.Entries[seen])
		}
		if !s.heldAt(night) {
			free = append(free, night)
		}
	}
}

// heldAt reports whether a hold applies at an instant, going by the entries walked so far.
func (s *screener) heldAt(t time.Time) bool {
	then := *s
	then.active = maps.Clone(s.active)
	then.persist(t)
	for key := range then.active {
		for _, r := range s.p.Rules {
			if o, _ := s.p.Outcome(r.Outcome); r.Key == key && o.Holds {
				return true
			}
		}
	}
	return false
}

func count(nights []time.Time, from, to time.Time) int {
	n := 0
	for _, night := range nights {
		if night.After(from) && !night.After(to) {
			n++
		}
	}
	return n
}
