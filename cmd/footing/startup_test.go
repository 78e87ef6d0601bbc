package main

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// A phone left in the cold gets its answer at once, and the bot fits the smallest machine: from start
// to first reply under 300 ms (the best of five, since other work on the machine only ever adds) and
// under 40 MB resident, on SQLite.
func TestStartUpAndMemory(t *testing.T) {
	bin := filepath.Join(t.TempDir(), "footing")
	if out, err := exec.Command("go", "build", "-o", bin, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	best, most := time.Hour, int64(0)
	for range 5 {
		took, kb := firstReply(t, bin, filepath.Join(t.TempDir(), "new.db"))
		best, most = min(best, took), max(most, kb)
	}
	t.Logf("start to first reply %v, resident %.1f MB", best, float64(most)/1024)
	if best > 300*time.Millisecond {
		t.Errorf("the first reply took %v", best)
	}
	if most > 40*1024 {
		t.Errorf("%d kB resident", most)
	}
}

// firstReply starts the console on a new database, sends one line and times its answer.
func firstReply(t *testing.T, bin, db string) (time.Duration, int64) {
	t.Helper()
	cmd := exec.Command(bin, "console", "--db", db, "--script", "-")
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(in, "add 7 Mere Tau, wing\nsprain 7 left tender none, walked\n"); err != nil {
		t.Fatal(err)
	}
	took, kb := time.Duration(0), int64(0)
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if took == 0 && strings.Contains(lines.Text(), "On the roster") {
			took = time.Since(began)
			kb = peak(t, cmd.Process.Pid)
			_ = in.Close()
		}
	}
	if err := cmd.Wait(); err != nil || took == 0 {
		t.Fatalf("no reply: %v", err)
	}
	return took, kb
}

// peak is the most memory a process ever had resident, in kB. The rusage of an ended child would
// count this test's own size too, from before the child's exec.
func peak(t *testing.T, pid int) int64 {
	t.Helper()
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(status)) {
		if hwm, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			kb, err := strconv.ParseInt(strings.Fields(hwm)[0], 10, 64)
			if err != nil {
				t.Fatal(err)
			}
			return kb
		}
	}
	t.Fatal("no VmHWM")
	return 0
}
