package store_test

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"footing/store"
)

func TestOneProcessPerSQLiteFile(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	path := filepath.Join(dir, "footing.db")
	unlock, err := store.Lock(path)
	ok(t, err)
	for _, again := range []string{path, "sqlite://" + path, "file:" + path, "file:" + path + "?mode=rw", filepath.Join(dir, "..", filepath.Base(dir), "footing.db")} {
		_, err := store.Lock(again)
		is(t, "a second lock by "+again, err, store.ErrInUse)
	}
	other, err := store.Lock(filepath.Join(dir, "other.db"))
	ok(t, err)
	other()
	// Other tools may still read and write the file.
	s, err := store.Open(ctx, store.Config{URL: path, Fast: true})
	ok(t, err)
	ok(t, s.Close())

	unlock()
	unlock, err = store.Lock(path)
	ok(t, err)
	unlock()

	_, err = store.Lock(filepath.Join(dir, "missing", "footing.db"))
	is(t, "in no directory", err, store.ErrUnreachable)
	unlock, err = store.Lock("postgres://127.0.0.1:1/footing") // nothing to lock: nothing is reached
	ok(t, err)
	unlock()
}

// The address of a SQLite file is a path: no letter in it means anything.
func TestSQLiteFileIsMadeWhereThePathSays(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"plain.db", "with space.db", "50%41.db", "a#b&c=d;e.db", "ā😀.db", "quote'\".db"} {
		dir := filepath.Join(t.TempDir(), name+".d")
		ok(t, os.Mkdir(dir, 0o700))
		s, err := store.Open(ctx, store.Config{URL: filepath.Join(dir, name), Fast: true})
		ok(t, err)
		ok(t, s.Do(ctx, noon, func(tx *store.Tx) error {
			_, err := tx.Claim(ctx, "e1")
			return err
		}))
		ok(t, s.Close())
		list, err := os.ReadDir(dir)
		ok(t, err)
		if !slices.ContainsFunc(list, func(e os.DirEntry) bool { return e.Name() == name }) {
			t.Errorf("%s was not made; there is %v", name, list)
		}
	}
}
