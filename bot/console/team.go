package console

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"hash/fnv"
	"io"
	"slices"
	"strings"

	"footing/bot"
	"footing/rehab"
)

// Team is a team file: settings, then the roster.
//
//	name,Harbour Rovers
//	zone,Pacific/Auckland
//	report,07:30
//	shirt,name,position,born,leg,sex,nick
//	7,Mere Tau,wing,1999,88,female,Mez
//
// A setting may be left out; so may every column but shirt and name, and their order is free.
type Team struct {
	Name, Zone, ReportAt string
	StrictMinors         bool
	Add                  []string // one add line per athlete
}

// ReadTeam reads a team file. The error names the line.
func ReadTeam(r io.Reader) (Team, error) {
	t := Team{}
	text, err := io.ReadAll(r)
	if err != nil {
		return t, fmt.Errorf("reading the team file: %w", err)
	}
	in := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, []byte("\ufeff"))))
	in.FieldsPerRecord, in.TrimLeadingSpace = -1, true
	var columns []string
	for {
		row, err := in.Read()
		if err == io.EOF {
			return t, nil
		}
		if err != nil {
			return t, fmt.Errorf("team file: %w", err)
		}
		line, _ := in.FieldPos(0)
		switch {
		case columns != nil:
			add, err := addLine(columns, row)
			if err != nil {
				return t, fmt.Errorf("team file, line %d: %w", line, err)
			}
			t.Add = append(t.Add, add)
		case slices.Contains(row, "shirt"):
			columns = row
		case len(row) < 2:
			return t, fmt.Errorf("team file, line %d: expected a setting and its value, like zone,Pacific/Auckland", line)
		default:
			if err := t.set(row[0], row[1]); err != nil {
				return t, fmt.Errorf("team file, line %d: %w", line, err)
			}
		}
	}
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

// addLine writes a row as the add command.
func addLine(columns, row []string) (string, error) {
	head, rest := "", ""
	for i, value := range row {
		value = strings.TrimSpace(strings.ReplaceAll(value, ",", " "))
		if i >= len(columns) || value == "" {
			continue
		}
		switch strings.ToLower(columns[i]) {
		case "shirt":
			head = "add " + value + head
		case "name":
			head += " " + value
		case "position", "sex":
			rest += ", " + value
		case "born", "leg", "nick":
			rest += ", " + strings.ToLower(columns[i]) + " " + value
		default:
			return "", fmt.Errorf("no column %q; there are shirt, name, position, born, leg, sex and nick", columns[i])
		}
	}
	return head + rest, nil
}

// enrol puts the team file's athletes on the roster, through the same door as everyone. A line that
// was enrolled by an earlier run is known by its key and does nothing.
func (c *Console) enrol(ctx context.Context) error {
	c.muted = true
	defer func() { c.muted = false }()
	for _, add := range c.Team.Add {
		h := fnv.New64a()
		_, _ = h.Write([]byte(add))
		before := len(c.shown)
		c.submit(ctx, sentLine{key: fmt.Sprintf("team-file-%x", h.Sum64()), author: "owner", roles: []rehab.Role{rehab.Owner}, place: bot.StaffRoom}, bot.Created, add, "")
		for _, m := range c.shown[before:] {
			if !strings.HasPrefix(m.Text, "On the roster") {
				return fmt.Errorf("team file, %q: %s", add, m.Text)
			}
		}
	}
	c.set(c.At)
	return c.failed
}
