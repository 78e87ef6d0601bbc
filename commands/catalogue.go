package commands

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"footing/rehab"
)

type drillArgs struct{ Key string }

// DrillCmd explains one drill of the catalogue.
var DrillCmd = New(Def[drillArgs]{
	Name:     "drill",
	Summary:  "One drill: what it trains, its levels, how to do it and when to stop.",
	Needs:    rehab.Ask,
	Privacy:  Anyone,
	Fields:   func(a *drillArgs) []Field { return []Field{drillField(&a.Key)} },
	Examples: []string{"drill pogo-one", "drill band-out"},
	Run: func(_ context.Context, env *Env, a drillArgs) (Reply, error) {
		d, _ := env.Lang.Protocol.Drill(a.Key)
		return yours(env, lines(drillCard(env.Lang.Protocol, d)...)), nil
	},
})

type drillsArgs struct {
	Stage string
	Kit   []string // "band", or "no-band"
}

// DrillsCmd lists what a stage has to offer.
var DrillsCmd = New(Def[drillsArgs]{
	Name:     "drills",
	Summary:  "The drills of a stage; drills load band, or no-band, for what there is.",
	Needs:    rehab.Ask,
	Privacy:  Anyone,
	Fields:   func(a *drillsArgs) []Field { return []Field{Opt(stageField(&a.Stage)), kitField(&a.Kit)} },
	Examples: []string{"drills load", "drills settle no-kit", "drills sport ball no-band"},
	Run: func(_ context.Context, env *Env, a drillsArgs) (Reply, error) {
		reply, err := drillList(env.Lang.Protocol, a)
		return yours(env, reply), err
	},
})

// yours reminds an athlete that a catalogue is nobody's plan.
func yours(env *Env, reply Reply) Reply {
	if slices.Contains(env.Actor.Roles, rehab.AthleteRole) {
		reply.Lines = append(reply.Lines, "Do only what your own plan says. For it type: plan")
	}
	return reply
}

// drillField is a drill by its key. What is none is answered with the keys it may have meant.
func drillField(to *string) Field {
	vocabulary := func(l *Lang) []phrase { return l.drills }
	f := oneOf("drill", to, "a drill's short name, as drills load lists them", vocabulary)
	f.match = func(r *reader) (int, func() error, error) {
		meaning, n := longest(r, vocabulary(r.lang))
		if n > 0 {
			return n, func() error { return once("drill", to, meaning) }, nil
		}
		if stage, m := longest(r, stagePhrases(r.lang)); m > 0 {
			return 0, nil, refuse("%s is a stage. For its drills type: drills %s", upper(stage), stage)
		}
		if w := r.peek(0); *to != "" || slices.Contains(connectors, w) || slices.Contains(fillers, w) {
			return 0, nil, nil
		}
		return 0, nil, noDrill(r)
	}
	return f
}

// noDrill names the word that is no drill, and the drills whose key has a part of it, or one like it.
func noDrill(r *reader) error {
	typed := strings.Fields(r.from(0))[0]
	var near []string
	for _, p := range r.lang.drills {
		if len(near) < 4 && resembles(words(typed), p) {
			near = append(near, p.meaning)
		}
	}
	if len(near) == 0 {
		return refuse("There is no drill “%s”. To see a stage's drills type: drills load", typed)
	}
	return refuse("There is no drill “%s”. Near: %s. To see a stage's drills type: drills load", typed, strings.Join(near, ", "))
}

func resembles(typed []string, p phrase) bool {
	return slices.ContainsFunc(typed, func(w string) bool {
		return slices.Contains(p.words, w) || len(near(w, []phrase{p}, max(1, slips(w)))) > 0
	})
}

func stagePhrases(l *Lang) []phrase {
	var out []phrase
	for _, s := range l.Protocol.Stages {
		out = append(out, phrases(s.Key, s.Key, s.Name)...)
	}
	return out
}

// stageField is a stage by name. Who is typed in its place is shown where their own plan is.
func stageField(to *string) Field {
	f := oneOf("stage", to, "settle, load …: a stage", stagePhrases)
	f.match = func(r *reader) (int, func() error, error) {
		meaning, n := longest(r, stagePhrases(r.lang))
		if n > 0 {
			return n, func() error { return once("stage", to, meaning) }, nil
		}
		raw := r.toks[r.at].raw
		if _, n, _ := who(r); n > 0 || numberShape.MatchString(r.peek(0)) {
			return 0, nil, refuse("For %s's plan type: plan %s", raw, raw)
		}
		return 0, nil, nil
	}
	return f
}

// kitField is any of the kit that a drill must need, or must do without.
func kitField(to *[]string) Field {
	var list []phrase
	for _, k := range rehab.Kits {
		list = append(list, phrases(k, k)...)
		list = append(list, phrases("no-"+k, "no "+k, "without "+k)...)
	}
	list = append(list, phrases("no-kit", "no kit", "nothing", "without kit")...)
	return Field{
		Name: "kit", Usage: "band, ball …: only drills that need it; no-band …: only those that do not; no-kit", Optional: true, many: true,
		words: func(*Lang) []phrase { return list },
		match: func(r *reader) (int, func() error, error) {
			meaning, n := longest(r, list)
			return n, func() error { *to = append(*to, meaning); return nil }, nil
		},
		text: func() string { return strings.Join(*to, " ") },
	}
}

// fits reports whether a drill's kit is what some words of kitField ask for.
func fits(d rehab.Drill, asked []string) bool {
	return !slices.ContainsFunc(asked, func(word string) bool {
		kit, not := strings.CutPrefix(word, "no-")
		if kit == "kit" {
			return len(d.Kit) > 0
		}
		return slices.Contains(d.Kit, kit) == not
	})
}

// drillList names a stage's drills by what they train, each with what it needs.
func drillList(p *rehab.Protocol, a drillsArgs) (Reply, error) {
	if a.Stage == "" {
		return Reply{}, refuse("Of which stage? For example: drills load. For today's plan type: plan")
	}
	stage, _ := p.Stage(a.Stage)
	byQuality, n, first := map[string][]string{}, 0, ""
	for _, d := range p.Drills {
		if d.In(stage.Key) && fits(d, a.Kit) {
			byQuality[d.Quality] = append(byQuality[d.Quality], d.Key+needs(d))
			n, first = n+1, cmp.Or(first, d.Key)
		}
	}
	asked := strings.Join(a.Kit, ", ")
	if n == 0 {
		return Reply{}, refuse("Nothing in %s fits %s. All of its drills: drills %s", stage.Name, asked, stage.Key)
	}
	reply := lines(fmt.Sprintf("%s: %d drills. One in full: drill %s", join(", ", stage.Name, asked), n, first))
	for _, q := range rehab.Qualities {
		reply.Lines = append(reply.Lines, listed(upper(q), byQuality[q])...)
	}
	return reply, nil
}

func needs(d rehab.Drill) string {
	if len(d.Kit) == 0 {
		return ""
	}
	return " (" + strings.Join(d.Kit, ", ") + ")"
}

// drillCard explains a drill: what and for whom, its levels, how, and when to stop.
func drillCard(p *rehab.Protocol, d rehab.Drill) []string {
	kit := "needs nothing"
	if len(d.Kit) > 0 {
		kit = "needs " + strings.Join(d.Kit, " and ")
	}
	out := []string{fmt.Sprintf("%s (%s): %s, %s. %s.", upper(d.Name), d.Key, d.Quality, kit, span(p, d))}
	from := d.Stages[0]
	for i, l := range d.Levels {
		says := fmt.Sprintf("%d. %s (%d min", i+1, l.Dose, l.Minutes)
		if l.Contacts > 0 {
			says += fmt.Sprintf(", %d ground contacts", l.Contacts)
		}
		if says += ")"; l.From != "" && l.From != from {
			stage, _ := p.Stage(l.From)
			says, from = says+", from "+stage.Name, l.From
		}
		out = append(out, says)
	}
	out = append(out, fmt.Sprintf("How: %s. Stop: %s.", d.Cue, d.Stop))
	var balls []string
	for _, sport := range slices.Sorted(maps.Keys(d.Ball)) {
		balls = append(balls, sport+": "+d.Ball[sport])
	}
	if len(balls) > 0 {
		out = append(out, "Ball: "+strings.Join(balls, "; ")+".")
	}
	return out
}

// span names a drill's stages: the first to the last where none between is left out.
func span(p *rehab.Protocol, d rehab.Drill) string {
	var names []string
	first, last := len(p.Stages), 0
	for _, key := range d.Stages {
		stage, rank := p.Stage(key)
		names = append(names, stage.Name)
		first, last = min(first, rank), max(last, rank)
	}
	if n := len(names); n > 2 && n == last-first+1 {
		return names[0] + " to " + names[n-1]
	}
	return strings.Join(names, " and ")
}
