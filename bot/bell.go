package bot

import "sync"

// bell wakes everyone who listens. The zero bell is ready.
type bell struct {
	mu   sync.Mutex
	rung chan struct{}
}

// next is closed by the next ring. Who asks before looking for work misses none that comes after.
func (b *bell) next() <-chan struct{} {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.rung == nil {
		b.rung = make(chan struct{})
	}
	return b.rung
}

func (b *bell) ring() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.rung != nil {
		close(b.rung)
		b.rung = nil
	}
}
