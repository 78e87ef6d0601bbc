package commands

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"footing/rehab"
)

// row reads one line.
func (f rosterFile) row(line int, cells []string) ImportRow {
	row := ImportRow{Line: line}
	first, last := "", ""
	for i, c := range cells {
		c = plainCell(c)
		column := ""
		if i < len(f.columns) {
			column = f.columns[i]
		}
		no := ""
		switch {
		case c == "":
		case strings.ContainsAny(Fold(c)[:1], "=+-@"):
			no = fmt.Sprintf("the cell “%s” begins with %s, as a formula does. Type what it should say, or leave it empty.", clip(c), Fold(c)[:1])
		case column == "":
			no = fmt.Sprintf("“%s” stands in no column. A cell with a comma in it needs quotes.", clip(c))
		case column == "first name":
			first = c
		case column == "last name":
			last = c
		default:
			no = setCell(&row.Athlete, column, c)
		}
		if row.Refused == "" {
			row.Refused = no
		}
	}
	if first != "" || last != "" {
		row.Athlete.Name = strings.TrimSpace(plainName(first) + " " + plainName(last))
	}
	switch {
	case row.Refused != "":
	case row.Athlete.Shirt == 0:
		row.Refused = "there is no shirt number."
	case row.Athlete.Name == "":
		row.Refused = "there is no name."
	}
	return row
}

// setCell puts a cell into its column, or says why it cannot be.
func setCell(a *rehab.Athlete, column, c string) string {
	switch column {
	case "shirt":
		n, err := strconv.Atoi(strings.TrimPrefix(c, "#"))
		if err != nil || n < 1 || n > 999 {
			return fmt.Sprintf("shirt %s: a shirt number goes from 1 to 999.", clip(c))
		}
		a.Shirt = n
	case "name":
		a.Name = plainName(c)
	case "position":
		a.Position = c
	case "nick":
		a.Nick = c
	case "born":
		if _, err := time.Parse(time.DateOnly, c); !bornShape.MatchString(c) || len(c) > 4 && err != nil {
			return fmt.Sprintf("born %s is no date. Write 1999-04-30, or only the year.", clip(c))
		}
		a.Born = c
	case "leg":
		v, err := strconv.ParseFloat(legText(c), 64)
		if !numberShape.MatchString(legText(c)) || err != nil || v < 40 || v > 140 {
			return fmt.Sprintf("leg %s: a leg length goes from 40 to 140 cm.", clip(c))
		}
		a.Leg = v
	case "sex":
		if a.Sex = whole(c, sexes); a.Sex == "" {
			return fmt.Sprintf("sex %s is neither female nor male. Leave it empty where it is not known.", clip(c))
		}
	}
	return ""
}

func legText(c string) string {
	return strings.ReplaceAll(strings.TrimSpace(strings.TrimSuffix(Fold(c), "cm")), ",", ".")
}

// plainName is a name without the commas that would end it in a typed line.
func plainName(c string) string { return plainCell(strings.NewReplacer(",", " ", ";", " ").Replace(c)) }

// plainCell is a cell without what a spreadsheet adds and nobody means.
func plainCell(c string) string { return strings.Join(strings.Fields(clean(c)), " ") }

// clip is the beginning of a cell, for saying which one is meant.
func clip(c string) string {
	if r := []rune(c); len(r) > 30 {
		return string(r[:30]) + "…"
	}
	return c
}
