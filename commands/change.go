package commands

import (
	"context"
	"slices"
	"strings"

	"footing/rehab"
)

type changeArgs struct {
	Athlete  rehab.Athlete
	Shirt    float64
	Name     string
	Position string
	Born     string
	Sex      string
	Nick     string
	Leg      float64
}

// Change corrects the roster's row of an athlete. Only what is named changes.
var Change = New(Def[changeArgs]{
	Name:    "change",
	Summary: "Change a shirt, name, nickname, position, birth date, leg length or sex on the roster.",
	Needs:   rehab.ManageRoster,
	Privacy: Staff,
	Fields: func(a *changeArgs) []Field {
		return []Field{
			Athlete(&a.Athlete),
			Opt(Keyed("shirt", &a.Shirt, 1, 999, true, "shirt", "number")),
			Opt(segment("name", "name Mere Tau-Hale", &a.Name, changeKeys, "name")),
			Opt(segment("position", "position lock", &a.Position, changeKeys, "position", "pos")),
			Opt(segment("nickname", "nick Mez", &a.Nick, changeKeys, "nick", "nickname")),
			Opt(bornField(&a.Born)), Opt(Choice("sex", &a.Sex, sexes)),
			Opt(Keyed("leg", &a.Leg, 40, 140, false, "leg", "leg length")),
		}
	},
	Subject:  func(a *changeArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"change 7 shirt 17", "change 7 name Mere Tau-Hale, position lock, nick Mez, born 1999-04-30, leg 88.5, sex female"},
	Run:      changeAthlete,
})

var changeKeys = slices.Concat(addKeys, phrases("key", "shirt", "number", "name", "position", "pos", "dob", "leg length"))

func changeAthlete(ctx context.Context, env *Env, a changeArgs) (Reply, error) {
	typed := rehab.Athlete{Shirt: int(a.Shirt), Name: a.Name, Nick: a.Nick, Position: a.Position, Sex: a.Sex, Born: a.Born, Leg: a.Leg}
	if typed == (rehab.Athlete{}) {
		return Reply{}, refuse("Change what? For example: change %d position lock. There are shirt, name, nick, position, born, leg and sex.", a.Athlete.Shirt)
	}
	roster, err := env.Records.Athletes(ctx)
	if err != nil {
		return Reply{}, err
	}
	i := slices.IndexFunc(roster, func(r rehab.Athlete) bool { return r.ID == a.Athlete.ID })
	if i < 0 {
		return Reply{}, refuse("%s is no longer on the roster.", a.Athlete.Label())
	}
	put, fields := changed(roster[i], typed, env)
	if len(fields) == 0 {
		return Reply{}, refuse("Nothing to change: that is how %s is on the roster.", roster[i].Label())
	}
	if no := rowFault(put.Athlete, roster, env.Now); no != "" {
		return Reply{}, refuse("%s", no)
	}
	reply := lines("Changed " + roster[i].Label() + ": " + sayRow(put.Athlete, fields) + ".")
	reply.Put = []Put{put}
	return reply, nil
}

// changed is a row with what was typed in it, and the fields in which it is another.
func changed(row, typed rehab.Athlete, env *Env) (Put, []string) {
	fields := row.Differs(row.With(typed.Differs(rehab.Athlete{}), typed))
	body := rehab.Changed{Fields: fields, Was: rehab.Athlete{}.With(fields, row)}
	return Put{row.With(fields, typed), rehab.Entry{Athlete: row.ID, At: env.Told, Body: body}}, fields
}

// sayRow says some fields of a row.
func sayRow(a rehab.Athlete, fields []string) string {
	values := map[string]string{
		"shirt": exact(float64(a.Shirt)), "name": a.Name, "nick": a.Nick, "position": a.Position, "sex": a.Sex, "born": a.Born, "leg": rehab.Number(a.Leg) + " cm",
	}
	out := make([]string, len(fields))
	for i, f := range fields {
		out[i] = f + " " + values[f]
	}
	return strings.Join(out, ", ")
}
