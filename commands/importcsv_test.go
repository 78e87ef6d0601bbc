package commands

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"
	"unicode/utf16"

	"footing/rehab"
)

// wide writes a text as UTF-16 with its mark.
func wide(text string, little bool) string {
	var out []byte
	for _, u := range utf16.Encode([]rune("\ufeff" + text)) {
		if little {
			out = append(out, byte(u), byte(u>>8))
		} else {
			out = append(out, byte(u>>8), byte(u))
		}
	}
	return string(out)
}

// inOneLine puts an athlete of a file into one line.
func inOneLine(a rehab.Athlete) string {
	leg := ""
	if a.Leg > 0 {
		leg = rehab.Number(a.Leg)
	}
	return fmt.Sprintf("%d %s|%s|%s|%s|%s|%s", a.Shirt, a.Name, a.Position, a.Born, leg, a.Sex, a.Nick)
}

// Every way a spreadsheet saves the same two athletes is read as the same. Common practice: what the
// usual spreadsheets write, by language and by menu.
func TestRosterFilesAreReadAs(t *testing.T) {
	want := []string{"7 Zoë Tau|wing|1999-04-30|88.5|female|Mez", "12 Joss Okafor|lock|1997|||"}
	plain := "shirt,name,position,born,leg,sex,nick\n7,Zoë Tau,wing,1999-04-30,88.5,female,Mez\n12,Joss Okafor,lock,1997,,,\n"
	semicolons := "shirt;name;position;born;leg;sex;nick\n7;Zoë Tau;wing;1999-04-30;88,5;female;Mez\n12;Joss Okafor;lock;1997;;;\n"
	for _, c := range []struct{ what, text string }{
		{"commas", plain},
		{"no line end after the last line", strings.TrimSuffix(plain, "\n")},
		{"UTF-8 with its mark", "\ufeff" + plain},
		{"UTF-16, little end first", wide(plain, true)},
		{"UTF-16, big end first", wide(plain, false)},
		{"UTF-16 with tabs, as a spreadsheet's Unicode text", wide(strings.ReplaceAll(strings.ReplaceAll(plain, ",", "\t"), "\n", "\r\n"), true)},
		{"carriage return and line feed", strings.ReplaceAll(plain, "\n", "\r\n")},
		{"carriage return alone", strings.ReplaceAll(plain, "\n", "\r")},
		{"semicolons and decimal commas", semicolons},
		{"semicolons, and the line that names the separator", "sep=;\n" + semicolons},
		{"tabs", strings.ReplaceAll(plain, ",", "\t")},
		{"tabs with empty cells", "shirt\tnick\tname\tleg\tposition\tborn\tsex\n7\tMez\tZoë Tau\t88.5\twing\t1999-04-30\tfemale\n12\t\tJoss Okafor\t\tlock\t1997\t\n"},
		{"all cells quoted", `"shirt","name","position","born","leg","sex","nick"` + "\n" + `"7","Zoë Tau","wing","1999-04-30","88,5","female","Mez"` + "\n" + `"12","Joss Okafor","lock","1997","","",""`},
		{"another order", "Nick,Leg,Sex,Born,Position,Name,Shirt\nMez,88.5 cm,F,1999-04-30,wing,Zoë Tau,#7\n,,,1997,lock,Joss Okafor,12\n"},
		{"natural names of columns", "No.,Full name,Pos,Date of birth,Leg (cm),Gender,Nickname\n7,Zoë Tau,wing,1999-04-30,88.5,woman,Mez\n12,Joss Okafor,lock,1997,,,\n"},
		{"first name and last name", "Number,Last Name,First Name,Position,DOB,Leg length,Sex,Nick\n7,Tau,Zoë,wing,1999-04-30,88.5,female,Mez\n12,Okafor,Joss,lock,1997,,,\n"},
		{"spaces, and rows of separators", "\n shirt , name ,position,born,leg,sex,nick\n\n 7 , Zoë  Tau ,wing,1999-04-30,88.5,female,Mez\n,,,,,,\n12,Joss Okafor,lock,1997\n,,,\n\n"},
		{"a team's settings above the columns", "name,Harbour Kestrels\nzone,Pacific/Auckland\nminors,no\n" + plain},
	} {
		rows, err := ReadRoster([]byte(c.text))
		if err != nil {
			t.Errorf("%s: %v", c.what, err)
			continue
		}
		var got []string
		for _, r := range rows {
			got = append(got, strings.Join(append([]string{inOneLine(r.Athlete)}, strings.Fields(r.Refused)...), " "))
		}
		if strings.Join(got, "\n") != strings.Join(want, "\n") {
			t.Errorf("%s: read as\n%s", c.what, strings.Join(got, "\n"))
		}
	}
}

// A file that cannot be read as a roster is refused whole, with the line and what to do.
func TestRosterFilesThatAreRefusedWhole(t *testing.T) {
	long := "shirt,name\n" + strings.Repeat("7,Mere Tau\n", maxFileLines)
	for _, c := range []struct{ what, text, says string }{
		{"nothing in it", "", "line 1: the first line must name the columns"},
		{"only blank lines", "\n\n", "line 1: the first line must name the columns"},
		{"no line that names the columns", "7,Mere Tau\n12,Joss Okafor\n", "line 1: the first line must name the columns"},
		{"a slip in the column shirt", "shrt,name\n7,Mere Tau\n", "line 1: the first line must name the columns"},
		{"no shirt", "name,position\nMere Tau,wing\n", "line 1: the first line must name the columns"},
		{"no name", "shirt,position\n7,wing\n", "line 1: there is no name"},
		{"a name and a last name", "shirt,name,last name\n7,Mere,Tau\n", "line 1: there is a name and a first or last name"},
		{"a column twice", "shirt,name,no\n7,Mere Tau,8\n", "line 1: the column shirt is there twice"},
		{"an unknown column", "shirt,name,weight\n7,Mere Tau,80\n", "line 1: I know no column “weight”"},
		{"a formula for a column", "shirt,name,=1+1\n7,Mere Tau,80\n", "I know no column “=1+1”"},
		{"Windows letters that are no UTF-8", "shirt,name\n7,Mere Tau\n12,Zo\xeb Lind\n", "line 3: I cannot read this encoding. In the spreadsheet save it as CSV UTF-8"},
		{"letters lost by an earlier save", "shirt,name\n7,Zo\ufffd Lind\n", "line 2: I cannot read this encoding"},
		{"UTF-16 without its mark", wide("shirt,name\n7,Mere Tau\n", true)[2:], "line 1: I cannot read this encoding"},
		{"UTF-16 cut in the middle of a letter", wide("shirt,name\n7,Mere Tau", true) + "x", "line 2: I cannot read this encoding"},
		{"a spreadsheet's own file", "PK\x03\x04\x14\x00\x06\x00", "line 1: I cannot read this encoding"},
		{"a quote that is not closed", "shirt,name\n7,Mere Tau\n8,\"Ana Reed\n9,Joss\n", "line 3: its quotes do not fit"},
		{"a quote inside a cell", "shirt,name\n7,Mere \"Mez\" Tau\n", "line 2: its quotes do not fit"},
		{"too many lines", long, "5,000 lines at most"},
		{"too many bytes", "shirt,name\n7," + strings.Repeat("x", maxFileBytes), "1 MB at most"},
	} {
		rows, err := ReadRoster([]byte(c.text))
		var refusal *Refusal
		if !errors.As(err, &refusal) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %d rows, %v", c.what, len(rows), err)
		}
	}
	if _, err := ReadRoster([]byte(strings.TrimSuffix(long, "7,Mere Tau\n"))); err != nil {
		t.Errorf("as many lines as may be: %v", err)
	}
}

// A line that cannot be taken is refused alone, and says why; the lines around it stand.
func TestRosterLinesThatAreRefused(t *testing.T) {
	for _, c := range []struct{ what, line, says string }{
		{"a formula with =", "7;=1+1;;;;;", "“=1+1” begins with =, as a formula does"},
		{"a formula with +", "7;+A1;;;;;", "begins with +"},
		{"a formula with -", "7;Mere Tau;-A1;;;;", "begins with -"},
		{"a formula with @", "7;Mere Tau;wing;;;;@SUM(A1)", "begins with @"},
		{"a formula behind a space", "7; =1+1;;;;;", "begins with ="},
		{"a formula in quotes", "7;\"=HYPERLINK(1)\";;;;;", "begins with ="},
		{"a formula in wide letters", "7;＝1+1;;;;;", "begins with ="},
		{"a formula in a column without a name", "7;Mere Tau;;;;;;=1", "begins with ="},
		{"a negative shirt", "-7;Mere Tau;;;;;", "begins with -"},
		{"a negative leg", "7;Mere Tau;;;-88;;", "begins with -"},
		{"no shirt", ";Mere Tau;;;;;", "there is no shirt number"},
		{"no name", "7;;wing;;;;", "there is no name"},
		{"a name of commas", "7;,,;wing;;;;", "there is no name"},
		{"a shirt that is a word", "seven;Mere Tau;;;;;", "shirt seven: a shirt number goes from 1 to 999"},
		{"shirt 0", "0;Mere Tau;;;;;", "shirt 0:"},
		{"shirt 1000", "1000;Mere Tau;;;;;", "shirt 1000:"},
		{"half a shirt", "7.5;Mere Tau;;;;;", "shirt 7.5:"},
		{"a day that never was", "7;Mere Tau;;1999-02-30;;;", "born 1999-02-30 is no date. Write 1999-04-30, or only the year"},
		{"a date that can be read two ways", "7;Mere Tau;;02/05/1999;;;", "born 02/05/1999 is no date"},
		{"a year of two digits", "7;Mere Tau;;99;;;", "born 99 is no date"},
		{"a leg in metres", "7;Mere Tau;;;0,88;;", "leg 0,88: a leg length goes from 40 to 140 cm"},
		{"a leg that is no number", "7;Mere Tau;;;long;;", "leg long:"},
		{"a leg that is NaN", "7;Mere Tau;;;NaN;;", "leg NaN:"},
		{"a thousands mark", "7;Mere Tau;;;1.088,5;;", "leg 1.088,5:"},
		{"a sex that is neither", "7;Mere Tau;;;;x;", "sex x is neither female nor male"},
		{"more cells than columns", "7;Mere Tau;;;;;;Mez", "“Mez” stands in no column"},
		{"the same shirt again", "1;Mere Tau;;;;;", "shirt 1 is on line 2 already"},
	} {
		rows, err := ReadRoster([]byte("shirt;name;position;born;leg;sex;nick\n1;Ana Reed;;;;;\n" + c.line + "\n999;Joss Okafor;;;;;\n"))
		if err != nil || len(rows) != 3 {
			t.Errorf("%s: %d rows, %v", c.what, len(rows), err)
			continue
		}
		if rows[1].Line != 3 || !strings.Contains(rows[1].Refused, c.says) {
			t.Errorf("%s: line %d says %q", c.what, rows[1].Line, rows[1].Refused)
		}
		if rows[0].Refused != "" || rows[2].Refused != "" || rows[2].Line != 4 {
			t.Errorf("%s: the lines around it do not stand: %+v", c.what, rows)
		}
	}
}

func FuzzReadRoster(f *testing.F) {
	for _, s := range []string{
		"", "shirt,name\n7,Mere Tau\n", "\ufeffno;last name;first name;leg\r\n7;Tau;Mere;88,5\r\n", "shirt\tname\n7\t=1+1\n\n", "sep=;\nshirt;name\n",
		wide("shirt,name\n7,Zoë\n", true), wide("shirt,name\n7,Zoë", false), "name,Kestrels\nshirt,name\n7,\"a\nb\"\n8,\"", "shirt,name\n7,Zo\xeb\n", "shirt,name\n7,a\n7,b\n",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		rows, err := ReadRoster(text)
		if most := 1 + bytes.Count(text, []byte{'\n'}) + bytes.Count(text, []byte{'\r'}); len(rows) > most {
			t.Fatalf("%d rows of %d lines", len(rows), most)
		}
		var refusal *Refusal
		if err != nil && !errors.As(err, &refusal) {
			t.Fatalf("%v is not meant for a user", err)
		}
		last, shirts := 0, map[int]bool{}
		for _, r := range rows {
			if r.Line <= last {
				t.Fatalf("line %d comes after line %d", r.Line, last)
			}
			last = r.Line
			if a := r.Athlete; r.Refused == "" && (a.Shirt < 1 || a.Shirt > 999 || shirts[a.Shirt] || a.Name == "" || strings.ContainsAny(a.Name[:1], "=+-@")) {
				t.Fatalf("line %d was taken: %+v", r.Line, a)
			}
			if r.Refused == "" {
				shirts[r.Athlete.Shirt] = true
			}
		}
	})
}
