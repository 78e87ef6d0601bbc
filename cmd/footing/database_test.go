package main

import (
	"bytes"
	"net"
	"net/url"
	"os"
	"os/exec"
	"sync"
	"testing"

	"footing/store/storetest"
)

// The server is restarted while people write. It is a private one, started for this test alone: others use
// the one that is there.
func TestTheServerRestarts(t *testing.T) {
	t.Parallel()
	if os.Getenv("FOOTING_CHILD_PRIVATE") == "" {
		storetest.Postgres(t) // skips, or fails, where there is none
		cmd := exec.Command("../../.ci/with-postgres", os.Args[0], "-test.run=^TestTheServerRestarts$", "-test.v")
		cmd.Env = append(os.Environ(), "FOOTING_CHILD_PRIVATE=1")
		if out, err := cmd.CombinedOutput(); err != nil || !bytes.Contains(out, []byte("--- PASS: TestTheServerRestarts")) {
			t.Fatalf("%v\n%s", err, out)
		}
		return
	}
	l := newLeague(t, storetest.Postgres(t))
	a := l.serve()
	l.begin(1)
	b := l.serve()
	until(t, "the second process", func() bool { return started(l) == 2 })
	l.everybody("before", 2)
	control(t, "stop -m fast")
	l.everybody("while it is away", 2)
	control(t, "start")
	until(t, "the gateway", func() bool { return l.w.Gateway().Live() == 1 })
	l.quiet(len(l.told))
	l.everybody("afterwards", 2)
	l.quiet(len(l.told))
	control(t, "restart -m immediate") // as if it had crashed
	l.everybody("after a crash", 2)
	until(t, "the gateway", func() bool { return l.w.Gateway().Live() == 1 })
	l.quiet(len(l.told))
	a.stop()
	b.stop()
	l.audit()
	t.Logf("%d were told that nothing was saved", l.declined())
}

// started counts the processes that have their database and asked Discord who they are.
func started(l *league) (n int) {
	for _, r := range l.w.Requests() {
		if r.Path == "/applications/@me" {
			n++
		}
	}
	return n
}

// control runs pg_ctl.
func control(t *testing.T, command string) {
	t.Helper()
	cmd := exec.Command("sh", "-c", os.Getenv("FOOTING_TEST_PG_PGCTL")+" "+command+" >/dev/null 2>&1 </dev/null")
	if err := cmd.Run(); err != nil {
		t.Fatalf("pg_ctl %s: %v", command, err)
	}
}

// The reply to a COMMIT is lost, after it or before it reached the server: what was told is found by its key,
// stored once and answered once.
func TestACommitWithoutAReply(t *testing.T) {
	for name, arrives := range map[string]bool{"it was done": true, "it was not done": false} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			l := newLeague(t, storetest.Postgres(t))
			direct := l.db.URL
			c := newCutter(t, direct)
			l.db.URL = c.url
			p := l.serve()
			l.begin(1)
			club := l.clubs[0]
			for range 3 {
				cut := c.next(arrives)
				club.says(club.people[0], "note 7: "+kept)
				until(t, "a commit that is cut", func() bool { return len(cut) == 1 })
			}
			l.quiet(0)
			p.stop()
			l.audit()
			if n := l.declined(); n > 0 {
				t.Errorf("%d were told that it failed", n)
			}
		})
	}
}

// kept is in what a transaction that is cut off writes.
const kept = "is it kept?"

// cutter is a way to the server that breaks at a COMMIT.
type cutter struct {
	url string

	mu      sync.Mutex
	cut     chan struct{} // filled when it broke; nil while nothing shall
	arrives bool          // the COMMIT still goes through
}

func newCutter(t *testing.T, to string) *cutter {
	t.Helper()
	u, err := url.Parse(to)
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = l.Close() })
	c, server := &cutter{}, u.Host
	u.Host = l.Addr().String()
	c.url = u.String()
	go func() {
		for {
			in, err := l.Accept()
			if err != nil {
				return
			}
			go c.pass(in, server)
		}
	}()
	return c
}

// next breaks the connection of the next transaction that has written an entry.
func (c *cutter) next(arrives bool) chan struct{} {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.cut, c.arrives = make(chan struct{}, 1), arrives
	return c.cut
}

func (c *cutter) pass(in net.Conn, server string) {
	out, err := net.Dial("tcp", server)
	if err != nil {
		_ = in.Close()
		return
	}
	defer func() {
		_ = in.Close()
		_ = out.Close()
	}()
	go func() {
		buf := make([]byte, 8192)
		for {
			n, err := out.Read(buf)
			_, failed := in.Write(buf[:n])
			if err != nil || failed != nil {
				_ = in.Close()
				return
			}
		}
	}()
	wrote := false
	buf := make([]byte, 8192)
	for {
		n, err := in.Read(buf)
		if err != nil {
			return
		}
		wrote = wrote || bytes.Contains(buf[:n], []byte(kept)) // not the statement's text: that was told once, when it was made ready
		if bytes.Contains(buf[:n], []byte("COMMIT")) {
			if breaks, arrives := c.breaks(wrote); breaks {
				_ = in.Close() // before the server can reply
				if arrives {
					_, _ = out.Write(buf[:n]) // a server that then reads the end has the statement before it
				}
				return
			}
			wrote = false
		}
		if _, err := out.Write(buf[:n]); err != nil {
			return
		}
	}
}

// breaks says whether a commit is the one, of a transaction that wrote it or not, and whether it still goes through.
func (c *cutter) breaks(wrote bool) (now, arrives bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.cut == nil || !wrote {
		return false, false
	}
	c.cut <- struct{}{}
	c.cut = nil
	return true, c.arrives
}
