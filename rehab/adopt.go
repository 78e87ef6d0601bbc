package rehab

import (
	"slices"
	"strings"
)

// WouldChange says what another protocol would make of an open episode now: the criteria of its next gate
// that would read otherwise, in few words, and ok false when the episode cannot follow it, for its stage is
// not there.
func WouldChange(st State, v View, to *Protocol, s Setting) (says []string, ok bool) {
	if _, rank := to.Stage(v.Stage.Key); rank < 0 {
		return []string{"it has no stage " + v.Stage.Name}, false
	}
	if _, known := to.Course(v.Course.Key); !known {
		return []string{"it has no course " + v.Course.Name}, false
	}
	ep := v.Episode
	ep.Protocol = to.Hash
	s.Book = func(string) *Protocol { return to }
	w := assessEpisode(st, ep, s)
	was, is := v.Screening.Held(v.P), w.Screening.Held(to)
	switch {
	case is && !was:
		says = append(says, "it would be held")
	case was && !is:
		says = append(says, "it would not be held")
	}
	says = append(says, changed(v.Gate, w.Gate)...)
	if len(says) == 0 {
		says = []string{"nothing at the next gate"}
	}
	return says, true
}

// changed compares two readings of a gate by criterion.
func changed(was, is []Result) []string {
	at := func(list []Result, key string) int {
		return slices.IndexFunc(list, func(r Result) bool { return r.Criterion.Key == key })
	}
	var out []string
	for _, r := range is {
		i := at(was, r.Criterion.Key)
		switch {
		case i < 0:
			out = append(out, r.Criterion.Key+" is asked for")
		case was[i].Status != r.Status || was[i].Says != r.Says:
			out = append(out, was[i].Says+" → "+statusWord(r))
		}
	}
	for _, r := range was {
		if at(is, r.Criterion.Key) < 0 {
			out = append(out, r.Criterion.Key+" is no longer asked for")
		}
	}
	return out
}

func statusWord(r Result) string {
	return strings.Join([]string{strings.ReplaceAll(string(r.Status), "-", " "), r.Says}, ": ")
}
