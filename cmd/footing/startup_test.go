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
// to first reply under 300 ms of work and under 40 MB resident, on SQLite. The work is the processor's
// time, the best of five: what else the machine does stretches the clock, which is logged beside it.
func TestStartUpAndMemory(t *testing.T) {
	bin := filepath.Join(t.TempDir(), "footing")
	if out, err := exec.Command("go", "build", "-o", bin, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	best, clock, most := time.Hour, time.Hour, int64(0)
	for range 5 {
		took, work, kb := firstReply(t, bin, filepath.Join(t.TempDir(), "new.db"))
		best, clock, most = min(best, work), min(clock, took), max(most, kb)
	}
	t.Logf("start to first reply: %v of work, %v by the clock, resident %.1f MB", best, clock, float64(most)/1024)
	if best > 300*time.Millisecond || clock > 3*time.Second {
		t.Errorf("the first reply took %v of work, %v by the clock", best, clock)
	}
	if most > 40*1024 {
		t.Errorf("%d kB resident", most)
	}
}

// firstReply starts the console on a new database, sends one line and times its answer.
func firstReply(t *testing.T, bin, db string) (took, work time.Duration, kb int64) {
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
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if took == 0 && strings.Contains(lines.Text(), "On the roster") {
			took = time.Since(began)
			kb, work = peak(t, cmd.Process.Pid), worked(t, cmd.Process.Pid)
			_ = in.Close()
		}
	}
	if err := cmd.Wait(); err != nil || took == 0 {
		t.Fatalf("no reply: %v", err)
	}
	return took, work, kb
}

// worked is the processor time a process has used. The kernel counts it in hundredths of a second.
func worked(t *testing.T, pid int) time.Duration {
	t.Helper()
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		t.Fatal(err)
	}
	_, after, _ := strings.Cut(string(stat), ") ")
	fields := strings.Fields(after)
	user, err1 := strconv.Atoi(fields[11]) // utime, the 14th field of proc(5)
	system, err2 := strconv.Atoi(fields[12])
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	return time.Duration(user+system) * 10 * time.Millisecond
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
