package store

import (
	"context"
	"sync"

	"github.com/jmoiron/sqlx"
)

// mostPrepared is how many statements are kept ready: more than the package has, so that one that is put together
// anew each time does not fill the memory.
const mostPrepared = 300

// prepared keeps statements ready: reading their text takes SQLite as long as running them. A statement is made
// ready after the first transaction that used it, for within one the only connection is taken.
type prepared struct {
	mu   sync.RWMutex
	list map[string]*sqlx.Stmt
	next map[string]bool
}

// find gives a statement that is ready, else nil, and remembers that it is wanted.
func (p *prepared) find(q string) *sqlx.Stmt {
	p.mu.RLock()
	s, known := p.list[q], p.next[q]
	p.mu.RUnlock()
	if s == nil && !known {
		p.mu.Lock()
		defer p.mu.Unlock()
		if len(p.list)+len(p.next) < mostPrepared {
			p.next[q] = true
		}
	}
	return s
}

// ready makes the statements ready that were wanted. One that cannot be is run as it is.
func (p *prepared) ready(ctx context.Context, db *sqlx.DB) {
	p.mu.RLock()
	n := len(p.next)
	p.mu.RUnlock()
	if n == 0 {
		return
	}
	p.mu.Lock()
	wanted := p.next
	p.next = map[string]bool{}
	p.mu.Unlock()
	for q := range wanted {
		s, err := db.PreparexContext(ctx, q)
		if err != nil {
			continue
		}
		p.mu.Lock()
		if p.list[q] == nil {
			p.list[q], s = s, nil
		}
		p.mu.Unlock()
		if s != nil {
			_ = s.Close() // another was faster
		}
	}
}

// close lets go of all of them.
func (p *prepared) close() {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, s := range p.list {
		_ = s.Close()
	}
	p.list = map[string]*sqlx.Stmt{}
}
