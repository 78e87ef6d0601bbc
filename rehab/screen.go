package rehab

import (
	"cmp"
	"maps"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Screening is what the examination so far says. Cleared means safe to treat on: complete, nothing
// holding it, nothing that makes it unreliable.
type Screening struct {
	Answers  map[string]Known
	Hits     []Rule     // rules that speak now, most urgent first, lifted ones left out
	Missing  []Question // not examined
	Complete bool
	Cleared  bool
	Series   []string // films advised: "ankle", "foot"
	Course   string   // course a lifted hold was left onto, or ""
	Lifted   string   // the reason given when the last hold was lifted
	reset    time.Time
}

// Known is a finding's latest answer.
type Known struct {
	Yes bool
	At  time.Time
	Seq int64
}

// Held reports whether a hold applies: no drills, no loading tests, unavailable.
func (s Screening) Held(p *Protocol) bool { return len(s.Holds(p)) > 0 }

// Holds lists the rules that hold the ankle, most urgent first.
func (s Screening) Holds(p *Protocol) []Rule {
	return slices.DeleteFunc(slices.Clone(s.Hits), func(r Rule) bool {
		o, _ := p.Outcome(r.Outcome)
		return !o.Holds
	})
}

// Recheck says what must be looked at again before any loading though nothing holds the ankle; empty
// when nothing must.
func (s Screening) Recheck(p *Protocol) string {
	for _, r := range s.Hits {
		if o, _ := p.Outcome(r.Outcome); r.Recheck && !o.Holds && !o.Bars {
			return lowerFirst(r.Says)
		}
	}
	return ""
}

// Negative reports whether the screen is complete and clean, without a hold ever lifted: what playing
// on at once needs.
func (s Screening) Negative(p *Protocol) bool {
	return s.Cleared && s.Lifted == "" && s.Recheck(p) == ""
}

// Examined reports whether anything at all was looked for since the last sprain.
func (s Screening) Examined() bool { return len(s.Answers) > 0 }

// screener walks an episode in the order things were logged. Holds follow that order, not the order
// in which things happened: a finding told late holds from the moment it is told.
type screener struct {
	p       *Protocol
	ep      Episode
	facts   map[string]bool
	answers map[string]Known
	active  map[string]bool // rules that hold or bar
	lifts   []Entry
	first   map[string]time.Time // when each finding was first answered since the last sprain
	reset   time.Time
	back    bool // returned to matches: what an athlete says then holds nothing, medical staff judge it
}

// Screen reads the episode's examinations against the protocol's rules at an instant.
func Screen(st State, ep Episode, p *Protocol, strictMinors bool, now time.Time) Screening {
	s := newScreener(st.Athlete, ep, p, strictMinors)
	for _, e := range ep.Entries {
		s.step(e)
	}
	return s.result(now)
}

func newScreener(a Athlete, ep Episode, p *Protocol, strictMinors bool) *screener {
	facts := ageFacts(a, ep.At)
	facts["strict-minors"] = strictMinors
	return &screener{p: p, ep: ep, facts: facts, answers: map[string]Known{}, active: map[string]bool{}, first: map[string]time.Time{}, reset: ep.At}
}

func ageFacts(a Athlete, day time.Time) map[string]bool {
	years, known := a.AgeOn(day)
	return map[string]bool{"under-18": known && years < 18, "under-16": known && years < 16}
}

func (s *screener) step(e Entry) {
	s.persist(e.At)
	switch b := e.Body.(type) {
	case Sprained:
		if b.Again {
			s.back = false
			s.startAgain(e.At, "new-sprain")
		}
	case Decided:
		s.back = b.Action != Stay && s.p.last(b.To) || b.Action == Stay && s.back
	case Responded:
		for _, key := range b.Alarms {
			if s.back {
				break
			}
			if a, ok := s.p.Alarm(key); ok && a.Resets {
				s.startAgain(e.At, "gave-way")
			} else {
				fact := "alarm-" + key
				s.raise(func(term string) bool { return term == fact }, map[string]bool{fact: true}, e.At)
			}
		}
	case Screened:
		s.examine(e, b)
	case Lifted:
		for _, key := range b.Rules {
			delete(s.active, key)
		}
		s.lifts = append(s.lifts, e)
	}
}

// startAgain forgets the examination: a new injury needs a new one.
func (s *screener) startAgain(at time.Time, fact string) {
	s.answers, s.first = map[string]Known{}, map[string]time.Time{}
	if at.After(s.reset) { // one told late takes nothing back from a later one
		s.reset = at
	}
	s.raise(func(term string) bool { return term == fact }, map[string]bool{fact: true}, s.reset)
}

func (s *screener) examine(e Entry, b Screened) {
	if e.At.Before(s.reset) && !s.reset.Equal(s.ep.At) {
		s.heed(e, b)
		return
	}
	s.forgetUnreliable(b)
	said := map[string]bool{}
	newest := maps.Clone(s.answers)
	for _, a := range b.Answers {
		said[a.Finding] = true
		if first, ok := s.first[a.Finding]; !ok || e.At.Before(first) {
			s.first[a.Finding] = e.At
		}
		s.answers[a.Finding] = Known{Yes: a.Yes, At: e.At, Seq: e.Seq}
	}
	// What is told late holds from now on, even where a later examination had denied it; but the
	// newest answer is the one that stands.
	s.raise(func(term string) bool { return said[strings.TrimPrefix(term, "not ")] }, nil, e.At)
	for key, old := range newest {
		if old.At.After(s.answers[key].At) {
			s.answers[key] = old
		}
	}
}

// heed takes a finding dated before the latest injury for a warning: it holds, and answers nothing.
func (s *screener) heed(e Entry, b Screened) {
	kept := s.answers
	s.answers = maps.Clone(kept)
	found := map[string]bool{}
	for _, a := range b.Answers {
		s.answers[a.Finding] = Known{Yes: a.Yes, At: e.At, Seq: e.Seq}
		found[a.Finding] = true
	}
	s.raise(func(term string) bool { return found[strings.TrimPrefix(term, "not ")] }, nil, s.reset)
	s.answers = kept
}

// forgetUnreliable drops an examination that could not be trusted, once what made it so has passed: a
// sober player is examined again. What it holds stays held.
func (s *screener) forgetUnreliable(b Screened) {
	passed := slices.ContainsFunc(b.Answers, func(a Answer) bool {
		known, ok := s.answers[a.Finding]
		return !a.Yes && ok && known.Yes && slices.ContainsFunc(s.p.Rules, func(r Rule) bool {
			o, _ := s.p.Outcome(r.Outcome)
			return o.Bars && !o.Holds && (slices.Contains(r.Any, a.Finding) || slices.Contains(r.All, a.Finding))
		})
	})
	if !passed {
		return
	}
	clear(s.answers)
	clear(s.first)
}

// raise activates every holding or barring rule that the latest entry touched and that fires.
func (s *screener) raise(touched func(term string) bool, extra map[string]bool, at time.Time) {
	for _, r := range s.p.Rules {
		o, _ := s.p.Outcome(r.Outcome)
		if (o.Holds || o.Bars) && !s.known(o) && (slices.ContainsFunc(r.All, touched) || slices.ContainsFunc(r.Any, touched)) && !at.Before(s.due(r)) && s.fires(r, extra) {
			s.active[r.Key] = true
		}
	}
}

// known reports whether a clinician already put the ankle on the course that an outcome leads to: what
// hurts there is expected, and its gates ask about it.
func (s *screener) known(o Outcome) bool {
	course := ""
	for _, e := range s.lifts {
		if !e.At.Before(s.reset) {
			course = e.Body.(Lifted).Course
		}
	}
	return o.Course != "" && o.Course == course
}

// due is when a rule begins to count.
func (s *screener) due(r Rule) time.Time {
	return s.reset.Add(time.Duration(r.FromHours) * time.Hour)
}

// persist activates the rules that time alone brings about: what was so when they fell due, and was
// not lifted since.
func (s *screener) persist(until time.Time) {
	for _, r := range s.p.Rules {
		if due := s.due(r); r.FromHours > 0 && !until.Before(due) && s.fires(r, nil) && !s.liftedSince(due) {
			s.active[r.Key] = true
		}
	}
}

func (s *screener) fires(r Rule, extra map[string]bool) bool {
	is := func(term string) bool {
		if key, no := strings.CutPrefix(term, "not "); no {
			k, ok := s.answers[key]
			return ok && !k.Yes
		}
		if term == "under-18" && s.answers["under-16"].Yes {
			return true
		}
		return s.answers[term].Yes || s.facts[term] || extra[term]
	}
	for _, term := range r.All {
		if !is(term) {
			return false
		}
	}
	if len(r.Any) > 0 && !slices.ContainsFunc(r.Any, is) {
		return false
	}
	return r.OverDays == 0 || s.examined(r).Sub(s.reset) > time.Duration(r.OverDays)*24*time.Hour
}

// examined is when the last of the findings a rule asks about was first looked for; the last sprain,
// when none was.
func (s *screener) examined(r Rule) time.Time {
	last := s.reset
	for _, key := range r.Examined {
		if at, ok := s.first[key]; ok && at.After(last) {
			last = at
		}
	}
	return last
}

// speaks decides whether a rule counts at the end of the walk.
func (s *screener) speaks(r Rule) bool {
	o, _ := s.p.Outcome(r.Outcome)
	switch {
	case o.Holds:
		return s.active[r.Key]
	case o.Bars && !onlyFacts(r, s.facts):
		return s.active[r.Key] && s.fires(r, nil)
	case o.Bars:
		return s.fires(r, nil) && !s.liftedSince(s.examined(r))
	}
	return s.fires(r, nil)
}

// onlyFacts reports whether a rule rests on no finding, so that no examination touches it.
func onlyFacts(r Rule, facts map[string]bool) bool {
	isFact := func(term string) bool { _, ok := facts[term]; return ok }
	return len(r.Any) == 0 && !slices.ContainsFunc(r.All, func(t string) bool { return !isFact(t) })
}

func (s *screener) liftedSince(t time.Time) bool {
	// When it happened, which for an edited one is when it was first told.
	return slices.ContainsFunc(s.lifts, func(e Entry) bool { return !e.At.Before(t) && !e.At.Before(s.reset) })
}

func (s *screener) result(now time.Time) Screening {
	s.persist(now)
	out := Screening{Answers: s.answers, reset: s.reset}
	barred := false
	for _, r := range s.p.Rules {
		if s.speaks(r) {
			out.Hits = append(out.Hits, r)
			o, _ := s.p.Outcome(r.Outcome)
			barred = barred || o.Holds || o.Bars
		}
	}
	slices.SortStableFunc(out.Hits, func(x, y Rule) int {
		_, i := s.p.Outcome(x.Outcome)
		_, j := s.p.Outcome(y.Outcome)
		return cmp.Compare(i, j)
	})
	for _, q := range s.p.Questions {
		if !s.answered(q) {
			q.Open = s.open(q)
			out.Missing = append(out.Missing, q)
		}
	}
	for _, e := range s.lifts {
		if !e.At.Before(s.reset) {
			b := e.Body.(Lifted)
			out.Course, out.Lifted = b.Course, b.Reason
		}
	}
	out.Complete = out.Examined() && len(out.Missing) == 0
	out.Cleared = out.Complete && !barred
	out.Series = series(out.Hits)
	return out
}

func (s *screener) answered(q Question) bool {
	applies := func(fact string) bool { return s.facts[fact] || s.answers[fact].Yes }
	if len(q.OnlyIf) > 0 && !slices.ContainsFunc(q.OnlyIf, applies) {
		return true
	}
	has := func(key string) bool { _, ok := s.answers[key]; return ok }
	if slices.ContainsFunc(q.Any, has) {
		return true
	}
	return len(q.All) > 0 && !slices.ContainsFunc(q.All, func(k string) bool { return !has(k) })
}

// open lists what a question answered in part still asks for; nothing when none of it was answered.
func (s *screener) open(q Question) []string {
	open := slices.DeleteFunc(slices.Clone(q.All), func(key string) bool { _, ok := s.answers[key]; return ok })
	if len(open) == len(q.All) {
		return nil
	}
	return open
}

// series collects the films the rules name; a fallback rule's count only when no other names one.
func series(hits []Rule) []string {
	var named, fallback []string
	for _, r := range hits {
		if r.Fallback {
			fallback = append(fallback, r.Series...)
		} else {
			named = append(named, r.Series...)
		}
	}
	if len(named) == 0 {
		named = fallback
	}
	slices.Sort(named)
	return slices.Compact(named)
}

// lowerFirst is a sentence as part of another.
func lowerFirst(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToLower(first)) + s[n:]
}
