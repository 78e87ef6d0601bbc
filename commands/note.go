package commands

import (
	"context"

	"footing/rehab"
)

type noteArgs struct {
	Athlete rehab.Athlete
	Text    string
}

// NoteCmd keeps free text for medical eyes only.
var NoteCmd = New(Def[noteArgs]{
	Name:    "note",
	Summary: "Keep a note, for medical eyes only.",
	Needs:   rehab.LogMedical,
	Privacy: MedicalOnly,
	Fields: func(a *noteArgs) []Field {
		return []Field{Athlete(&a.Athlete), Rest("text", ": text", &a.Text)}
	},
	Subject:  func(a *noteArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"note 7: prefers lace-up brace"},
	Run: func(ctx context.Context, env *Env, a noteArgs) (Reply, error) {
		state, err := env.Assess(ctx, a.Athlete)
		if err != nil {
			return Reply{}, err
		}
		v, _ := state.OpenOn(rehab.None)
		reply := lines(a.Athlete.Label() + ":" + env.noted(a.Athlete, a.Text))
		reply.Entries = []rehab.Entry{{Athlete: a.Athlete.ID, Episode: v.Number, At: env.Told, Body: rehab.Noted{Text: a.Text}}}
		return reply, nil
	},
})
