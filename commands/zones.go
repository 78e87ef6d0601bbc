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

// nearZone is a zone whose name is close to what was typed.
type nearZone struct {
	name     string
	distance int
}

// nearZones lists the zones near a name, by all of it or by the place alone, nearest first: only those
// about as near as the nearest.
func nearZones(typed string) []nearZone {
	var list []nearZone
	want := Fold(typed)
	for _, z := range zoneNames {
		whole := Fold(z)
		place := whole[strings.LastIndexByte(whole, '/')+1:]
		d := edlib.OSADamerauLevenshteinDistance(want, whole)
		if p := edlib.OSADamerauLevenshteinDistance(want[strings.LastIndexByte(want, '/')+1:], place); len(place) > 3 && p <= 1 {
			d = min(d, p+1)
		}
		if d <= min(3, len(want)/3) {
			list = append(list, nearZone{z, d})
		}
	}
	slices.SortStableFunc(list, func(a, b nearZone) int { return cmp.Compare(a.distance, b.distance) })
	return slices.DeleteFunc(list, func(z nearZone) bool { return z.distance > list[0].distance+1 })
}

// noZone refuses a name, shorter or longer as it may be meant, and gives those near it.
func noZone(typed ...string) error {
	if typed[0] == "" {
		return refuse("Which zone? A name like zone Europe/London. Nothing was saved.")
	}
	var list []nearZone
	said := typed[0]
	for _, t := range typed {
		if found := nearZones(t); len(found) > 0 && (len(list) == 0 || found[0].distance < list[0].distance) {
			list, said = found, t
		}
	}
	if len(list) == 0 {
		return refuse("There is no zone “%s”: use a continent and a city, like zone Europe/London. Nothing was saved.", said)
	}
	var names []string
	for _, z := range list[:min(3, len(list))] {
		names = append(names, z.name)
	}
	return refuse("There is no zone “%s”. Near: %s. Nothing was saved.", said, strings.Join(names, ", "))
}
