package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"strings"
	"testing"
	"time"

	"footing/bot"
	"footing/rehab"
	"footing/store"
	"footing/store/storetest"
)

// heard is a front that counts what it is to say.
type heard struct{ n int }

func (h *heard) Send(_ context.Context, m bot.Message) (string, error) {
	h.n++
	return m.Key, nil
}

// noonZone is a zone in which it is now about noon, so that no test runs over midnight.
func noonZone() string {
	switch h := time.Now().UTC().Hour(); {
	case h < 12:
		return fmt.Sprintf("Etc/GMT-%d", 12-h) // the sign is turned round there
	case h > 12:
		return fmt.Sprintf("Etc/GMT+%d", h-12)
	}
	return "Etc/GMT"
}

// Beside a serving process: what is written by hand is sent by that, once, and the clock leaves it alone.
func TestByHand(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		unlock, err := store.Lock(c.URL)
		if err != nil {
			t.Fatal(err)
		}
		defer unlock()
		st, front := storetest.Open(t, c), &heard{}
		serving, err := bot.New(t.Context(), bot.Config{Store: st, Front: front, Clock: time.Now, Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := serving.PutTeam(t.Context(), rehab.Team{Key: "77", Name: "Harbour Kestrels", Zone: noonZone(), ReportAt: "15:00"}); err != nil {
			t.Fatal(err)
		}
		for i, text := range []string{"add 7 Mere Tau", "sprain 7 left tender none, walked, walks, circulation ok, squeeze -, er -, no modifiers"} {
			if err := serving.Handle(t.Context(), bot.Inbound{Kind: bot.Created, Team: "77", Message: fmt.Sprint(i), Author: "sam", Roles: []rehab.Role{rehab.Medical}, Place: bot.MedicalRoom, Text: text, Sent: time.Now()}); err != nil {
				t.Fatal(err)
			}
		}
		if err := serving.Link(t.Context(), "77", "mere", 7); err != nil {
			t.Fatal(err)
		}
		if err := serving.Tick(t.Context()); err != nil {
			t.Fatal(err)
		}
		said := front.n
		with := func(command string, args ...string) string {
			t.Helper()
			out, err := footing(t, "", append([]string{command, "--db", c.URL, "--owner-db", c.OwnerURL}, args...)...)
			if err != nil {
				return err.Error()
			}
			return out
		}
		for _, step := range []struct{ got, wants string }{
			{with("report", "--team", "harbour kestrels", "--dry-run"), "report to the staff room, due"},
			{with("report", "--team", "77", "--dry-run"), "would be written"}, // the dry run before wrote nothing
			{with("report", "--team", "77"), "15:00: written"},
			{with("report", "--team", "77"), "left alone: sent already"},
			{with("remind", "--team", "77", "--dry-run"), "drills to shirt 7"},
			{with("remind", "--team", "77"), "clinic to the medical room"},
			{with("report", "--team", "77", "--date", "2020-01-01"), "left alone: too late"},
			{with("report", "--team", "77", "--date", "tomorrow"), `the date "tomorrow" cannot be read`},
			{with("report", "--team", "Otters"), "there is: Harbour Kestrels (77)"},
		} {
			if !strings.Contains(step.got, step.wants) {
				t.Errorf("%q is not in: %s", step.wants, step.got)
			}
		}
		for range 2 {
			if err := serving.Tick(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
		if n := front.n - said; n < 2 || n > 5 { // report, clinic list, drills; by the hour a Monday's summary, and a question
			t.Errorf("%d messages were sent", n)
		}
	})
}

// It makes no database, and touches none it does not know.
func TestByHandTouchesNoOther(t *testing.T) {
	if out, err := footing(t, "", "report", "--db", t.TempDir()+"/none.db", "--team", "x"); err == nil || !strings.Contains(err.Error(), "there is no such file") {
		t.Errorf("%v %s", err, out)
	}
	c := storetest.SQLite(t)
	st := storetest.Open(t, c)
	if _, err := st.DB().Exec(`DELETE FROM goose_db_version WHERE version_id = (SELECT max(version_id) FROM goose_db_version)`); err != nil {
		t.Fatal(err)
	}
	if out, err := footing(t, "", "report", "--db", c.URL, "--team", "x"); err == nil || !strings.Contains(err.Error(), "older version") {
		t.Errorf("%v %s", err, out)
	}
}
