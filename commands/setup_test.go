package commands

import (
	"archive/zip"
	"crypto/sha256"
	"fmt"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"footing/rehab"
	"footing/rehab/protocol"
)

// Settings as they are typed, in any order and with or without the chat side's own form.
func TestSettingsAreReadAs(t *testing.T) {
	reg, l := registry(t), lang(t)
	for _, c := range []struct{ typed, read string }{
		{"setup report 7:30", "setup report 07:30"},
		{"set up report time 18:05, zone europe/london", "setup zone Europe/London report 18:05"},
		{"setup zone america/argentina/buenos_aires", "setup zone America/Argentina/Buenos_Aires"},
		{"setup zone America/New York report 08:00", "setup zone America/New_York report 08:00"},
		{"setup zone Etc/GMT+12", "setup zone Etc/GMT+12"},
		{"setup medical-role <@&123456789012345678> <@&2> coach role 3", "setup medical-role <@&123456789012345678> <@&2> coach-role <@&3>"},
		{"setup medical physios coaches coach-team", "setup medical-role physios coach-role coach-team"},
		{"setup medical <@&1> medical <@&2>", "setup medical-role <@&1> <@&2>"},
		{"setup medical room <#5>, staff channel #6", "setup medical-channel <#5> staff-channel <#6>"},
		{"setup strict minors soccer", "setup football strict"},
		{"setup sport volleyball minors usual", "setup volleyball usual"},
		{"link 7 account <@!42>", "link 7 account <@42>"},
		{"link mez account robin.k", "link 7 account robin.k"},
		{"link me 12", "link-me 12"}, {"link-me #12", "link-me 12"}, {"this is me", "link-me"}, {"link-me after 29", "link-me after 29"},
		{"consent agree", "consent yes"}, {"consent no version 1", "consent no version 1"},
		{"guardian 7 agrees", "guardian 7 agreed"}, {"parent mez withdrew", "guardian 7 withdrew"}, {"my data", "my-data"},
	} {
		call, err := reg.Parse(c.typed, l)
		if err != nil {
			t.Errorf("%q: %v", c.typed, err)
		} else if got := call.Text(); got != c.read {
			t.Errorf("%q was read as %q, not %q", c.typed, got, c.read)
		}
	}
}

func TestSettingsThatCannotBeAreRefused(t *testing.T) {
	reg, l := registry(t), lang(t)
	for typed, says := range map[string]string{
		"setup zone Pacific/Aukland":          "Near: Pacific/Auckland.",
		"setup zone Europe/Lodnon":            "Near: Europe/London.",
		"setup zone Sydney":                   "Near: Australia/Sydney.",
		"setup zone Mars/Olympus":             "a continent and a city",
		"setup zone Local":                    "There is no zone “Local”",
		"setup zone":                          "Which zone?",
		"setup report 8am":                    "use 24 hours",
		"setup report 24:00":                  "use 24 hours",
		"setup report 07:60":                  "use 24 hours",
		"setup report":                        "needs a time",
		"setup report 07:30 report 08:00":     "given twice",
		"setup medical-channel <@&5>":         "<@&5> is no channel",
		"setup medical-role <#5>":             "<#5> is no role",
		"setup coach-role <@5>":               "<@5> is no role",
		"setup medical-channel":               "which channel",
		"setup staff-channel <#1> <#2>":       "given twice",
		"setup medical room <#1> room <#2>":   "“room”",
		"setup sport chess":                   "“sport”",
		"link 7":                              "what account",
		"link-me 0":                           "is no shirt",
		"link 7 account <@&5>":                "<@&5> is no account",
		"setup medical-channel a staff zebra": "“staff”",
	} {
		if _, err := reg.Parse(typed, l); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v does not say %q", typed, err, says)
		}
	}
}

// Every name that is offered is a zone, and every zone Go brings with it has its name here.
func TestZones(t *testing.T) {
	for _, z := range zoneNames {
		if _, err := time.LoadLocation(z); err != nil {
			t.Error(err)
		}
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal("no Go to ask for its zones: ", err)
	}
	r, err := zip.OpenReader(filepath.Join(strings.TrimSpace(string(root)), "lib", "time", "zoneinfo.zip")) // the IANA database as Go ships it
	if err != nil {
		t.Fatal("this Go has no zone file beside it: ", err)
	}
	defer func() { _ = r.Close() }()
	for _, f := range r.File {
		if !strings.HasSuffix(f.Name, "/") && f.Name != "Factory" && !slices.Contains(zoneNames, f.Name) {
			t.Errorf("%s has no line in zones.txt", f.Name)
		}
	}
}

// The text is what people agreed to: to change a word of it is to ask everybody again.
func TestConsentTextBelongsToItsVersion(t *testing.T) {
	text := strings.Join(consentText(rehab.Team{Name: "the team"}), "\n")
	got := fmt.Sprintf("%d %x", ConsentVersion, sha256.Sum256([]byte(text)))
	if want := "1 9076cfd89aba64e9f3a49e8de0e2a7f96234d169628484cb7e117c5aad9030b7"; got != want {
		t.Errorf("the text of version %s is not that of %s: raise ConsentVersion, then write the new sum here", got, want)
	}
	if n := len(consentText(rehab.Team{})); n != 4 {
		t.Errorf("%d lines, not four", n)
	}
}

// Which sports have contact is common practice; a team that said none is asked for it.
func TestContactIsAskedForByTheSport(t *testing.T) {
	p, err := protocol.Default()
	if err != nil {
		t.Fatal(err)
	}
	for sport, none := range map[string]bool{"": false, "rugby": false, "football": false, "handball": false, "netball": false, "volleyball": true, "cricket": true} {
		env := &Env{Team: rehab.Team{Sport: sport}, Protocol: p}
		if env.setting().NoContact != none {
			t.Errorf("%q: no contact is %v", sport, !none)
		}
	}
}
