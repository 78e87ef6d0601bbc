package discord_test

import (
	"database/sql"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"footing/store"
	"footing/store/storetest"
)

// tape keeps what every transaction of a store did, in the order in which they began.
type tape struct {
	mu   sync.Mutex
	list []store.Transaction
}

func (p *tape) add(x store.Transaction) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.list = append(p.list, x)
}

func (p *tape) take() []store.Transaction {
	p.mu.Lock()
	defer p.mu.Unlock()
	list := p.list
	p.list = nil
	began := func(x store.Transaction) time.Time { return x.Began.Add(x.Waited) }
	slices.SortStableFunc(list, func(x, y store.Transaction) int { return began(x).Compare(began(y)) }) // one may tell before another that ended earlier
	return list
}

// ofEvent reports whether a transaction is that in which an event is handled.
func ofEvent(x store.Transaction) bool {
	return len(x.Statements) > 0 && strings.HasPrefix(x.Statements[0].Text, "INSERT INTO inbox")
}

// twin is a second database on which the first one's transactions are run again, statement by statement with
// the same arguments, by database/sql alone. As all of them are, it stays the first one's equal to the last id.
type twin struct {
	t     *testing.T
	db    *sql.DB
	ready map[string]*sql.Stmt // nil when statements are sent as text each time
}

func newTwin(t *testing.T, c store.Config, ready bool) *twin {
	t.Helper()
	w := &twin{t: t, db: storetest.Open(t, c).DB()}
	w.db.SetMaxOpenConns(1)
	if ready {
		w.ready = map[string]*sql.Stmt{}
		t.Cleanup(func() {
			for _, s := range w.ready {
				_ = s.Close()
			}
		})
	}
	return w
}

// prepare makes a transaction's statements ready, as the store does after it first used them.
func (w *twin) prepare(x store.Transaction) {
	w.t.Helper()
	for _, s := range x.Statements {
		if w.ready == nil || w.ready[s.Text] != nil {
			continue
		}
		ready, err := w.db.PrepareContext(w.t.Context(), s.Text)
		if err != nil {
			w.t.Fatal(err)
		}
		w.ready[s.Text] = ready
	}
}

// play runs a transaction again and gives how long that took, and the rows of each statement.
func (w *twin) play(x store.Transaction) (took time.Duration, rows []int) {
	w.t.Helper()
	w.prepare(x)
	began := time.Now()
	tx, err := w.db.BeginTx(w.t.Context(), nil)
	if err != nil {
		w.t.Fatal(err)
	}
	defer func() { _ = tx.Rollback() }()
	for _, s := range x.Statements {
		n, err := w.run(tx, s)
		if err != nil {
			w.t.Fatalf("%s: %v", s.Text, err)
		}
		rows = append(rows, n)
	}
	if x.Committed {
		err = tx.Commit()
	} else {
		err = tx.Rollback()
	}
	if err != nil {
		w.t.Fatal(err)
	}
	return time.Since(began), rows
}

func (w *twin) run(tx *sql.Tx, s store.Statement) (n int, err error) {
	ctx, ready := w.t.Context(), w.ready[s.Text]
	if ready != nil {
		ready = tx.StmtContext(ctx, ready)
	}
	if !strings.HasPrefix(s.Text, "SELECT") && !strings.Contains(s.Text, "RETURNING") {
		var res sql.Result
		if ready != nil {
			res, err = ready.ExecContext(ctx, s.Args...)
		} else {
			res, err = tx.ExecContext(ctx, s.Text, s.Args...)
		}
		if err != nil {
			return 0, err
		}
		changed, err := res.RowsAffected()
		return int(changed), err
	}
	var rows *sql.Rows
	if ready != nil {
		rows, err = ready.QueryContext(ctx, s.Args...)
	} else {
		rows, err = tx.QueryContext(ctx, s.Text, s.Args...)
	}
	if err != nil {
		return 0, err
	}
	defer func() { _ = rows.Close() }()
	return drain(rows)
}

// drain reads all rows, as whoever asked for them would.
func drain(rows *sql.Rows) (n int, err error) {
	columns, err := rows.Columns()
	if err != nil {
		return 0, err
	}
	cells := make([]any, len(columns))
	for i := range cells {
		cells[i] = new(any)
	}
	for ; rows.Next(); n++ {
		if err := rows.Scan(cells...); err != nil {
			return n, err
		}
	}
	return n, rows.Err()
}
