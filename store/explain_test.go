package store_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"syscall"
	"testing"

	"footing/rehab"
	"footing/store"
)

func TestExplain(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		err  error
		want string
	}{
		{nil, ""},
		{fmt.Errorf("finding Mere Tau: %w", store.ErrNotFound), store.ErrNotFound.Error()},
		{fmt.Errorf("%w: Mere Tau", store.ErrUnreachable), store.ErrUnreachable.Error()},
		{fmt.Errorf("for Mere Tau: %w", context.DeadlineExceeded), context.DeadlineExceeded.Error()},
		{fmt.Errorf("reading: %w", errors.New("Mere Tau is odd")), "*errors.errorString"},
		{fmt.Errorf("of Mere Tau: %w", syscall.ECONNREFUSED), "connection refused"},
		{fmt.Errorf("of Mere Tau: %w", io.EOF), "EOF"},
		{fmt.Errorf("of Mere Tau: %w", plain{}), "in order to be logged"},
	} {
		same(t, fmt.Sprint("explaining ", c.err), store.Explain(c.err), c.want)
	}
}

// plain says for itself what may be logged of it.
type plain struct{}

func (plain) Error() string { return "Mere Tau" }
func (plain) Plain() string { return "in order to be logged" }

// Engines put values into their texts: who, and what about them.
func logsHoldNoValues(t *testing.T, q squad) {
	wrong := q.b
	wrong.Shirt, wrong.Name = q.a.Shirt, "Mere Tau"
	said := store.Explain(q.try(q.s, noon, func(tx *store.Tx) error { return tx.ChangeAthlete(ctx, wrong, strings.ToLower) }))
	want := map[string]string{"sqlite": "sqlite 2067 changing the athlete", "postgres": "postgres 23505 changing the athlete"}
	same(t, "a taken shirt", said, want[q.s.Engine()])

	e := q.note(q.a.ID, "m1", "")
	e.Author, e.Source = 9999, "words of Mere Tau"
	said = store.Explain(q.try(q.s, noon, func(tx *store.Tx) error { return tx.Append(ctx, []rehab.Entry{e}) }))
	if strings.Contains(said, "Mere") || !strings.Contains(said, "storing the entry") {
		t.Errorf("an entry by nobody is explained as %q", said)
	}
}
