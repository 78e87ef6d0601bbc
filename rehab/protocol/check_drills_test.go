package protocol

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"footing/rehab"
)

// Each row breaks one drill or test of the default file, and the fault must name the field and the
// line of the broken text.
func TestFaultsOfDrills(t *testing.T) {
	level := "  { dose = \"x\", minutes = 3 },\n"
	for _, c := range []struct {
		what, in, old, new, field, says string
		off                             int // lines from the broken text to the fault
	}{
		{"one level", "ball-roll", `  { dose = "2 × 1 min, heel to toes and side to side", minutes = 3 },` + "\n]", "]", ".level", "needs 2 to 5 levels, easy to hard; has 1", -2},
		{"six levels", "ball-roll", "level = [\n", "level = [\n" + strings.Repeat(level, 4), ".level", "has 6", 0},
		{"contacts that fall", "pogo-two", "contacts = 45", "contacts = 29", ".level[2].contacts", "must not fall: the level before has 30", 0},
		{"no minutes", "pogo-two", "minutes = 1", "minutes = 0", ".level[0].minutes", "must be 1 to 6", 0},
		{"too long", "single-balance", "minutes = 4", "minutes = 7", ".level[3].minutes", "must be 1 to 6", 0},
		{"contacts before the feet may leave the ground", "step-hold", "minutes = 2 }", "minutes = 2, contacts = 6 }", ".level[0].contacts", "the feet stay on the ground in Control", 0},
		{"contacts at a level for an earlier stage", "band-out", `minutes = 3, from = "load"`, `minutes = 3, contacts = 5, from = "load"`, ".level[2].contacts", "the feet stay on the ground in Load", 0},
		{"running before the feet may leave the ground", "walk-jog", `stages = ["impact"`, `stages = ["control", "impact"`, ".runs", "the feet stay on the ground in Control", 6},
		{"running counted in contacts", "walk-jog", "minutes = 4 }", "minutes = 4, contacts = 60 }", ".level[0].contacts", "running counts in minutes", 0},
		{"an easiest level for later", "toe-yoga", "minutes = 2 }", `minutes = 2, from = "load" }`, ".level[0].from", "no level can be done in settle", 0},
		{"levels that go back a stage", "band-out", `from = "control"`, `from = "settle"`, ".level[3].from", "comes before the stage of the level before", 0},
		{"a level for a stage the drill is not in", "wall-rock", `from = "control"`, `from = "settle"`, ".level[2].from", `"settle" is no stage of this drill`, 0},
		{"no dose", "toe-yoga", `dose = "2 × 10, sitting"`, `dose = ""`, ".level[0].dose", "must not be empty", 0},
		{"unknown kit", "band-in", `kit = ["band"]`, `kit = ["rope"]`, ".kit", `"rope" is not one of band, wall`, 0},
		{"kit twice", "band-in", `kit = ["band"]`, `kit = ["band", "band"]`, ".kit", "is there twice", 0},
		{"unknown quality", "band-in", `quality = "strength"`, `quality = "strenght"`, ".quality", "is not one of mobility", 0},
		{"stages out of order", "band-in", `"settle", "load"`, `"load", "settle"`, ".stages", `"settle" does not come after`, 0},
		{"a stage twice", "band-in", `"settle", "load"`, `"settle", "settle"`, ".stages", `"settle" does not come after`, 0},
		{"unknown stage", "band-in", `"load", "control"`, `"load", "later"`, ".stages", `"later" is no stage`, 0},
		{"no stage", "ball-roll", `["settle", "load"]`, `[]`, ".stages", "needs at least one", 0},
		{"unknown sport", "ball-work", `hockey =`, `croquet =`, ".ball.croquet", "is not one of basketball", 0},
		{"a sport without words", "ball-work", `hockey = "stick and ball, both sides"`, `hockey = ""`, ".ball.hockey", "must not be empty", 0},
		{"a ball without a ball", "ball-work", `kit = ["ball"]`, `kit = []`, ".ball", "is for drills that need a ball", 4},
		{"no cue", "band-in", `cue = "knee still, slow back"`, `cue = ""`, ".cue", "must not be empty", 0},
		{"no stop rule", "band-in", `stop = "pain above 5, or the ankle gives"`, `stop = ""`, ".stop", "must not be empty", 0},
		{"no source", "band-in", `source = "common practice"`, `source = ""`, ".source", "must not be empty", 0},
		{"a key twice", "band-in", `key = "band-in"`, `key = "band-out"`, ".key", "is there twice", 0},
		{"a test's unknown quality", "knee-to-wall", `quality = "mobility"`, `quality = "movement"`, ".quality", "is not one of mobility", 0},
		{"a test's contacts counted twice", "pogo", "count_contacts = true", "count_contacts = true\ncontacts = 20", ".contacts", "does not go with count_contacts", 1},
	} {
		t.Run(c.what, func(t *testing.T) {
			text := string(DefaultText())
			at := strings.Index(text, fmt.Sprintf("key = %q\n", c.in))
			if i := strings.Index(text[max(at, 0):], c.old); at < 0 || i < 0 {
				t.Fatalf("%s no longer holds %q", c.in, c.old)
			} else {
				at += i
			}
			_, err := Load("club.toml", []byte(text[:at]+c.new+text[at+len(c.old):]))
			faults, _ := err.(Faults)
			line := 1 + strings.Count(text[:at], "\n") + c.off
			if !slices.ContainsFunc(faults, func(f Fault) bool {
				return strings.HasSuffix(f.Field, c.field) && strings.Contains(f.Says, c.says) && f.Line == line
			}) {
				t.Errorf("no fault %q, %q at line %d in:\n%v", c.field, c.says, line, err)
			}
		})
	}
}

// Whoever takes drills out of a catalogue is told when a stage has too few left for somebody's kit.
func TestEveryStageNeedsDrillsForEveryKit(t *testing.T) {
	for i := range 7 {
		for _, kind := range kinds {
			p, err := Default()
			if err != nil {
				t.Fatal(err)
			}
			n := 0
			p.Drills = slices.DeleteFunc(p.Drills, func(d rehab.Drill) bool {
				if d.In(p.Stages[i].Key) && kind.is(d.Kit) {
					n++
					return n > 4
				}
				return false
			})
			c := &checker{p: p}
			c.drills()
			want := fmt.Sprintf("stage[%d]: needs at least 5 drills with %s; has 4", i, kind.name)
			if !strings.Contains(c.faults.Error(), want) {
				t.Errorf("no fault %q in:\n%v", want, c.faults)
			}
		}
	}
}

// A pitch has no wall and no step: a drill that needs one is of no use to whoever has only a band, or a
// ball and a partner.
func TestWhichKitADrillIsFor(t *testing.T) {
	for kit, want := range map[string]string{
		"": "nothing", "band": "a band", "band partner": "a band", "ball partner": "ball and partner", "partner ball": "ball and partner",
		"band wall": "", "band step": "", "band ball": "", "ball": "", "partner": "", "wall": "", "ball wall": "", "ball partner wall": "",
	} {
		got := ""
		for _, kind := range kinds {
			if kind.is(strings.Fields(kit)) {
				got += kind.name
			}
		}
		if got != want {
			t.Errorf("%q is for %q, not %q", kit, got, want)
		}
	}
}

func TestACatalogueHasAtLeast36Drills(t *testing.T) {
	p, err := Default()
	if err != nil {
		t.Fatal(err)
	}
	p.Drills = p.Drills[:35]
	c := &checker{p: p}
	c.drills()
	if want := "drill: needs at least 36 drills; has 35"; !strings.Contains(c.faults.Error(), want) {
		t.Errorf("no fault %q in:\n%v", want, c.faults)
	}
}

// No gate asks for what nobody has trained: the quality is taken from a test, and also from one that
// only stands in for another.
func TestWhatAGateAsksForIsTrainedBefore(t *testing.T) {
	for key, want := range map[string]string{
		"balance":      "gate[0].criterion[5].test: balance asks for landing, which no drill trains up to settle",
		"figure-8-hop": "figure-8-hop asks for juggling, which no drill trains up to land",
	} {
		p, err := Default()
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(p.Tests, func(x rehab.Test) bool { return x.Key == key })
		p.Tests[i].Quality = map[string]string{"balance": rehab.Landing, "figure-8-hop": "juggling"}[key]
		c := &checker{p: p}
		c.drills()
		if !strings.Contains(c.faults.Error(), want) {
			t.Errorf("no fault %q in:\n%v", want, c.faults)
		}
	}
}
