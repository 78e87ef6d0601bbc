package commands

import (
	"context"
	"fmt"
	"strings"

	"footing/rehab"
)

type importArgs struct{ Dry string }

// Import takes a whole roster from a file. Each line is taken whole or not at all.
var Import = New(Def[importArgs]{
	Name:     "import",
	Summary:  "Take the roster from an attached CSV file; import dry only says what would happen.",
	Needs:    rehab.ManageRoster,
	Privacy:  Staff,
	Fields:   func(a *importArgs) []Field { return []Field{Opt(Choice("dry", &a.Dry, dryWords)), Attached()} },
	Examples: []string{"import", "import dry"},
	Run:      importRoster,
})

var dryWords = NewWords(Word{"dry", []string{"dry run", "check"}})

// importSaid is how many lines of a file are named one by one in the reply.
const importSaid = 20

func importRoster(ctx context.Context, env *Env, a importArgs) (Reply, error) {
	if len(env.Replaces) > 0 {
		return Reply{}, refuse("An import is not edited: undo it, then send the file again.")
	}
	if env.NoFile != "" {
		return Reply{}, refuse("%s", env.NoFile)
	}
	if isCalendar(env.File) {
		return importCalendar(ctx, env)
	}
	if env.File == nil {
		return Reply{}, refuse("Attach the roster as a CSV file. Its first line names the columns: %s.", columnList)
	}
	rows, err := ReadRoster(env.File)
	if err != nil {
		return Reply{}, err
	}
	roster, err := lockRoster(ctx, env.Records)
	if err != nil {
		return Reply{}, err
	}
	in := newImporter(env, roster)
	var said []string
	for _, row := range rows {
		if says, refused := in.take(row); refused || len(rows) <= importSaid {
			said = append(said, fmt.Sprintf("line %d: %s", row.Line, says))
		}
	}
	if extra := len(said) - importSaid; extra > 0 {
		said = append(said[:importSaid], fmt.Sprintf("and %d more refused.", extra))
	}
	head := "Import: " + in.counts() + "."
	if a.Dry != "" {
		return lines(append([]string{"Dry run, nothing was changed. " + head}, said...)...), nil
	}
	reply := lines(append([]string{head}, said...)...)
	reply.Put = in.put
	return reply, nil
}

// lockRoster reads the roster once nobody else can change it.
func lockRoster(ctx context.Context, rec Records) ([]rehab.Athlete, error) {
	roster, err := rec.Athletes(ctx)
	if err != nil {
		return nil, err
	}
	if err := lock(ctx, rec, roster, func(a rehab.Athlete) int64 { return a.ID }); err != nil {
		return nil, err
	}
	return rec.Athletes(ctx)
}

// importer judges a file's lines against the roster.
type importer struct {
	env     *Env
	byShirt map[int]rehab.Athlete
	byName  map[string]rehab.Athlete
	put     []Put
	count   map[string]int
}

func newImporter(env *Env, roster []rehab.Athlete) *importer {
	in := &importer{env: env, byShirt: map[int]rehab.Athlete{}, byName: map[string]rehab.Athlete{}, count: map[string]int{}}
	for _, a := range roster {
		in.byShirt[a.Shirt], in.byName[Fold(a.Name)] = a, a
	}
	return in
}

// take judges one line: added, changed, unchanged, or refused and why.
func (in *importer) take(row ImportRow) (says string, refused bool) {
	a, fields, no := in.judge(row)
	switch {
	case no != "":
		in.count["refused"]++
		return "refused: " + no, true
	case a.Athlete.ID == 0:
		in.count["added"]++
		in.put = append(in.put, a)
		return "added: " + a.Athlete.Label(), false
	case len(fields) > 0:
		in.count["changed"]++
		in.put = append(in.put, a)
		return "changed: " + a.Athlete.Label() + ", " + strings.Join(fields, ", "), false
	}
	in.count["unchanged"]++
	return "unchanged: " + a.Athlete.Label(), false
}

// judge is what a line would do. An athlete is known by shirt and name together: where only one of
// them fits, a person decides.
func (in *importer) judge(row ImportRow) (p Put, fields []string, no string) {
	a := row.Athlete
	if row.Refused != "" {
		return p, nil, row.Refused
	}
	here, worn := in.byShirt[a.Shirt]
	switch there, known := in.byName[Fold(a.Name)]; {
	case worn && Fold(here.Name) == Fold(a.Name):
		a.Name = here.Name // as it is spelt on the roster
		p, fields = changed(here, a, in.env)
	case worn:
		return p, nil, fmt.Sprintf("%d is worn by %s, not %s.", a.Shirt, here.Name, a.Name)
	case known:
		return p, nil, fmt.Sprintf("%s is on the roster with %d. For a new shirt type: change %d shirt %d", there.Name, there.Shirt, there.Shirt, a.Shirt)
	default:
		a.Active = true
		p = joined(a, in.env.Told)
	}
	return p, fields, rowFault(p.Athlete, nil, in.env.Now)
}

// counts says how many lines of each kind there were.
func (in *importer) counts() string {
	var out []string
	for _, kind := range []string{"added", "changed", "unchanged", "refused"} {
		if n := in.count[kind]; n > 0 {
			out = append(out, fmt.Sprintf("%d %s", n, kind))
		}
	}
	if len(out) == 0 {
		return "no athlete in that file"
	}
	return strings.Join(out, ", ")
}
