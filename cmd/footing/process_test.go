package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"footing/bot/discord/discordtest"
	"footing/store"
	"footing/store/storetest"
)

// The tests' processes are this test binary, which then does what main does, with a stand-in for Discord, a
// clock that the test may move, and a step at which to die.
const (
	envChild   = "FOOTING_CHILD"
	envDiscord = "FOOTING_CHILD_DISCORD" // the stand-in's address
	envClock   = "FOOTING_CHILD_CLOCK"   // a file that says how far the clock is ahead
	envDie     = "FOOTING_CHILD_DIE"     // "stored:3": at the third time that step is reached
)

func TestMain(m *testing.M) {
	if os.Getenv(envChild) == "" {
		os.Exit(m.Run())
	}
	os.Exit(process(around{
		transport: discordtest.TransportTo(os.Getenv(envDiscord)), every: 100 * time.Millisecond, apart: 200 * time.Millisecond,
		clock: func() time.Time { return time.Now().Add(ahead(os.Getenv(envClock))) },
		step:  die(os.Getenv(envDie)),
	}))
}

// ahead reads how far a clock is ahead.
func ahead(file string) time.Duration {
	text, _ := os.ReadFile(file)
	d, _ := time.ParseDuration(string(text))
	return d
}

// die ends the process as nothing else does, the n-th time a step is reached.
func die(at string) func(string) {
	step, times, _ := strings.Cut(at, ":")
	var mu sync.Mutex
	left, _ := strconv.Atoi(times)
	return func(reached string) {
		mu.Lock()
		defer mu.Unlock()
		if reached != step {
			return
		}
		if left--; left == 0 {
			_ = syscall.Kill(os.Getpid(), syscall.SIGKILL)
			select {} // until it arrives
		}
	}
}

// proc is a running process.
type proc struct {
	t     *testing.T
	cmd   *exec.Cmd
	out   *output
	ended chan struct{}
	err   error
}

// output is what a process printed.
type output struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (o *output) Write(p []byte) (int, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.buf.Write(p)
}

func (o *output) String() string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.buf.String()
}

// command starts a process with a command line. What it needs of secrets is in its environment.
func command(t *testing.T, w *discordtest.World, env []string, args ...string) *proc {
	t.Helper()
	p := &proc{t: t, cmd: exec.Command(os.Args[0], args...), out: &output{}, ended: make(chan struct{})}
	p.cmd.Env = append(os.Environ(), envChild+"=1", envDiscord+"="+w.URL(), "FOOTING_TOKEN="+bare(w))
	p.cmd.Env = append(p.cmd.Env, env...)
	p.cmd.Stdout, p.cmd.Stderr = p.out, p.out
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		p.err = p.cmd.Wait()
		close(p.ended)
		w.Notify()
	}()
	t.Cleanup(func() {
		_ = p.cmd.Process.Kill()
		<-p.ended
		if strings.Contains(p.out.String(), bare(w)) {
			t.Errorf("the token was printed:\n%s", p.out)
		}
		if t.Failed() {
			t.Logf("process %d, %v, printed:\n%s", p.cmd.Process.Pid, args, p.out)
		}
	})
	return p
}

// bare is the bot's token as its owner sets it.
func bare(w *discordtest.World) string { return strings.TrimPrefix(w.Token(), "Bot ") }

func (p *proc) over() bool {
	select {
	case <-p.ended:
		return true
	default:
		return false
	}
}

// killed waits until the process was killed, by itself or by the test.
func (p *proc) killed() {
	p.t.Helper()
	until(p.t, "the process to be killed", p.over)
	if status, ok := p.cmd.ProcessState.Sys().(syscall.WaitStatus); !ok || status.Signal() != syscall.SIGKILL {
		p.t.Fatalf("the process was not killed: %v", p.err)
	}
}

func (p *proc) kill() {
	p.t.Helper()
	if err := p.cmd.Process.Kill(); err != nil {
		p.t.Fatal(err)
	}
	p.killed()
}

// stop tells the process to stop, as a service manager does, and gives how long it took.
func (p *proc) stop() time.Duration {
	p.t.Helper()
	began := time.Now()
	if err := p.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		p.t.Fatal(err)
	}
	until(p.t, "the process to stop", p.over)
	if p.err != nil {
		p.t.Errorf("it stopped with %v", p.err)
	}
	return time.Since(began)
}

// until waits for a condition, which it asks now and again: what it is about may be in another process.
func until(t *testing.T, what string, holds func() bool) {
	t.Helper()
	// A claim whose commit got no answer keeps its place for the minute of a lease, and a room that could not be read
	// back is held for half of one.
	for late := time.Now().Add(3 * time.Minute); !holds(); time.Sleep(10 * time.Millisecond) {
		if time.Now().After(late) {
			t.Fatalf("waited three minutes for %s", what)
		}
	}
}

// serve starts footing serve on a database.
func (l *league) serve(env ...string) *proc {
	l.t.Helper()
	env = append(env, envClock+"="+l.clock)
	return command(l.t, l.w, env, append([]string{"serve", "--content", "--db", l.db.URL, "--owner-db", l.db.OwnerURL}, l.flags...)...)
}

// What only a change mends ends the process, also long after it began: a service that goes on without a gateway
// looks well and serves nobody.
func TestWhatOnlyAChangeMendsEndsTheProcess(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, db store.Config) {
		l := newLeague(t, db)
		p := l.serve()
		until(t, "the gateway", func() bool { return l.w.Gateway().Live() == 1 })
		l.w.Allow(0) // somebody takes the intent away
		l.w.Gateway().Close(4014)
		until(t, "its end", func() bool {
			select {
			case <-p.ended:
				return true
			default:
				return false
			}
		})
		if code := p.cmd.ProcessState.ExitCode(); code != mustChange {
			t.Errorf("it ended with %d", code)
		}
	})
}

// later moves the clock of every process on: the leases of dead ones run out.
func (l *league) later(d time.Duration) {
	l.t.Helper()
	l.moved += d
	next := l.clock + ".next"
	if err := os.WriteFile(next, []byte(l.moved.String()), 0o600); err != nil {
		l.t.Fatal(err)
	}
	if err := os.Rename(next, l.clock); err != nil {
		l.t.Fatal(err)
	}
	l.tick()
}

// tick moves the stand-in's clock to that of the processes, and on: no two things happen at one instant.
func (l *league) tick() {
	now := time.Now().Add(l.moved)
	if at := l.w.Now().Add(time.Millisecond); at.After(now) {
		now = at
	}
	l.w.SetClock(now)
}

func newClock(t *testing.T) string { return filepath.Join(t.TempDir(), "clock") }
