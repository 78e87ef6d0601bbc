package bot_test

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"footing/bot"
	"footing/store"
	"footing/store/storetest"
)

// hand is a clock that several processes read while the test moves it.
type hand struct {
	mu  sync.Mutex
	now time.Time
}

func (h *hand) read() time.Time {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.now
}

func (h *hand) move(d time.Duration) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.now = h.now.Add(d)
}

// fleet is several processes on one database that speak through one chat. What the first sends hangs
// once it is doomed: it then holds its destinations until their leases run out.
type fleet struct {
	*rig
	clock  *hand
	bots   []*bot.Bot
	stops  []context.CancelFunc
	ticks  []chan time.Time
	ended  sync.WaitGroup
	places []bot.Place
}

func newFleet(t *testing.T, c store.Config, n int) *fleet {
	t.Helper()
	f := &fleet{rig: newRig(t, c), places: []bot.Place{bot.MedicalRoom, bot.StaffRoom, bot.DirectTo("a"), bot.DirectTo("b"), bot.DirectTo("c")}}
	f.clock = &hand{now: f.now}
	f.chat.heard = make(chan struct{}, 1)
	for range n {
		ctx, stop := context.WithCancel(t.Context())
		b, tick := f.process(t, storetest.Open(t, c), f.clock.read, nil), make(chan time.Time)
		f.bots, f.stops, f.ticks = append(f.bots, b), append(f.stops, stop), append(f.ticks, tick)
		f.ended.Go(func() { b.Deliver(ctx, 3, tick) })
	}
	t.Cleanup(func() {
		for _, stop := range f.stops {
			stop()
		}
		f.ended.Wait()
	})
	return f
}

// look makes the processes from the given one on look for work.
func (f *fleet) look(from int) {
	for _, tick := range f.ticks[from:] {
		tick <- time.Time{}
	}
}

// written lists the keys of a place in the order they were written.
func (f *fleet) written(t *testing.T, p bot.Place) (out []string) {
	t.Helper()
	rows, err := f.store.DB().Query(`SELECT o.dedupe_key FROM outbox o JOIN destinations d ON d.id = o.destination_id WHERE d.key = $1 ORDER BY o.id`, string(p))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		var key string
		if err := rows.Scan(&key); err != nil {
			t.Fatal(err)
		}
		out = append(out, key)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}

// Two and four processes share the work. One hangs in the middle of a send with its destination held; its
// lease runs out and the others go on. Everything arrives, once, and in order at each place.
func TestProcessesShareTheWork(t *testing.T) {
	for _, n := range []int{2, 4} {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			f := newFleet(t, storetest.Postgres(t), n)
			hung, free := make(chan struct{}), make(chan struct{})
			letGo := sync.OnceFunc(func() { close(free) })
			t.Cleanup(letGo)
			var held atomic.Bool
			f.chat.slow = func(_ context.Context, m bot.Message) {
				if m.Key == "a7" && held.CompareAndSwap(false, true) { // the second send of it goes through
					close(hung)
					<-free
				}
			}
			for i := range 20 {
				for _, p := range f.places {
					f.put(t, "notice", p, fmt.Sprint(string(p[len(p)-1:]), i))
				}
			}
			f.look(0)
			<-hung
			want := len(f.written(t, f.places[0])) + 20*4
			f.chat.await(t, "all that is not held", func() bool { return len(f.chat.shown("")) == want-13 })
			f.clock.move(store.LeaseTime)
			f.look(0)
			f.chat.await(t, "all", func() bool { return len(f.chat.shown("")) == want })
			letGo() // the one that hung comes back: too late, its message is known
			for _, stop := range f.stops {
				stop()
			}
			f.ended.Wait()
			for _, p := range f.places {
				same(t, "at "+string(p), f.chat.shown(p), f.written(t, p))
			}
			same(t, "sends of what hung", f.chat.sends("a7"), 2)
			same(t, "sends of what stood behind it", f.chat.sends("a8"), 1)
		})
	}
}

// A process that is stopped while others go on leaves nothing held, and events handled by any of them are
// answered once and in order for each author.
func TestAProcessThatStopsLeavesItsWorkToTheOthers(t *testing.T) {
	f := newFleet(t, storetest.Postgres(t), 4)
	var authors sync.WaitGroup
	for a := range 4 {
		var list []bot.Inbound
		for i := range 12 {
			in := f.message(fmt.Sprintf("note 7: %d of %d", i, a))
			in.Author, in.Message, in.Place = fmt.Sprint("physio", a), fmt.Sprintf("m%d-%02d", a, i), bot.MedicalRoom
			list = append(list, in)
		}
		authors.Go(func() {
			for i, in := range list {
				// Not the one that is stopped: it takes no events any more.
				if err := f.bots[1+(a+i)%3].Handle(t.Context(), in); err != nil {
					t.Error(err)
				}
				if a == 0 && i == 3 {
					f.stops[0]()
				}
			}
		})
	}
	authors.Wait()
	f.chat.await(t, "all answers", func() bool { return len(f.chat.shown("")) == 2+4*12 })
	said := f.chat.shown(bot.MedicalRoom)
	for a := range 4 {
		var got, want []string
		for _, key := range said {
			if key[:min(len(key), 20)] == fmt.Sprintf("kestrels/created/m%d-", a) {
				got = append(got, key)
			}
		}
		for i := range 12 {
			want = append(want, fmt.Sprintf("kestrels/created/m%d-%02d/0.0", a, i))
		}
		same(t, fmt.Sprint("the answers to author ", a), got, want)
	}
	if twice := slices.Compact(slices.Sorted(slices.Values(said))); len(twice) != len(said) {
		t.Errorf("%d answers, %d different ones", len(said), len(twice))
	}
}
