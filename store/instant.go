package store

import (
	"database/sql/driver"
	"fmt"
	"time"
)

// instant is a moment as both engines keep it: fixed-width UTC text with microseconds, which
// compares correctly as text on SQLite and is read as timestamptz by PostgreSQL. The zero instant is
// NULL.
type instant struct{ time.Time }

const instantLayout = "2006-01-02T15:04:05.000000Z"

func at(t time.Time) instant { return instant{t} }

// Value implements driver.Valuer.
func (i instant) Value() (driver.Value, error) {
	if i.IsZero() {
		return nil, nil
	}
	return i.UTC().Format(instantLayout), nil
}

// Scan implements sql.Scanner.
func (i *instant) Scan(src any) error {
	switch v := src.(type) {
	case nil:
		i.Time = time.Time{}
	case time.Time:
		i.Time = v.UTC()
	case string:
		t, err := time.Parse(time.RFC3339Nano, v)
		if err != nil {
			return fmt.Errorf("reading a time: %w", err)
		}
		i.Time = t.UTC()
	default:
		return fmt.Errorf("reading a time from %T", src)
	}
	return nil
}
