package commands

import (
	"cmp"
	"strings"
	"sync"
	"time"

	"footing/rehab"
)

// Vocabulary is a protocol's words, split once for comparing. It is built once per protocol and
// shared by every line read under it.
type Vocabulary struct {
	Protocol *rehab.Protocol
	findings []phrase // meaning: "+key", "-key", "group key", "?key"
	denial   []phrase // phrases that may follow "no": meaning the finding's key
	tests    []phrase
	courses  []phrase
	alarms   []phrase
	checks   []phrase // for playing on
	drills   []phrase
	flags    []phrase            // emergencies and alarms
	choices  map[string][]phrase // per test answered in words
	values   map[string][]phrase // per test, words for a value: meaning the value
	alone    []phrase            // whole answers without the test's name: meaning "gait=limp", "pain-walking=0"

	names names // of whoever was on a squad
}

// NewVocabulary splits a protocol's words.
func NewVocabulary(p *rehab.Protocol) *Vocabulary {
	v := &Vocabulary{Protocol: p, choices: map[string][]phrase{}, values: map[string][]phrase{}}
	for _, f := range p.Findings {
		v.findings = append(v.findings, phrases("+"+f.Key, f.Yes...)...)
		v.findings = append(v.findings, phrases("-"+f.Key, f.No...)...)
		v.denial = append(v.denial, phrases(f.Key, f.Yes...)...)
		if strings.HasPrefix(f.Name, "tender ") {
			for _, way := range f.Yes {
				v.findings = append(v.findings, phrases("+"+f.Key, "tender "+way, "sore "+way)...)
				v.denial = append(v.denial, phrases(f.Key, "tender "+way)...)
				v.findings = append(v.findings, phrases("-"+f.Key, painless(way)...)...)
			}
		}
		if f.Needs {
			v.findings = append(v.findings, phrases("?"+f.Key, f.Key)...)
		}
	}
	for _, g := range p.Groups {
		v.findings = append(v.findings, phrases("="+g.Phrase, append([]string{g.Phrase}, g.Words...)...)...)
	}
	for _, t := range p.Tests {
		if len(t.Of) > 0 {
			continue // worked out, never typed
		}
		v.tests = append(v.tests, phrases(t.Key, t.Words...)...)
		for _, c := range t.Choices {
			v.choices[t.Key] = append(v.choices[t.Key], phrases(c, c)...)
		}
		for _, n := range t.Named {
			v.alone = append(v.alone, phrases(t.Key+"="+cmp.Or(n.Choice, exact(n.Value)), n.Alone...)...)
			if n.Choice != "" {
				v.choices[t.Key] = append(v.choices[t.Key], phrases(n.Choice, n.Words...)...)
				continue
			}
			v.values[t.Key] = append(v.values[t.Key], phrases(exact(n.Value), n.Words...)...)
		}
	}
	for _, c := range p.Courses {
		v.courses = append(v.courses, phrases(c.Key, c.Words...)...)
	}
	for _, a := range p.Alarms {
		v.alarms = append(v.alarms, phrases(a.Key, append([]string{a.Key}, a.Words...)...)...)
	}
	for _, c := range p.PlayOn.Checks {
		v.checks = append(v.checks, phrases(c.Key, append([]string{c.Key}, c.Words...)...)...)
	}
	for _, d := range p.Drills {
		v.drills = append(v.drills, phrases(d.Key, d.Key)...)
	}
	for _, a := range p.Alarms {
		v.flags = append(v.flags, phrases(a.Name, a.Words...)...)
	}
	for _, r := range p.Rules {
		if o, _ := p.Outcome(r.Outcome); !o.Alone {
			continue
		}
		for _, term := range r.Any {
			if f, ok := p.Finding(term); ok {
				v.flags = append(v.flags, phrases(f.Name, f.Yes...)...)
			}
		}
	}
	return v
}

// mostNames is how many names are kept split: those of some hundred squads.
const mostNames = 10000

// names keeps names split into words: the same squad is read with every line. It is safe for concurrent use.
type names struct {
	mu   sync.Mutex
	list map[string][]string
}

func (n *names) words(name string) []string {
	n.mu.Lock()
	defer n.mu.Unlock()
	list, known := n.list[name]
	if known {
		return list
	}
	if n.list == nil || len(n.list) >= mostNames {
		n.list = map[string][]string{}
	}
	list = words(name)
	n.list[name] = list
	return list
}

// painless are the ways of saying that a place is not tender. "No" and the place is understood anyway.
func painless(place string) []string {
	out := []string{"no " + place + " tenderness"}
	for _, says := range []string{"ok", "nad", "fine", "not sore", "not tender", "no tenderness"} {
		out = append(out, place+" "+says)
	}
	return out
}

// Lang is what a line is read against: the words, the squad, and the moment and zone it was sent in.
type Lang struct {
	*Vocabulary
	Roster []rehab.Athlete // active, by shirt; set by SetRoster
	Now    time.Time       // when it was sent, in the team's zone
	Self   rehab.Athlete   // who writes, when it is an athlete about themselves: a number is then a score, no shirt

	names [][][]string // of the roster: each athlete's name and nickname, split once
}

// SetRoster says whose names may be typed.
func (l *Lang) SetRoster(roster []rehab.Athlete) {
	l.Roster, l.names = roster, make([][][]string, len(roster))
	for i, a := range roster {
		l.names[i] = [][]string{l.Vocabulary.names.words(a.Name), l.Vocabulary.names.words(a.Nick)}
	}
}
