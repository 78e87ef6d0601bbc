package store

import (
	"database/sql"
	"reflect"
	"time"
)

// Transaction is what one transaction did, for measurements: it can be run again elsewhere, to the letter.
type Transaction struct {
	Began      time.Time
	Waited     time.Duration // for a connection, and its BEGIN
	Took       time.Duration // in all
	Committed  bool
	Statements []Statement
}

// Statement is one statement as it was run.
type Statement struct {
	Text string
	Args []any
	Rows int // given, or changed
	Took time.Duration
}

// seen begins a transaction for whoever watches; nil for nobody.
func (s *Store) seen(began time.Time) *Transaction {
	if s.watch == nil {
		return nil
	}
	return &Transaction{Began: began, Waited: time.Since(began)}
}

func (s *Store) told(seen *Transaction, committed bool) {
	if seen != nil {
		seen.Took, seen.Committed = time.Since(seen.Began), committed
		s.watch(*seen)
	}
}

// begins is when a statement begins; nobody looks at the clock where nobody watches.
func (t *Tx) begins() (now time.Time) {
	if t.seen != nil {
		now = time.Now()
	}
	return now
}

// ends notes a statement. came is what it gave: the result, the list it filled, or whether there was a row.
func (t *Tx) ends(began time.Time, q string, args []any, came any) {
	if t.seen == nil {
		return
	}
	s := Statement{Text: q, Args: args, Took: time.Since(began)}
	switch c := came.(type) {
	case bool:
		if c {
			s.Rows = 1
		}
	case sql.Result:
		if n, err := c.RowsAffected(); err == nil {
			s.Rows = int(n)
		}
	default:
		if v := reflect.ValueOf(came); v.Kind() == reflect.Pointer && v.Elem().Kind() == reflect.Slice {
			s.Rows = v.Elem().Len()
		}
	}
	t.seen.Statements = append(t.seen.Statements, s)
}
