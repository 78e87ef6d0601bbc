package commands

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"footing/rehab"
)

// behind reads what stands behind some words as it was written, where that has a shape: a zone with its
// slashes, the id of a role. It gives the words taken, those of the key too.
func behind(r *reader, key []phrase, shape *regexp.Regexp) (value []string, n int) {
	_, n = longest(r, key)
	if n == 0 {
		return nil, 0
	}
	return r.written(n, shape, n)
}

// written reads a shape from the n-th word on; n is taken when it is not there.
func (r *reader) written(from int, shape *regexp.Regexp, n int) ([]string, int) {
	if r.at+from >= len(r.toks) {
		return nil, n
	}
	start := r.toks[r.at+from].from
	m := shape.FindStringSubmatch(r.line[start:])
	if m == nil {
		return nil, n
	}
	n = from
	for r.at+n < len(r.toks) && r.toks[r.at+n].from < start+len(m[0]) {
		n++
	}
	return m, n
}

// refKind is what a reference to something of the chat side names. A front may offer a picker for it.
type refKind struct {
	name  string
	open  string         // how the chat side begins a reference to one
	shape *regexp.Regexp // such a reference, which carries a number, or a bare id
}

// Anything in angle brackets is read, so that one of another kind can be named.
var (
	refShape   = regexp.MustCompile(`^<(@&|#|@!?)(\d+)>|^[@#]?([\p{L}\p{N}_.-]*[\p{L}\p{N}_])`)
	roleRef    = refKind{"role", "@&", refShape}
	channelRef = refKind{"channel", "#", refShape}
	accountRef = refKind{"account", "@", refShape}
)

// notIDs are words of the fields themselves, so that "medical channel" without one is no role.
var notIDs = []string{"channel", "room", "role", "roles"}

// read gives the id a reference names; written says that it is in the chat side's own form.
func (k refKind) read(m []string) (id string, written bool, err error) {
	if len(m) == 0 || m[2] == "" && slices.Contains(notIDs, strings.ToLower(m[3])) {
		return "", false, nil
	}
	if m[2] == "" {
		return m[3], false, nil
	}
	if strings.TrimSuffix(m[1], "!") != k.open {
		return "", false, refuse("%s is no %s. Nothing was saved.", m[0], k.name)
	}
	return m[2], true, nil
}

var digits = regexp.MustCompile(`^\d+$`)

// mention writes an id so that the chat side shows a name; an id that is none of its own stays as it is.
func (k refKind) mention(id string) string {
	if digits.MatchString(id) {
		return "<" + k.open + id + ">"
	}
	return id
}

func (k refKind) mentions(ids []string) string {
	var out []string
	for _, id := range ids {
		out = append(out, k.mention(id))
	}
	return strings.Join(out, " ")
}

// field takes references to roles or channels behind one of some words, at most so many.
func (k refKind) field(name string, most int, to *[]string, keys ...string) Field {
	key := phrases(name, append([]string{name}, keys...)...)
	return Field{
		Name: name, Usage: fmt.Sprintf("%s and the %s", name, k.name), Optional: true, many: true, Kind: Kind(k.name), lead: name + " ",
		words: func(*Lang) []phrase { return key },
		match: func(r *reader) (int, func() error, error) {
			m, n := behind(r, key, k.shape)
			if n == 0 {
				return 0, nil, nil
			}
			id, more, err := k.read(m)
			if len(m) > 0 && id == "" && err == nil {
				return 0, nil, nil // another field's words
			}
			if err == nil && id == "" {
				err = refuse("%s: which %s? Nothing was saved.", name, k.name)
			}
			ids := []string{id}
			for more && err == nil {
				if m, next := r.written(n, k.shape, n); len(m) > 0 && m[2] != "" && strings.TrimSuffix(m[1], "!") == k.open {
					ids, n = append(ids, m[2]), next
					continue
				}
				break
			}
			return n, func() error {
				if err != nil {
					return err
				}
				for _, id := range ids {
					if !slices.Contains(*to, id) {
						*to = append(*to, id)
					}
				}
				if len(*to) > most {
					return refuse("%s is given twice: %s. Say one.", name, k.mentions(*to))
				}
				return nil
			}, nil
		},
		text: func() string { return k.list(name, *to) },
	}
}

// list writes references the way the field reads them: those in the chat side's own form together, any
// other behind the key again.
func (k refKind) list(name string, ids []string) string {
	var out []string
	for i, id := range ids {
		if i == 0 || !digits.MatchString(id) || !digits.MatchString(ids[i-1]) {
			out = append(out, name)
		}
		out = append(out, k.mention(id))
	}
	return strings.Join(out, " ")
}

var (
	zoneKey   = phrases("zone", "zone", "time zone", "timezone")
	zoneShape = regexp.MustCompile(`^[\p{L}\p{N}_+-]+(?:/[\p{L}\p{N}_+-]+)*`)
)

// ZoneField is a field that takes a time zone by its name in the IANA database.
func ZoneField(to *string) Field {
	return Field{
		Name: "zone", Usage: "zone Pacific/Auckland", Optional: true, lead: "zone ",
		words: func(*Lang) []phrase { return zoneKey },
		match: func(r *reader) (int, func() error, error) {
			m, n := behind(r, zoneKey, zoneShape)
			if n == 0 {
				return 0, nil, nil
			}
			typed := ""
			if len(m) > 0 {
				typed = m[0]
			}
			zone, ways := zoneNamed(typed), []string{typed}
			for words := 1; zone == "" && typed != "" && words <= 2; words++ { // "America/New York"
				longer := strings.ReplaceAll(strings.TrimSpace(typed+" "+r.phrase(n, n+words)), " ", "_")
				ways = append(ways, longer)
				if zone = zoneNamed(longer); zone != "" {
					n += words
				}
			}
			return n, func() error {
				if zone == "" {
					return noZone(ways...)
				}
				return once("zone", to, zone)
			}, nil
		},
		text: func() string { return rehab.Prefixed("zone ", *to) },
	}
}

var clockKey = phrases("report", "report", "report time", "report at", "morning report")

var reportShape = regexp.MustCompile(`^(?:\d{1,2}[:.]?\d{0,2} ?(?i:[ap]m)?)`)

// ClockField is a field that takes a wall time by a clock of 24 hours behind a word.
func ClockField(to *string) Field {
	return Field{
		Name: "report", Usage: "report 07:30", Optional: true, lead: "report ",
		words: func(*Lang) []phrase { return clockKey },
		match: func(r *reader) (int, func() error, error) {
			m, n := behind(r, clockKey, reportShape)
			if n == 0 {
				return 0, nil, nil
			}
			return n, func() error {
				if len(m) == 0 {
					return refuse("The report needs a time by 24 hours: report 07:30. Nothing was saved.")
				}
				typed := strings.TrimSpace(m[0])
				at, err := time.Parse("15:04", typed)
				if err != nil {
					return refuse("The report time “%s” cannot be read: use 24 hours, report 07:30 or report 18:00. Nothing was saved.", typed)
				}
				return once("report", to, at.Format("15:04"))
			}, nil
		},
		text: func() string { return rehab.Prefixed("report ", *to) },
	}
}
