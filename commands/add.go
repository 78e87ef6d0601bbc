package commands

import (
	"context"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"footing/rehab"
)

type addArgs struct {
	Who      newcomer
	Position string
	Born     string
	Sex      string
	Nick     string
	Leg      float64
}

type newcomer struct {
	Shirt int
	Name  string
}

// Add puts an athlete on the roster.
var Add = New(Def[addArgs]{
	Name:    "add",
	Also:    []string{"new player", "new athlete"},
	Summary: "Put an athlete on the roster.",
	Needs:   rehab.ManageRoster,
	Privacy: Staff,
	Fields: func(a *addArgs) []Field {
		return []Field{
			newcomerField(&a.Who), Opt(bornField(&a.Born)),
			Opt(Choice("sex", &a.Sex, sexes)),
			Opt(Keyed("leg", &a.Leg, 40, 140, false, "leg", "leg length")),
			Opt(segment("nickname", "nick Mez", &a.Nick, addKeys, "nick", "nickname")),
			Opt(segment("position", "wing", &a.Position, addKeys)),
		}
	},
	Examples: []string{"add 7 Mere Tau, wing, born 1999, leg 88", "add 12 Ana Reed, centre, female, nick Annie, born 2009-05-02"},
	Run:      addAthlete,
})

func addAthlete(ctx context.Context, env *Env, a addArgs) (Reply, error) {
	roster, err := env.Records.Athletes(ctx)
	if err != nil {
		return Reply{}, err
	}
	id := int64(0)
	for _, e := range env.Replaces {
		if _, ok := e.Body.(rehab.Joined); ok {
			id = e.Athlete
		}
	}
	athlete := rehab.Athlete{ID: id, Shirt: a.Who.Shirt, Name: a.Who.Name, Nick: a.Nick, Position: a.Position, Sex: a.Sex, Born: a.Born, Leg: a.Leg, Active: true}
	if no := rowFault(athlete, roster, env.Now); no != "" {
		return Reply{}, refuse("%s", no)
	}
	leg := ""
	if a.Leg > 0 {
		leg = "leg " + rehab.Number(a.Leg) + " cm"
	}
	reply := lines("On the roster: " + join(", ", athlete.Label(), a.Position, rehab.Prefixed("born ", a.Born), a.Sex, rehab.Prefixed("called ", a.Nick), leg) + ".")
	reply.Put = []Put{joined(athlete, env.Told)}
	return reply, nil
}

func joined(a rehab.Athlete, at time.Time) Put {
	return Put{a, rehab.Entry{Athlete: a.ID, At: at, Body: rehab.Joined{Shirt: a.Shirt}}}
}

// longestName is how many letters a name, nickname or position may have.
const longestName = 60

// rowFault says why a row cannot stand on the roster, "" when it can.
func rowFault(a rehab.Athlete, roster []rehab.Athlete, now time.Time) string {
	if a.Shirt < 1 || a.Shirt > 999 {
		return fmt.Sprintf("A shirt number goes from 1 to 999, not %d.", a.Shirt)
	}
	for _, part := range []struct{ what, text string }{{"name", a.Name}, {"nickname", a.Nick}, {"position", a.Position}} {
		if len([]rune(part.text)) > longestName {
			return fmt.Sprintf("That %s is too long: %d letters at most.", part.what, longestName)
		}
	}
	if years, known := a.AgeOn(now); known && (years < 4 || years > 90) {
		return fmt.Sprintf("born %s cannot be. Type a year or a date, for example born 1999.", a.Born)
	}
	for _, other := range roster {
		if other.Shirt == a.Shirt && other.ID != a.ID {
			return fmt.Sprintf("%d is worn by %s. Choose another number.", a.Shirt, other.Name)
		}
	}
	return ""
}

var (
	sexes   = NewWords(Word{"female", []string{"f", "woman", "girl", "sex female", "sex f"}}, Word{"male", []string{"m", "man", "boy", "sex male", "sex m"}})
	addKeys = phrases("key", "born", "age", "dob", "leg", "nick", "nickname", "female", "male", "sex female", "sex male", "sex f", "sex m")
)

// newcomerField takes a shirt and a name up to the next comma or keyword.
func newcomerField(to *newcomer) Field {
	return Field{
		Name: "who", Usage: "7 Mere Tau", Kind: KindWords, About: "shirt and name: 7 Mere Tau", tail: ",",
		match: func(r *reader) (int, func() error, error) {
			if r.at != r.start {
				return 0, nil, nil
			}
			shirt, err := strconv.Atoi(strings.TrimPrefix(r.peek(0), "#"))
			if err != nil {
				return 0, nil, refuse("Start with the shirt number: add 7 Mere Tau, wing")
			}
			n := r.upToComma(1, addKeys)
			if n == 1 {
				return 0, nil, refuse("add %d: who? For example: add %d Mere Tau, wing", shirt, shirt)
			}
			name := r.text(1, n)
			return n, func() error {
				if strings.ContainsAny(name, "0123456789") {
					return refuse("A name has no numbers in it: “%s”. For an age type born 2010, or age 15 after a comma.", name)
				}
				if no := rowFault(rehab.Athlete{Shirt: shirt, Name: name}, nil, r.lang.Now); no != "" {
					return refuse("%s", no)
				}
				to.Shirt, to.Name = shirt, name
				return nil
			}, nil
		},
		text: func() string { return strconv.Itoa(to.Shirt) + " " + to.Name + "," },
	}
}

// segment takes the words up to the next comma or stop word, after one of some keys if there are any.
func segment(name, usage string, to *string, stops []phrase, keys ...string) Field {
	vocabulary, lead := phrases(name, keys...), ""
	if len(keys) > 0 {
		lead = keys[0] + " "
	}
	return Field{
		Name: name, Usage: usage, words: func(*Lang) []phrase { return vocabulary },
		Kind: KindWords, About: "for example " + strings.TrimPrefix(usage, lead), lead: lead, tail: ",",
		match: func(r *reader) (int, func() error, error) {
			_, from := longest(r, vocabulary)
			if from == 0 && len(keys) > 0 || r.at == r.start {
				return 0, nil, nil
			}
			n := r.upToComma(from, stops)
			if n == from {
				return 0, nil, nil
			}
			value := r.text(from, n)
			return n, func() error { return once(name, to, value) }, nil
		},
		text: func() string {
			if *to == "" {
				return ""
			}
			return join(" ", strings.Join(keys[:min(1, len(keys))], ""), *to) + ","
		},
	}
}

// upToComma counts words from the n-th on that stand before the next comma or stop word.
func (r *reader) upToComma(n int, stops []phrase) int {
	start := n
	for r.at+n < len(r.toks) {
		t := r.toks[r.at+n]
		if strings.HasPrefix(t.text, noteMark) || n > start && strings.ContainsAny(r.line[r.toks[r.at+n-1].from:t.from], ",;") {
			break
		}
		if _, key := longest(r.skip(n), stops); key > 0 {
			break
		}
		n++
	}
	return n
}

// text is the line as written from the n-th word up to but not including the m-th.
func (r *reader) text(n, m int) string {
	end := len(r.line)
	if r.at+m < len(r.toks) {
		end = min(end, r.toks[r.at+m].from)
	}
	return strings.Trim(r.line[r.toks[r.at+n].from:end], " ,;")
}

var bornShape = regexp.MustCompile(`^\d{4}(-\d{2}-\d{2})?$`)

func bornField(to *string) Field {
	return Field{
		Name: "born", Usage: "born 1999 | born 1999-04-30 | born 30/4/1999",
		Kind: KindWords, About: "a year or a date: 1999, 1999-04-30, 30/4/1999", lead: "born ",
		match: func(r *reader) (int, func() error, error) {
			if age, err := strconv.Atoi(r.peek(1)); r.peek(0) == "age" && err == nil && age > 3 && age < 91 {
				year := strconv.Itoa(r.lang.Now.Year() - age) // the later of the two it may be
				return 2, func() error { return once("born", to, year) }, nil
			}
			if r.peek(0) != "born" && r.peek(0) != "dob" {
				return 0, nil, nil
			}
			v, n := birth(r.skip(1))
			if n == 0 {
				return 0, nil, refuse("born needs a year or a date, for example born 1999 or born 30/4/1999.")
			}
			return n + 1, func() error { return once("born", to, v) }, nil
		},
		text: func() string { return rehab.Prefixed("born ", *to) },
	}
}

// birth reads a year, or a date with four figures of the year: the day comes before the month.
func birth(r *reader) (string, int) {
	w := r.peek(0)
	if bornShape.MatchString(w) {
		_, err := time.Parse(time.DateOnly, w)
		return w, boolInt(len(w) == 4 || err == nil)
	}
	n := 1
	m := dayMonthYear.FindStringSubmatch(w)
	if month := monthWord(r.peek(1)); month != "" && dayOfMonth.MatchString(w) {
		m, n = []string{"", dayOfMonth.FindStringSubmatch(w)[1], month, r.peek(2)}, 3
	}
	if m == nil || len(m[3]) != 4 {
		return "", 0
	}
	day, ok := date(m[1], m[2], m[3], r.lang.Now)
	return day.Format(time.DateOnly), n * boolInt(ok)
}
