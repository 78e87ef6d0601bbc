package discord_test

import (
	"os"
	"runtime"
	"strconv"
	"testing"
	"time"

	"footing/store/storetest"
)

// What many interactions leave behind in memory: next to nothing. The heap is what is live after a collection, the
// stand-in's own in it: it forgets what it served. FOOTING_ENDURANCE is how many.
func TestEndurance(t *testing.T) {
	if raced {
		t.Skip("measures memory: without the race detector")
	}
	const medics = 50
	first, n, mayGrow := 500, 2000, 600_000 // 300 bytes left by each
	if many, err := strconv.Atoi(os.Getenv("FOOTING_ENDURANCE")); err == nil {
		first, n, mayGrow = 5000, many, 5_000_000
	}
	if testing.Short() {
		first, n = 100, 500
	}
	c := gather(t, storetest.SQLite(t), medics)
	c.run(first)
	heap, routines := c.live()
	t.Logf("after %d interactions of %d people: live heap %.2f MB, %d goroutines", first, medics, float64(heap)/1e6, routines)
	const parts = 5
	is, routinesNow := 0, 0
	for i := range parts {
		began := time.Now()
		c.run(n / parts)
		a := n / parts * (i + 1)
		is, routinesNow = c.live()
		t.Logf("after %d more: %.2f MB, %+d bytes each; %d goroutines; %.0f a second", a, float64(is)/1e6, (is-heap)/a, routinesNow, float64(n/parts)/time.Since(began).Seconds())
	}
	if grown := is - heap; grown > mayGrow {
		t.Errorf("the heap grew by %d bytes", grown)
	}
	if routinesNow > routines+10 { // a connection may be on its way out
		t.Errorf("goroutines went from %d to %d", routines, routinesNow)
	}
}

// live is the heap in use and the goroutines, connections that nobody uses closed.
func (c *crowd) live() (heap, routines int) {
	c.w.Forget(keptMessages)
	c.w.CloseIdle()
	for range 2 {
		runtime.GC()
	}
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int(m.HeapAlloc), runtime.NumGoroutine()
}
