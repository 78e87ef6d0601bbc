package console

import (
	"bytes"
	"context"
	_ "embed" // the demo travels in the binary
	"fmt"
	"io"
	"log/slog"
	"time"

	"footing/store"
)

var (
	//go:embed demo/squad.csv
	demoSquad []byte
	//go:embed demo/weeks.txt
	demoWeeks []byte
)

// demoStart is when the demo begins, in its team's zone.
const demoStart = "2026-03-01 17:00"

// Demo plays five invented weeks of a club through the same pipeline as real use and leaves the console
// open on it.
func Demo(ctx context.Context, db store.Config, out io.Writer, log *slog.Logger) (*Console, error) {
	team, err := ReadTeam(bytes.NewReader(demoSquad))
	if err != nil {
		return nil, err
	}
	at, err := ParseAt(demoStart, team.Zone)
	if err != nil {
		return nil, err
	}
	con, err := Open(ctx, Config{Store: db, Team: team, At: at, Out: out, Log: log, Brief: true})
	if err != nil {
		return nil, err
	}
	if err := con.Script(ctx, bytes.NewReader(demoWeeks)); err != nil {
		_ = con.Close()
		return nil, err
	}
	return con, nil
}

// ParseAt reads a starting time in a zone; the empty zone is UTC.
func ParseAt(text, zone string) (time.Time, error) {
	loc, err := time.LoadLocation(zone)
	if err != nil {
		return time.Time{}, fmt.Errorf("the zone %q is unknown; use a name like Pacific/Auckland", zone)
	}
	at, err := time.ParseInLocation("2006-01-02 15:04", text, loc)
	if err != nil {
		return time.Time{}, fmt.Errorf("the time %q cannot be read; write it like 2026-03-02 18:00", text)
	}
	return at, nil
}
