package commands

import (
	"context"
	"slices"

	"footing/rehab"
)

type pastArgs struct {
	Athlete rehab.Athlete
	Side    rehab.Side
	Sprains float64
	Had     []string
	Note    string
}

// Past records what an athlete brought with them.
var Past = New(Def[pastArgs]{
	Name:    "past",
	Summary: "What an ankle went through before: sprains in the last 12 months, surgery, lax joints, or none.",
	Needs:   rehab.LogMedical,
	Privacy: MedicalOnly,
	Fields: func(a *pastArgs) []Field {
		had := Flags("had", &a.Had, pastWords, nil)
		had.Usage = "surgery | lax | none"
		return []Field{Athlete(&a.Athlete), Opt(Side(&a.Side)), Opt(Keyed("sprains", &a.Sprains, 1, 20, true, "sprains", "sprain")), had, Note(&a.Note)}
	},
	Subject:  func(a *pastArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"past 7 left sprains 2, surgery, lax note: ligament repair 2024", "past 7 right none"},
	Run:      recordPast,
})

var pastWords = NewWords(
	Word{"surgery", []string{"operated", "operation"}},
	Word{"lax", []string{"laxity", "lax joints", "hypermobile"}},
	Word{"none", []string{"nothing"}},
)

func recordPast(ctx context.Context, env *Env, a pastArgs) (Reply, error) {
	has := func(word string) bool { return slices.Contains(a.Had, word) }
	p := rehab.Past{Side: a.Side, Sprains: int(a.Sprains), Surgery: has("surgery"), Lax: has("lax"), Text: a.Note}
	switch {
	case p.Nothing() && !has("none"):
		return Reply{}, refuse("Past what? For example: past %d left sprains 2, surgery, lax. Where there was nothing: past %d left none", a.Athlete.Shirt, a.Athlete.Shirt)
	case !p.Nothing() && has("none"):
		return Reply{}, refuse("Something and none: say one.")
	case a.Side == rehab.None && (p.Sprains > 0 || p.Surgery || has("none")):
		return askSide(env, "Which ankle?")
	}
	before, err := env.Records.Entries(ctx, a.Athlete.ID)
	if err != nil {
		return Reply{}, err
	}
	entry := rehab.Entry{Athlete: a.Athlete.ID, At: env.Told, Body: p}
	next := entry
	next.First = env.firstSeq(entry)
	for _, e := range before {
		next.Seq = max(next.Seq, e.Seq+1)
	}
	state := rehab.Fold(a.Athlete, append(slices.Clone(before), next))
	reply := Reply{Entries: []rehab.Entry{entry}}
	for _, side := range []rehab.Side{rehab.Left, rehab.Right} {
		if told, asked := state.Past[side]; asked && (a.Side == rehab.None || a.Side == side) {
			reply.Lines = append(reply.Lines, "On record for "+a.Athlete.Label()+", "+string(side)+": "+sayPast(told)+".")
			if told.Sprains > 0 || told.Surgery {
				reply.Lines = append(reply.Lines, "Comparisons of the "+string(side.Other())+" ankle with it will say so.")
			}
		}
	}
	reply.Lines[0] += env.noted(a.Athlete, a.Note)
	return reply, nil
}

func sayPast(p rehab.Past) string {
	if p.Nothing() {
		return "nothing before"
	}
	sprains, surgery, lax := "", "", ""
	if p.Sprains > 0 {
		sprains = plural(p.Sprains, "sprain") + " in the 12 months before"
	}
	if p.Surgery {
		surgery = "surgery"
	}
	if p.Lax {
		lax = "lax joints"
	}
	return join(", ", sprains, surgery, lax)
}
