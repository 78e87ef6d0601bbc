package bot_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"footing/bot"
	"footing/rehab"
	"footing/store"
	"footing/store/storetest"
)

// A step that is named in the code is one of Steps: whoever adds one has it tested.
func TestEveryStepIsListed(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	var named []string
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`\.Step\("([^"]+)"\)`).FindAllStringSubmatch(string(text), -1) {
			named = append(named, m[1])
		}
	}
	same(t, "the steps in the code", slices.Sorted(slices.Values(named)), slices.Sorted(slices.Values(bot.Steps)))
}

// crashLines are what the physio sends; each records one thing.
var crashLines = []string{"add 7 Mere Tau, wing", "sprain 7 left match", "test 7 gait limp", "note 7: ice", "test 7 pain-walking 2"}

// A process killed between any two steps, then started again and sent everything once more, as the
// chat side's catch-up does: every line it had acknowledged is stored, once; every line is in the
// end stored once and acknowledged.
func TestKilledBetweenAnyTwoSteps(t *testing.T) {
	for _, step := range bot.Steps {
		t.Run(step, func(t *testing.T) {
			t.Parallel()
			storetest.Each(t, func(t *testing.T, c store.Config) { killAndRestart(t, c, step, "3") })
		})
	}
}

func killAndRestart(t *testing.T, c store.Config, step, on string) {
	said := filepath.Join(t.TempDir(), "said")
	err := child(c, said, step, on, "2026-03-02T05:00:00Z")
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.Sys().(syscall.WaitStatus).Signal() != syscall.SIGKILL {
		t.Fatalf("the process was not killed at %s: %v", step, err)
	}
	stored, acknowledged := recorded(t, c), read(t, said)
	for message, n := range acknowledged {
		if stored[message] != 1 {
			t.Errorf("after the kill, %s was acknowledged %d times and stored %d times", message, n, stored[message])
		}
	}
	// The lease of the dead process has run out by then.
	if err := child(c, said, "", "", "2026-03-02T05:02:00Z"); err != nil {
		t.Fatal(err)
	}
	stored, acknowledged = recorded(t, c), read(t, said)
	for i := range crashLines {
		message := fmt.Sprintf("m%d", i)
		if stored[message] != 1 || acknowledged[message] < 1 {
			t.Errorf("in the end, %s is stored %d times and acknowledged %d times", message, stored[message], acknowledged[message])
		}
	}
}

// child runs this test binary as the bot's process.
func child(c store.Config, said, step, on, clock string) error {
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), "FOOTING_CHILD=1", "CHILD_URL="+c.URL, "CHILD_OWNER="+c.OwnerURL, "CHILD_SAID="+said, "CHILD_STEP="+step, "CHILD_ON="+on, "CHILD_CLOCK="+clock)
	out, err := cmd.CombinedOutput()
	if err != nil {
		return fmt.Errorf("%w\n%s", err, out)
	}
	return nil
}

func TestMain(m *testing.M) {
	if os.Getenv("FOOTING_CHILD") == "" {
		os.Exit(m.Run())
	}
	if err := beChild(context.Background()); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// paper is a chat side that writes to a file which outlives the process.
type paper struct{ file *os.File }

func (p paper) Send(_ context.Context, m bot.Message) (string, error) {
	_, err := fmt.Fprintf(p.file, "%s\n", m.Key)
	return m.Key, err
}

func beChild(ctx context.Context) error {
	clock, err := time.Parse(time.RFC3339, os.Getenv("CHILD_CLOCK"))
	if err != nil {
		return err
	}
	s, err := store.Open(ctx, store.Config{URL: os.Getenv("CHILD_URL"), OwnerURL: os.Getenv("CHILD_OWNER"), Fast: true})
	if err != nil {
		return err
	}
	file, err := os.OpenFile(os.Getenv("CHILD_SAID"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	times := 0
	b, err := bot.New(ctx, bot.Config{Store: s, Front: paper{file}, Clock: func() time.Time { return clock }, Log: slog.New(slog.NewTextHandler(io.Discard, nil)),
		Step: func(step string) {
			if step != os.Getenv("CHILD_STEP") {
				return
			}
			if times++; fmt.Sprint(times) == os.Getenv("CHILD_ON") {
				_ = syscall.Kill(os.Getpid(), syscall.SIGKILL)
				select {} // until it arrives
			}
		}})
	if err != nil {
		return err
	}
	if _, err := b.PutTeam(ctx, rehab.Team{Key: club, Zone: "UTC", ReportAt: "07:30"}); err != nil {
		return err
	}
	for i, text := range crashLines {
		if err := b.Handle(ctx, bot.Inbound{Kind: bot.Created, Team: club, Message: fmt.Sprintf("m%d", i), Author: "sam", Roles: medical, Place: bot.MedicalRoom, Text: text, Sent: clock}); err != nil {
			return err
		}
	}
	if err := b.Tick(ctx); err != nil {
		return err
	}
	return s.Close()
}

// recorded counts each message's live entries.
func recorded(t *testing.T, c store.Config) map[string]int {
	t.Helper()
	s := storetest.Open(t, c)
	out := map[string]int{}
	err := s.Do(t.Context(), time.Now(), func(tx *store.Tx) error {
		team, err := tx.Team(t.Context(), club)
		if errors.Is(err, store.ErrNotFound) {
			return nil
		}
		if err != nil {
			return err
		}
		if err := tx.Enter(t.Context(), team.ID); err != nil {
			return err
		}
		all, err := tx.TeamEntries(t.Context())
		for _, list := range all {
			for _, e := range list {
				out[e.Source]++
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// read counts each message's acknowledgements.
func read(t *testing.T, said string) map[string]int {
	t.Helper()
	out := map[string]int{}
	f, err := os.Open(said)
	if errors.Is(err, os.ErrNotExist) {
		return out
	}
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	for lines := bufio.NewScanner(f); lines.Scan(); {
		// kestrels/created/m3/0.0
		if parts := strings.Split(lines.Text(), "/"); len(parts) == 4 {
			out[parts[2]]++
		}
	}
	return out
}
