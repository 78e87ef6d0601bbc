package console

import (
	"context"
	"fmt"
	"hash/fnv"
	"io"
	"strings"

	"footing/bot"
	"footing/commands"
	"footing/rehab"
)

// Team is a team file: settings, then the roster as an import reads it.
//
//	name,Harbour Rovers
//	zone,Pacific/Auckland
//	report,07:30
//	shirt,name,position,born,leg,sex,nick
//	7,Mere Tau,wing,1999,88,female,Mez
//
// A setting may be left out; so may the roster.
type Team struct {
	Name, Zone, ReportAt string
	StrictMinors         bool
	Roster               []byte // the file as it was read; nil without a roster in it
}

// ReadTeam reads a team file. The error names the line.
func ReadTeam(r io.Reader) (Team, error) {
	t := Team{}
	text, err := io.ReadAll(r)
	if err != nil {
		return t, fmt.Errorf("reading the team file: %w", err)
	}
	settings, columns, err := commands.ReadSettings(text)
	if err != nil {
		return t, fmt.Errorf("team file, %w", err)
	}
	for _, s := range settings {
		if err := t.set(s.Key, s.Value); err != nil {
			return t, fmt.Errorf("team file, line %d: %w", s.Line, err)
		}
	}
	if !columns {
		return t, nil
	}
	rows, err := commands.ReadRoster(text)
	if err != nil {
		return t, fmt.Errorf("team file, %w", err)
	}
	for _, row := range rows {
		if row.Refused != "" {
			return t, fmt.Errorf("team file, line %d: %s", row.Line, row.Refused)
		}
	}
	t.Roster = text
	return t, nil
}

func (t *Team) set(key, value string) error {
	switch strings.ToLower(key) {
	case "name":
		t.Name = value
	case "zone":
		t.Zone = value
	case "report":
		t.ReportAt = value
	case "minors":
		t.StrictMinors = value == "strict"
	default:
		return fmt.Errorf("no setting %q; there are name, zone, report and minors", key)
	}
	return nil
}

// enrol imports the team file's roster, through the same door as everyone. A file that an earlier run
// has imported is known by its key and does nothing.
func (c *Console) enrol(ctx context.Context) error {
	if c.Team.Roster == nil {
		return nil
	}
	c.muted = true
	defer func() { c.muted = false }()
	h := fnv.New64a()
	_, _ = h.Write(c.Team.Roster)
	before := len(c.shown)
	c.submit(ctx, sentLine{key: fmt.Sprintf("team-file-%x", h.Sum64()), person: person{author: "owner", roles: []rehab.Role{rehab.Owner}}, place: bot.StaffRoom, file: c.Team.Roster}, bot.Created, "import", "")
	for _, m := range c.shown[before:] {
		if strings.Contains(m.Text, " refused") {
			return fmt.Errorf("team file: %s", m.Text)
		}
	}
	c.set(c.At)
	return c.failed
}
