package store_test

import (
	"context"
	"net"
	"net/url"
	"sync"
	"testing"
	"time"

	"footing/store"
	"footing/store/storetest"
)

// often is how often the tests' contenders look; a leader that hangs is given up after store's own patience.
const often = 20 * time.Millisecond

// led is a contender that leads.
type led struct {
	ctx  context.Context
	stop func()
}

func lead(t *testing.T, s *store.Store, what int64) led {
	t.Helper()
	ctx, stop, err := s.Lead(t.Context(), what, often)
	ok(t, err)
	t.Cleanup(stop)
	return led{ctx, stop}
}

// contend tries to lead beside others.
func contend(t *testing.T, s *store.Store, what int64) <-chan led {
	t.Helper()
	got := make(chan led, 1)
	go func() {
		ctx, stop, err := s.Lead(t.Context(), what, often)
		if err == nil {
			t.Cleanup(stop)
			got <- led{ctx, stop}
		}
	}()
	return got
}

func await[T any](t *testing.T, what string, c <-chan T) (v T) {
	t.Helper()
	select {
	case v = <-c:
	case <-time.After(20 * time.Second):
		t.Fatalf("%s never came", what)
	}
	return v
}

// none holds when nobody leads besides the one who does, for as long as several looks take.
func none(t *testing.T, c <-chan led) {
	t.Helper()
	select {
	case <-c:
		t.Fatal("two lead at once")
	case <-time.After(5 * often):
	}
}

func TestOneOfTwoLeads(t *testing.T) {
	t.Parallel()
	c := storetest.Postgres(t)
	a, b := storetest.Open(t, c), storetest.Open(t, c)

	first := lead(t, a, 1)
	other := lead(t, b, 2) // of another shard
	second := contend(t, b, 1)
	none(t, second)
	ok(t, first.ctx.Err())
	first.stop()
	is(t, "what the first may do", first.ctx.Err(), context.Canceled)
	next := await(t, "the second's turn", second)
	ok(t, next.ctx.Err())
	ok(t, other.ctx.Err())

	// The server ends the holder's connection: it learns so, another leads, and the first stands by again.
	again := contend(t, a, 1)
	exec(t, raw(t, c), `SELECT pg_terminate_backend(pid) FROM pg_locks WHERE locktype = 'advisory' AND objid = 1 AND database = (SELECT oid FROM pg_database WHERE datname = current_database())`)
	await(t, "the end of the holder's turn", next.ctx.Done())
	await(t, "the first's second turn", again)
	ok(t, other.ctx.Err())
}

func TestWaitingToLeadEndsWithItsContext(t *testing.T) {
	t.Parallel()
	c := storetest.Postgres(t)
	a, b := storetest.Open(t, c), storetest.Open(t, c)
	lead(t, a, 1)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() {
		_, _, err := b.Lead(ctx, 1, often)
		ended <- err
	}()
	cancel()
	is(t, "waiting", await(t, "the end of waiting", ended), context.Canceled)
}

// The server is away for a while, once without a word: then whoever led cannot tell, and leads no more; when
// it is back, one of the two leads, and ordinary transactions go on as if nothing had been.
func TestTheServerIsAwayForAWhile(t *testing.T) {
	t.Parallel()
	c := storetest.Postgres(t)
	for _, silent := range []bool{false, true} {
		w := newWire(t, c.URL)
		a, b := storetest.Open(t, store.Config{URL: w.url, OwnerURL: c.OwnerURL}), storetest.Open(t, store.Config{URL: w.url, OwnerURL: c.OwnerURL})
		first := lead(t, a, 1)
		second := contend(t, b, 1)
		ok(t, a.Do(ctx, noon, func(*store.Tx) error { return nil })) // leaves a connection behind that will be dead
		w.sever(silent)
		await(t, "the end of the leader's turn", first.ctx.Done())
		third := contend(t, a, 1)
		done := make(chan error, 1)
		go func() { done <- a.Do(ctx, noon, func(*store.Tx) error { return nil }) }()
		w.mend()
		ok(t, await(t, "a transaction", done))
		select {
		case l := <-second:
			none(t, third)
			l.stop()
			await(t, "the other's turn", third).stop()
		case l := <-third:
			none(t, second)
			l.stop()
			await(t, "the other's turn", second).stop()
		case <-time.After(20 * time.Second):
			t.Fatal("nobody leads")
		}
	}
}

// wire is a way to the server that can be broken.
type wire struct {
	url string

	mu     sync.Mutex
	way    *sync.Cond
	broken bool
	silent bool // nothing passes, but connections stay
	open   []net.Conn
}

func newWire(t *testing.T, to string) *wire {
	t.Helper()
	u, err := url.Parse(to)
	ok(t, err)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	ok(t, err)
	w := &wire{}
	w.way = sync.NewCond(&w.mu)
	target := u.Host
	u.Host = l.Addr().String()
	w.url = u.String()
	t.Cleanup(func() {
		_ = l.Close()
		w.mend()
		w.cut()
	})
	go func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			go w.pass(conn, target)
		}
	}()
	return w
}

// pass joins a connection to the server.
func (w *wire) pass(in net.Conn, target string) {
	out, err := net.Dial("tcp", target)
	w.mu.Lock()
	if err != nil || w.broken && !w.silent {
		w.mu.Unlock()
		_ = in.Close()
		if err == nil {
			_ = out.Close()
		}
		return
	}
	w.open = append(w.open, in, out)
	w.mu.Unlock()
	go w.copy(in, out)
	w.copy(out, in)
}

func (w *wire) copy(to, from net.Conn) {
	buf := make([]byte, 4096)
	for {
		n, err := from.Read(buf)
		w.mu.Lock()
		for w.broken && w.silent {
			w.way.Wait()
		}
		w.mu.Unlock()
		if n > 0 {
			if _, err := to.Write(buf[:n]); err != nil {
				break
			}
		}
		if err != nil {
			break
		}
	}
	_ = to.Close()
	_ = from.Close()
}

func (w *wire) sever(silent bool) {
	w.mu.Lock()
	w.broken, w.silent = true, silent
	w.mu.Unlock()
	if !silent {
		w.cut()
	}
}

func (w *wire) cut() {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, c := range w.open {
		_ = c.Close()
	}
	w.open = nil
}

func (w *wire) mend() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.broken = false
	w.way.Broadcast()
}
