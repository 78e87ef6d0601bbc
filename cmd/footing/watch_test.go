package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"footing/bot/discord"
	"footing/bot/watch"
	"footing/store"
)

type idle struct{}

func (idle) Waiting(context.Context, time.Time) (store.Waiting, error) { return store.Waiting{}, nil }

// systemd is told over its socket, at least twice in every WATCHDOG_USEC (sd_notify(3), sd_watchdog_enabled(3)).
func TestSystemdIsTold(t *testing.T) {
	path := filepath.Join(t.TempDir(), "n")
	socket, err := net.ListenUnixgram("unixgram", &net.UnixAddr{Name: path, Net: "unixgram"})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = socket.Close() }()
	t.Setenv("NOTIFY_SOCKET", path)
	t.Setenv("WATCHDOG_USEC", "20000")
	w := watch.New(idle{}, time.Now)
	w.Lead(1)
	w.Connected(1)
	stop, err := watchFlags{}.tell(t.Context(), w, watchFlags{}.log(t.Output()))
	if err != nil {
		t.Fatal(err)
	}
	read := func() string {
		if err := socket.SetReadDeadline(time.Now().Add(30 * time.Second)); err != nil {
			t.Fatal(err)
		}
		buf := make([]byte, 1000)
		n, err := socket.Read(buf)
		if err != nil {
			t.Fatal(err)
		}
		return string(buf[:n])
	}
	var got []string
	for range 4 {
		got = append(got, read())
	}
	if want := "READY=1|STATUS=Connected to Discord; 0 to send.|WATCHDOG=1|WATCHDOG=1"; strings.Join(got, "|") != want {
		t.Errorf("told %q", got)
	}
	go stop()
	for state := read(); state != "STOPPING=1"; state = read() {
		if state != "WATCHDOG=1" {
			t.Errorf("told %q", state)
		}
	}
}

// An address that others can reach is refused before anything else is done, in a sentence.
func TestListenIsRefusedPlainly(t *testing.T) {
	t.Setenv("FOOTING_TOKEN", "x")
	out, err := footing(t, "", "serve", "--db", filepath.Join(t.TempDir(), "x.db"), "--listen", "0.0.0.0:9120")
	if err == nil || !strings.Contains(err.Error(), "other machines could reach that address") {
		t.Errorf("%v\n%s", err, out)
	}
}

func TestTheLogIsTextOrJSON(t *testing.T) {
	for format, want := range map[string]string{"text": "level=WARN msg=m n=1", "json": `"level":"WARN","msg":"m","n":1}`} {
		var b strings.Builder
		log := watchFlags{LogFormat: format, LogLevel: 4}.log(&b)
		log.Info("less")
		log.Warn("m", "n", 1)
		if !strings.Contains(b.String(), want) || strings.Contains(b.String(), "less") {
			t.Errorf("%s: %s", format, b.String())
		}
	}
	if out, err := footing(t, "", "serve", "--db", "x.db", "--log-format", "xml"); err == nil || !strings.Contains(err.Error(), "log-format") {
		t.Errorf("%v\n%s", err, out)
	}
}

// 78 is EX_CONFIG in sysexits.h; the unit file in the README does not start again after it.
func TestWhatOnlyAChangeMendsHasItsOwnExitCode(t *testing.T) {
	for _, c := range []struct {
		err  error
		want int
	}{{errors.New("x"), 1}, {fmt.Errorf("running: %w", &discord.Fatal{Says: "x"}), 78}, {errors.Join(errNoToken, nil), 78}} {
		if got := exitCode(c.err); got != c.want {
			t.Errorf("%v: %d", c.err, got)
		}
	}
}

// The unit file that the README shows is one systemd takes without a complaint, where systemd is there to ask.
func TestTheUnitFile(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	found := regexp.MustCompile(`(?s)\n((?:    [^\n]*\n|\n)*    \[Service\]\n(?:    [^\n]*\n|\n)*)`).FindSubmatch(readme)
	if found == nil {
		t.Fatal("the README shows no unit file")
	}
	unit := strings.TrimSpace(regexp.MustCompile(`(?m)^    `).ReplaceAllString(string(found[1]), "")) + "\n"
	if !strings.Contains(unit, fmt.Sprint("RestartPreventExitStatus=", mustChange)) {
		t.Error("the unit file starts again what only a change can mend")
	}
	tool, err := exec.LookPath("systemd-analyze")
	if err != nil {
		t.Skip("systemd-analyze is not here")
	}
	program, err := os.Executable() // there is no footing in /usr/local/bin here
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "footing.service")
	if err := os.WriteFile(path, []byte(strings.Replace(unit, "/usr/local/bin/footing", program, 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.CommandContext(t.Context(), tool, "verify", "--man=no", path).CombinedOutput()
	if err != nil || strings.Contains(string(out), "footing.service") {
		t.Errorf("systemd-analyze verify: %v\n%s\n%s", err, out, unit)
	}
}
