package main

import (
	"encoding/json"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// The layout is a promise: who may import whom. Test files may look sideways, so only the imports of
// the packages themselves are judged.
var mayImport = map[string][]string{
	"footing/rehab":           {},
	"footing/rehab/outlook":   {"footing/rehab"},
	"footing/rehab/plan":      {"footing/rehab"},
	"footing/rehab/protocol":  {"footing/rehab", "footing/rehab/outlook"},
	"footing/commands":        {"footing/rehab", "footing/rehab/outlook", "footing/rehab/plan", "footing/commands/ics"},
	"footing/commands/ics":    {"footing/rehab"},
	"footing/migrations":      {},
	"footing/store":           {"footing/rehab", "footing/migrations"},
	"footing/store/storetest": {"footing/store"},
	"footing/bot":             {"footing/rehab", "footing/rehab/protocol", "footing/commands", "footing/store"},
	"footing/bot/console":     {"footing/bot", "footing/commands", "footing/rehab", "footing/store"},
	"footing/bot/discord":     {"footing/bot", "footing/commands", "footing/rehab"},
	"footing/bot/watch":       {"footing/bot", "footing/rehab", "footing/store"},
	"footing/cmd/footing":     {"footing/bot", "footing/bot/console", "footing/bot/discord", "footing/bot/watch", "footing/rehab", "footing/store"},

	"footing/bot/discord/discordtest": {},
}

// Some imports belong to one place.
var onlyIn = map[string][]string{
	"github.com/jmoiron/sqlx":         {"footing/store"},
	"github.com/lib/pq":               {"footing/store"},
	"modernc.org/sqlite":              {"footing/store"},
	"database/sql":                    {"footing/store", "footing/store/storetest"},
	"github.com/bwmarrin/discordgo":   {"footing/bot/discord", "footing/bot/discord/discordtest"},
	"github.com/gorilla/websocket":    {"footing/bot/discord", "footing/bot/discord/discordtest"},
	"footing/bot/discord/discordtest": {"tests"},
	"github.com/go-co-op/gocron/v2":   {"footing/bot"},
	"github.com/pelletier/go-toml/v2": {"footing/rehab/protocol"},
	"github.com/alecthomas/kong":      {"footing/cmd/footing"},

	"github.com/prometheus/client_golang/prometheus":            {"footing/bot/watch"},
	"github.com/prometheus/client_golang/prometheus/promhttp":   {"footing/bot/watch"},
	"github.com/prometheus/client_golang/prometheus/collectors": {"footing/bot/watch"},
	"github.com/coreos/go-systemd/v22/daemon":                   {"footing/cmd/footing"},
	"github.com/arran4/golang-ical":                             {"footing/commands/ics"},
	"github.com/teambition/rrule-go":                            {"footing/commands/ics"},
}

// The trade is pure: no clock to read, no files, no network, no log, no context.
var notInRehab = []string{"context", "log", "log/slog", "os", "io", "net", "net/http", "database/sql", "sync", "math/rand", "math/rand/v2"}

var pure = []string{"footing/rehab", "footing/rehab/outlook"}

type listed struct {
	ImportPath string
	Imports    []string
}

func TestImportsRunOneWay(t *testing.T) {
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", "footing/...").Output()
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for d := json.NewDecoder(strings.NewReader(string(out))); ; seen++ {
		var p listed
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		allowed, known := mayImport[p.ImportPath]
		if !known {
			t.Errorf("%s is a new package: say here what it may import", p.ImportPath)
		}
		for _, i := range p.Imports {
			for _, fault := range faults(p.ImportPath, i, allowed) {
				t.Error(fault)
			}
		}
	}
	if seen < len(mayImport) {
		t.Errorf("only %d of %d packages were listed", seen, len(mayImport))
	}
}

// faults says what is wrong with one import.
func faults(pkg, imported string, allowed []string) []string {
	var out []string
	if strings.HasPrefix(imported, "footing/") && !slices.Contains(allowed, imported) {
		out = append(out, pkg+" must not import "+imported)
	}
	if places, fenced := onlyIn[imported]; fenced && !slices.Contains(places, pkg) {
		out = append(out, imported+" belongs in "+strings.Join(places, ", ")+", not in "+pkg)
	}
	if slices.Contains(pure, pkg) && slices.Contains(notInRehab, imported) {
		out = append(out, pkg+" is pure and must not import "+imported)
	}
	return out
}

func TestTheFenceHolds(t *testing.T) {
	for _, c := range []struct{ pkg, imported string }{
		{"footing/rehab", "footing/store"}, {"footing/commands", "footing/store"}, {"footing/store", "footing/commands"},
		{"footing/bot", "github.com/jmoiron/sqlx"}, {"footing/bot/console", "github.com/bwmarrin/discordgo"}, {"footing/rehab", "log/slog"},
		{"footing/rehab/outlook", "math/rand/v2"}, {"footing/rehab/outlook", "footing/commands"}, {"footing/rehab", "footing/rehab/outlook"}, {"footing/store", "footing/rehab/outlook"},
		{"footing/bot/discord", "footing/bot/discord/discordtest"}, {"footing/bot/discord/discordtest", "footing/bot"},
		{"footing/bot", "footing/bot/watch"}, {"footing/bot", "github.com/prometheus/client_golang/prometheus"}, {"footing/bot/watch", "footing/bot/discord"},
		{"footing/commands/ics", "footing/commands"}, {"footing/rehab", "footing/commands/ics"}, {"footing/commands", "github.com/teambition/rrule-go"}, {"footing/bot", "footing/commands/ics"},
	} {
		if len(faults(c.pkg, c.imported, mayImport[c.pkg])) == 0 {
			t.Errorf("nothing keeps %s from importing %s", c.pkg, c.imported)
		}
	}
}

// rehab imports time for its values; that it never asks what time it is, only its text shows.
func TestRehabReadsNoClock(t *testing.T) {
	files, err := filepath.Glob("../../rehab/*.go")
	if err != nil || len(files) == 0 {
		t.Fatal("no sources", err)
	}
	outlook, err := filepath.Glob("../../rehab/outlook/*.go")
	if err != nil || len(outlook) == 0 {
		t.Fatal("no sources of outlook", err)
	}
	files = append(files, outlook...)
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(text), "time.Now(") || strings.Contains(string(text), "time.Since(") {
			t.Errorf("%s reads the clock", file)
		}
	}
}
