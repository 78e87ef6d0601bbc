package protocol

import (
	"strings"
	"testing"
)

func TestDefaultLoads(t *testing.T) {
	p, err := Default()
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Stages) != 7 || len(p.Courses) != 4 || len(p.Gates) != 6 {
		t.Fatalf("stages %d, courses %d, gates %d", len(p.Stages), len(p.Courses), len(p.Gates))
	}
}

// Each row breaks the default file in one way and names the fault that must come out, with the
// line of the broken text.
func TestFaultsNameLineAndField(t *testing.T) {
	for _, c := range []struct{ what, old, new, field, says string }{
		{"unknown field", `lock = true`, "lokc = true", "lokc", "no such field"},
		{"unknown test", `test = "gait"`, `test = "gaitt"`, "gate[0].criterion[3].test", "is no test"},
		{"outcome of an unknown course", "\ncourse = \"high\"\nholds", "\ncourse = \"tall\"\nholds", "outcome[3].course", "is no course"},
		{"unknown outcome", `outcome = "concussion"`, `outcome = "concussed"`, "rule[6].outcome", "is not one of"},
		{"a finding that is not there", `any = ["deformity"]`, `any = ["deformitty"]`, "rule[0].any", "is no finding"},
		{"no source", `at_most = 2.5` + "\n" + `source = "common practice"`, `at_most = 2.5`, "gate[1].criterion[3].source", "must not be empty"},
		{"a gate that skips a stage", `to = "control"`, `to = "impact"`, "gate[1].to", "does not follow"},
		{"impossible range", `max = 30` + "\n" + `usual_min = 2`, `max = -1` + "\n" + `usual_min = 2`, "test[4].max", "must be above min"},
		{"not TOML", `name = "ankle"`, `name = ankle"`, "", ""},
		{"wrong type", `over_days = 10`, `over_days = "ten"`, "over_days", ""},
		{"key twice", `key = "numb"` + "\n" + `outcome`, `key = "deformity"` + "\n" + `outcome`, "rule[2].key", "is there twice"},
		{"a rule that never fires", `any = ["fibula-head"]`, ``, "", "never fires"},
		{"little apart, but at no level", "both_at_least = 20\n", "", "gate[1].criterion[4].or[1].both_at_least", "goes with"},
		{"a threshold that is no threshold", `at_most = 2.5` + "\n", "", "gate[1].criterion[3]", "needs at_least or at_most"},
		{"a size that does not give the printed quartiles", "size = 2.25", "size = 3", "outlook.course[0].size", "as printed"},
		{"a quartile below its neighbour", "median = 6", "median = 2", "outlook.course[0].median", "between lower and upper"},
		{"shares of more than the whole", "stage = \"settle\"\nshare = 0.15", "stage = \"settle\"\nshare = 0.25", "outlook.stage[0]", "together they are 1"},
		{"a stage without a share", "stage = \"control\"\nshare", "stage = \"returned\"\nshare", "outlook.stage[2].stage", "no stage of treatment"},
		{"times of a course without a guide", "course = \"medial\"\nlower", "course = \"other\"\nlower", "outlook.course[1].course", "no guided course"},
		{"a pace that is none", "pace_a = 8", "pace_a = -8", "outlook.pace_a", "above 0"},
		{"likely is less than possible", "likely = 0.7", "likely = 0.2", "outlook.likely", "above possible"},
		{"a higher grade in less time", "times = 1.5", "times = 0.5", "outlook.grade[1]", "no less time"},
		{"no source of a grade", "times = 3\nsource = \"common practice\"", "times = 3", "outlook.grade[2].source", "must not be empty"},
	} {
		t.Run(c.what, func(t *testing.T) {
			text := string(DefaultText())
			at := strings.Index(text, c.old)
			if at < 0 {
				t.Fatalf("the default file no longer holds %q", c.old)
			}
			broken := text[:at] + c.new + text[at+len(c.old):]
			_, err := Load("club.toml", []byte(broken))
			faults, ok := err.(Faults)
			if !ok {
				t.Fatalf("want Faults, got %v", err)
			}
			first := 1 + strings.Count(text[:at], "\n")
			for _, f := range faults {
				if f.File == "club.toml" && strings.HasSuffix(f.Field, c.field) && strings.Contains(f.Says, c.says) && f.Line >= first-8 && f.Line <= first+2 {
					return
				}
			}
			t.Errorf("no fault %q near line %d in:\n%v", c.field, first, err)
		})
	}
}

func TestEveryFaultIsReportedTogether(t *testing.T) {
	text := string(DefaultText())
	text = strings.Replace(text, `test = "gait"`, `test = "gaitt"`, 1)
	text = strings.Replace(text, `outcome = "concussion"`, `outcome = "concussed"`, 1)
	text = strings.Replace(text, `kit = "nothing"`, `kitt = "nothing"`, 1)
	_, err := Load("club.toml", []byte(text))
	for _, want := range []string{"gaitt", "concussed", "kitt"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q is not among the faults:\n%v", want, err)
		}
	}
}

// A club's own file may do without times to come back in.
func TestAFileWithoutAnOutlook(t *testing.T) {
	text := string(DefaultText())
	p, err := Load("club.toml", []byte(text[:strings.Index(text, "[outlook]")]))
	if err != nil || len(p.Prior.Courses) > 0 {
		t.Error(err)
	}
}
