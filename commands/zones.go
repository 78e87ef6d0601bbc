package commands

import (
	"cmp"
	_ "embed" // the names of the zones
	"slices"
	"strings"

	"github.com/hbollon/go-edlib"
)

// Every zone and alias of the IANA time zone database, one name a line. Go knows the zones but has no
// way to list them, and without a list none can be suggested.
//
//go:embed zones.txt
var zoneText string

var zoneNames = strings.Fields(zoneText)

// zoneNamed finds a zone by its name, however the letters are written; "" when there is none.
func zoneNamed(typed string) string {
	for _, z := range zoneNames {
		if strings.EqualFold(z, typed) {
			return z
		}
	}
	return ""
}

// noZone refuses a name and gives those that are near: by all of it, or by the place alone.
func noZone(typed string) error {
	if typed == "" {
		return refuse("Which zone? A name like zone Europe/London. Nothing was saved.")
	}
	type nearZone struct {
		name     string
		distance int
	}
	var list []nearZone
	want := Fold(typed)
	for _, z := range zoneNames {
		whole := Fold(z)
		place := whole[strings.LastIndexByte(whole, '/')+1:]
		d := edlib.OSADamerauLevenshteinDistance(want, whole)
		if p := edlib.OSADamerauLevenshteinDistance(want[strings.LastIndexByte(want, '/')+1:], place); len(place) > 3 && p <= 1 {
			d = min(d, p+1)
		}
		if d <= 3 {
			list = append(list, nearZone{z, d})
		}
	}
	if len(list) == 0 {
		return refuse("There is no zone “%s”: use a continent and a city, like zone Europe/London. Nothing was saved.", typed)
	}
	slices.SortStableFunc(list, func(a, b nearZone) int { return cmp.Compare(a.distance, b.distance) })
	var names []string
	for _, z := range list[:min(3, len(list))] {
		names = append(names, z.name)
	}
	return refuse("There is no zone “%s”. Near: %s. Nothing was saved.", typed, strings.Join(names, ", "))
}
