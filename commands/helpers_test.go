package commands

import (
	"flag"
	"os"
	"path/filepath"
	"testing"
	"time"

	"footing/rehab"
	"footing/rehab/protocol"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// squad is an invented team; two of its names are parts of each other, one is a word.
var squad = []rehab.Athlete{
	{ID: 1, Shirt: 7, Name: "Mere Tau", Nick: "Mez", Active: true},
	{ID: 2, Shirt: 9, Name: "Mere Poole", Active: true},
	{ID: 3, Shirt: 12, Name: "Joss Okafor", Active: true},
	{ID: 4, Shirt: 23, Name: "Zoë Lindqvist", Active: true},
}

// tuesday is when every line of these tests is sent.
var tuesday = time.Date(2026, 3, 3, 18, 50, 0, 0, time.UTC)

func registry(t testing.TB) *Registry {
	t.Helper()
	reg, err := All()
	if err != nil {
		t.Fatal(err)
	}
	return reg
}

func lang(t testing.TB) *Lang {
	t.Helper()
	p, err := protocol.Default()
	if err != nil {
		t.Fatal(err)
	}
	l := &Lang{Vocabulary: NewVocabulary(p), Now: tuesday}
	l.SetRoster(squad)
	return l
}

// golden compares with a file under testdata, or rewrites it.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s has changed; if that is meant, run go test ./commands -update and read the difference.\n%s", path, got)
	}
}
