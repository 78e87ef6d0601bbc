package protocol_test

import (
	"cmp"
	"flag"
	"fmt"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"footing/rehab"
	"footing/rehab/protocol"
)

var update = flag.Bool("update", false, "rewrite the golden files")

const (
	practice = "common practice"
	memory   = "from memory, unverified"
)

// seen are the references read in the paper or in a secondary text, by author and year.
var seen = strings.Split("Stiell 1992, Bachmann 2003, Vuurberg 2018, Sman 2015, Calder 2016, Wynter & Grigg 2017, Dowling 2009, Delahunt 2018, "+
	"Smith 2021, Martin 2021, Munro 2010, Konor 2012, Powden 2015, Chisholm 2012, Rabin 2015, Plisky 2006, Smith 2015, Luedke 2020, Hébert-Losier 2017, "+
	"Cain & Linens 2015, Docherty 2005, Doherty 2015, Lambert 2020, Mirković 2022, Watson 2008, Farrar 2001, Wright 2014, Hiller 2006, Martin 2005, "+
	"Sigonney 2021, Healy 2018, Medina McKeon 2014, Medina McKeon 2015, Roos 2017, Flore 2022, Lubberts 2019, Malliaropoulos 2009, Hupperets 2009, "+
	"Schiftan 2015, Dizon 2010, Janssen 2014, Bahr 2020, Fuller 2006, Fuller 2007, Foster 2001, Ulm 1990, Williams 2017", ", ")

// unseen are names whose numbers are known from memory only: never a citation.
var unseen = []string{"Malliaropoulos 2006", "Thomeé", "Silbernagel", "Lunsford", "Linens 2014"}

// byHeart are numbers from memory beside a reference that was read for something else.
var byHeart = []struct{ name, field, value string }{
	{"Hupperets", "minutes", ""},   // 2 × 15 and 1 min were read, how long that takes with rests was not
	{"Stiell", "over_days", ""},    // more than 10 days after injury
	{"Sigonney", "items", ""},      // 12 items of 0–10
	{"Sigonney", "at_least", ""},   // no cut-off for return
	{"Wright", "not_for_days", ""}, // says nothing of how long after a sprain
	{"", "valid_days", ""},         // how long a result is good for is nobody's finding
}

// known tells a number from one that stands beside a reference which was read for something else.
func (x number) known() bool {
	for _, h := range byHeart {
		if strings.Contains(x.source, h.name) && strings.Contains(x.field, h.field) && strings.Contains(x.value, h.value) {
			return false
		}
	}
	return true
}

// number is one number of the protocol file, where it stands and who says so.
type number struct{ field, value, source string }

// numbers lists every number of the protocol: what has one, in the order of the file.
func numbers(p *rehab.Protocol) []number {
	var out []number
	take := func(at string, v reflect.Value, source string, fields ...string) {
		for i := range v.NumField() {
			f, name := v.Field(i), v.Type().Field(i).Tag.Get("toml")
			if f.Kind() == reflect.Pointer && !f.IsNil() {
				f = f.Elem()
			}
			counts := f.CanInt() || f.CanFloat() || name == "dose" || slices.Contains(fields, name)
			if name != "grade" && counts && !f.IsZero() {
				out = append(out, number{at + " " + name, fmt.Sprint(f.Interface()), source})
			}
		}
	}
	of := func(x any) reflect.Value { return reflect.ValueOf(x) }
	for _, r := range p.Rules {
		take("rule "+r.Key, of(r), r.Source)
	}
	for _, t := range p.Tests {
		at := "test " + t.Key
		rest := t
		rest.SEM, rest.MDC, rest.Floor, rest.FloorFemale = 0, 0, 0, 0
		take(at, of(rest), t.Source)
		take(at, of(rehab.Test{SEM: t.SEM, MDC: t.MDC}), t.MDCSource)
		take(at, of(rehab.Test{Floor: t.Floor, FloorFemale: t.FloorFemale}), t.FloorFrom)
		take(at+" items", of(t.Items), t.Items.Source)
		take(at+" warn", of(t.Warn), t.Warn.Source)
		for _, n := range t.Named {
			take(at+" "+strings.Join(n.Words, ", "), of(n), t.Source)
		}
	}
	for _, g := range p.Gates {
		for _, c := range g.Criteria {
			at := fmt.Sprintf("gate %s → %s, %s", g.From, g.To, c.Key)
			take(at, of(c), c.Source)
			for _, alt := range c.Or {
				take(strings.TrimRight(at+" or "+strings.TrimSpace(alt.Test+" "+alt.Measure), " "), of(alt), alt.Source)
			}
		}
	}
	for _, f := range p.Floors {
		take(fmt.Sprintf("healing_floor %s grade %d", f.Course, f.Grade), of(f), f.Source)
	}
	take("play_on", of(p.PlayOn), p.PlayOn.Source)
	for _, c := range p.PlayOn.Checks {
		if strings.ContainsAny(c.Name, "0123456789") {
			take("play_on "+c.Key, of(c), p.PlayOn.Source, "name")
		}
	}
	for _, d := range p.Drills {
		for i, l := range d.Levels {
			take(fmt.Sprintf("drill %s level %d", d.Key, i+1), of(l), cmp.Or(l.Source, d.Source))
		}
	}
	drills := rehab.Response{DrillsFine: p.Response.DrillsFine, DrillsTolerated: p.Response.DrillsTolerated}
	mornings := p.Response
	mornings.DrillsFine, mornings.DrillsTolerated = 0, 0
	take("response", of(mornings), p.Response.Source)
	take("response", of(drills), p.Response.DrillsSource)
	take("limits", of(p.Limits), p.Limits.Source)
	prior := p.Prior
	prior.PaceA, prior.PaceB = 0, 0
	take("outlook", of(prior), prior.Source)
	take("outlook", of(rehab.Prior{PaceA: p.Prior.PaceA, PaceB: p.Prior.PaceB}), prior.PaceSource)
	for _, c := range prior.Courses {
		printed := c
		printed.Size, printed.Odds, printed.Within = 0, 0, 0
		take("outlook "+c.Course, of(printed), c.Source)
		take("outlook "+c.Course, of(rehab.CoursePrior{Size: c.Size, Odds: c.Odds, Within: c.Within}), c.Fitted)
	}
	for _, s := range prior.Stages {
		take("outlook "+s.Stage, of(s), s.Source)
	}
	for _, g := range prior.Grades {
		take(fmt.Sprintf("outlook grade %d", g.Grade), of(g), g.Source)
	}
	return out
}

// sources lists every source of the file, those of questions, rules and facts without a number too.
func sources(v reflect.Value, at string, f func(at, source string)) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			sources(v.Elem(), at, f)
		}
	case reflect.Slice:
		for i := range v.Len() {
			sources(v.Index(i), fmt.Sprintf("%s[%d]", at, i), f)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			name := v.Type().Field(i).Tag.Get("toml")
			if strings.HasSuffix(name, "source") && v.Field(i).String() != "" {
				f(at+"."+name, v.Field(i).String())
			} else if name != "-" {
				sources(v.Field(i), at+"."+name, f)
			}
		}
	}
}

var authorYear = regexp.MustCompile(`\p{Lu}[\p{L}-]+(?: & \p{Lu}[\p{L}-]+| \p{Lu}[\p{L}-]+)? (?:19|20)\d\d\b`)

// wrong says what is wrong with a source, or nothing.
func wrong(source string) string {
	own := strings.HasPrefix(source, practice) || strings.HasPrefix(source, memory)
	for _, name := range unseen {
		if strings.Contains(source, name) && !own {
			return name + " is known from memory only"
		}
	}
	names := authorYear.FindAllString(source, -1)
	for _, name := range names {
		if !slices.Contains(seen, name) && !(own && slices.ContainsFunc(unseen, func(u string) bool { return strings.Contains(name, u) })) {
			return name + " is no reference that was read"
		}
	}
	if !own && (len(names) == 0 || !strings.HasPrefix(source, names[0])) {
		return "begins with neither a reference nor " + practice + " nor " + memory
	}
	return ""
}

func defaultProtocol(t *testing.T) *rehab.Protocol {
	t.Helper()
	p, err := protocol.Default()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestEverySourceIsOneThatWasRead(t *testing.T) {
	p, n := defaultProtocol(t), 0
	sources(reflect.ValueOf(p), "protocol", func(at, source string) {
		n++
		if why := wrong(source); why != "" {
			t.Errorf("%s = %q: %s", at, source, why)
		}
	})
	if n < 150 {
		t.Errorf("only %d sources were found", n)
	}
	for _, x := range numbers(p) {
		if !x.known() && !strings.Contains(x.source, memory) && !strings.Contains(x.source, practice) {
			t.Errorf("%s %s cites %q, which was not read for it", x.field, x.value, x.source)
		}
	}
}

// The check itself: what it must refuse and what it must let pass.
func TestWhatASourceMayBe(t *testing.T) {
	for source, fine := range map[string]bool{
		"common practice": true, "common practice; change of 2, Farrar 2001 Pain 94:149": true, "from memory, unverified": true,
		"Plisky 2006 JOSPT 36:911; no association in Luedke 2020 Sports 8:27": true, "Stiell 1992, 1993, 1994 (Ottawa foot rule)": true, "Wynter & Grigg 2017": true,
		"Malliaropoulos 2009 AJSM 37:1755": true, "from memory, unverified: Malliaropoulos 2006": true, "common practice; Thomeé 1997": true,
		"Malliaropoulos 2006": false, "Malliaropoulos 2006 Am J Sports Med": false, "Silbernagel 2007": false, "Thomeé 1997": false, "Lunsford & Perry 1995 Phys Ther 75:694": false,
		"Linens 2014 J Athl Train 49:15": false, "Invented 2019 BJSM 1:1": false, "Plisky 2006; Invented 2019": false, "common practice; Invented 2019": false,
		"an expert": false, "see Plisky 2006": false, "": false,
	} {
		if why := wrong(source); (why == "") != fine {
			t.Errorf("%q: %q, want fine %t", source, why, fine)
		}
	}
}

// The golden list puts every number of the file beside who says so, for a reader to go through.
func TestEveryNumberAndItsSource(t *testing.T) {
	parts := [3][]string{}
	heads := [3]string{"published", practice, memory}
	for _, x := range numbers(defaultProtocol(t)) {
		i := 0
		switch {
		case x.source == "":
			t.Errorf("%s %s has no source", x.field, x.value)
		case strings.HasPrefix(x.source, practice) || !x.known() && strings.Contains(x.source, practice):
			i = 1
		case strings.Contains(x.source, memory):
			i = 2
		}
		parts[i] = append(parts[i], x.field+" = "+x.value+" | "+x.source)
	}
	text := "Every number of the protocol file and its source. Written by the test; read the difference.\n"
	for i, lines := range parts {
		text += fmt.Sprintf("\n== %s (%d)\n%s\n", heads[i], len(lines), strings.Join(lines, "\n"))
	}
	const golden = "testdata/sources.txt"
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(golden, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	was, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if string(was) != text {
		old := strings.Split(string(was), "\n")
		for _, line := range strings.Split(text, "\n") {
			if !slices.Contains(old, line) {
				t.Errorf("not in %s: %s", golden, line)
			}
		}
		t.Errorf("%s is not what the file says; go test -update, and read the difference", golden)
	}
}
