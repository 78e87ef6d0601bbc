package bot_test

import (
	"bytes"
	"context"
	"flag"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"footing/bot/console"
	"footing/store"
	"footing/store/storetest"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// Behaviour is tested by conversation: every file under testdata is what people typed ("> …") and what
// they read. The typed lines are played through the console on each engine, with a restart in the
// middle, and everything read must come out the same.
func TestTranscripts(t *testing.T) {
	files, err := filepath.Glob("testdata/*.txt")
	if err != nil || len(files) == 0 {
		t.Fatal("no transcripts", err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txt"), func(t *testing.T) {
			t.Parallel()
			want, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Contains(want, []byte("\n> :restart")) {
				t.Error("every transcript restarts the bot in its middle")
			}
			storetest.Each(t, func(t *testing.T, db store.Config) {
				got := play(t, db, typed(string(want)))
				if *update {
					if err := os.WriteFile(file, []byte(got), 0o600); err != nil {
						t.Fatal(err)
					}
					return
				}
				if got != string(want) {
					t.Errorf("%s reads otherwise; if that is meant, run go test ./bot -update and read the difference.\n%s", file, firstDifference(string(want), got))
				}
			})
		})
	}
}

// typed keeps the lines of a transcript that a person typed, and the comments.
func typed(transcript string) string {
	var out []string
	for line := range strings.Lines(transcript) {
		if said, ok := strings.CutPrefix(line, "> "); ok {
			out = append(out, said)
		} else if strings.HasPrefix(line, "# ") {
			out = append(out, line)
		}
	}
	return strings.Join(out, "")
}

// play runs a script on a fresh database, with the test squad, on the evening of Monday 2 March.
func play(t *testing.T, db store.Config, script string) string {
	t.Helper()
	ctx := context.Background()
	f, err := os.Open("testdata/squad.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	team, err := console.ReadTeam(f)
	if err != nil {
		t.Fatal(err)
	}
	at, err := console.ParseAt("2026-03-02 18:00", team.Zone)
	if err != nil {
		t.Fatal(err)
	}
	var out, log bytes.Buffer
	con, err := console.Open(ctx, console.Config{Store: db, Team: team, At: at, Out: &out, Log: slog.New(slog.NewTextHandler(&log, nil))})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = con.Close() }()
	if err := con.Script(ctx, strings.NewReader(script)); err != nil {
		t.Fatalf("%v\n%s\n%s", err, out.String(), log.String())
	}
	return out.String()
}

func firstDifference(want, got string) string {
	w, g := strings.Split(want, "\n"), strings.Split(got, "\n")
	for i := range w {
		if i >= len(g) || w[i] != g[i] {
			from := max(0, i-3)
			return "want:\n" + strings.Join(w[from:min(len(w), i+6)], "\n") + "\ngot:\n" + strings.Join(g[min(from, len(g)):min(len(g), i+6)], "\n")
		}
	}
	return "more lines came out than are in the file"
}
