package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
	_ "time/tzdata" // zones also where the machine has none

	"github.com/alecthomas/kong"
	"github.com/mattn/go-isatty"

	"footing/bot/console"
	"footing/store"
)

// cli is the command line.
type cli struct {
	Demo    struct{}   `cmd:"" help:"Five invented weeks of a club on a throw-away database, then a console on it."`
	Console consoleCmd `cmd:"" help:"The bot in this terminal, with a clock you can set."`
	Serve   discordCmd `cmd:"" help:"The bot on Discord."`
	Check   discordCmd `cmd:"" help:"Whether everything is as serve needs it, and what to change."`
	Report  byHandCmd  `cmd:"" help:"Write a team's morning report now, if its day has none yet; a serving process sends it."`
	Remind  byHandCmd  `cmd:"" help:"Write what else a team's day has now, as far as it was not sent; a serving process sends it."`
}

type consoleCmd struct {
	DB     string `name:"db" required:"" placeholder:"URL" help:"A SQLite file, or a postgres:// address."`
	Owner  string `name:"owner-db" placeholder:"URL" env:"FOOTING_OWNER_DB" help:"PostgreSQL address of the role that owns the schema, when --db is the application's."`
	At     string `placeholder:"TIME" help:"Where the clock starts, 2026-03-02 18:00 in the team's zone. Default: now."`
	Script string `placeholder:"FILE" help:"Run the lines of a file instead of the keyboard; - for standard input."`
	Team   string `placeholder:"FILE" help:"Settings and roster: zone, report time, then the import CSV."`
}

// around is what a process has around it besides its command line. A test puts a stand-in for Discord there,
// sets the clock, and ends the process at a step; no flag and no variable of the program does that.
type around struct {
	transport http.RoundTripper // to Discord; nil for the network
	clock     func() time.Time
	step      func(name string) // told each step of a message's path; see bot.Steps
	every     time.Duration     // between looks at what waits, and at who leads
	apart     time.Duration     // between the openings of two shards' connections
}

// run carries out one command line.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) error {
	return runIn(ctx, around{}, args, stdin, stdout, stderr)
}

func runIn(ctx context.Context, a around, args []string, stdin io.Reader, stdout, stderr io.Writer) error {
	var c cli
	exited := false
	parser, err := kong.New(&c, kong.Name("footing"), kong.Description("A chat bot that carries a squad's ankle sprains from pitch side to full return."),
		kong.Writers(stdout, stderr), kong.Exit(func(int) { exited = true }))
	if err != nil {
		return fmt.Errorf("building the command line: %w", err)
	}
	k, err := parser.Parse(args)
	if exited {
		return nil // --help was printed
	}
	if err != nil {
		return misread(err, args)
	}
	log := slog.New(slog.NewTextHandler(stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))
	switch k.Command() {
	case "demo":
		return demo(ctx, stdin, stdout, log)
	case "serve":
		return c.Serve.serve(ctx, a.or(), stderr)
	case "check":
		return c.Check.check(ctx, a.or(), stdout)
	case "report":
		return c.Report.write(ctx, a.or(), stdout, log, true)
	case "remind":
		return c.Remind.write(ctx, a.or(), stdout, log, false)
	}
	return c.Console.run(ctx, stdin, stdout, log)
}

// misread is a command line that cannot be read. One that holds an address is not repeated: there may be a
// password in it.
func misread(err error, args []string) error {
	if slices.ContainsFunc(args, func(a string) bool { return strings.Contains(a, "@") || strings.Contains(a, "password") }) {
		return errors.New("the command line cannot be read; a database's address goes behind --db; footing --help shows what there is")
	}
	return fmt.Errorf("%w; footing --help shows what there is", err)
}

// or fills in what the real world has.
func (a around) or() around {
	if a.clock == nil {
		a.clock = time.Now
	}
	if a.every == 0 {
		a.every = leadEvery
	}
	return a
}

func (c consoleCmd) run(ctx context.Context, stdin io.Reader, stdout io.Writer, log *slog.Logger) error {
	config := console.Config{Store: store.Config{URL: c.DB, OwnerURL: c.Owner}, Out: stdout, Log: log, At: time.Now()}
	if c.Team != "" {
		f, err := os.Open(c.Team)
		if err != nil {
			return fmt.Errorf("opening the team file: %w", err)
		}
		defer func() { _ = f.Close() }()
		if config.Team, err = console.ReadTeam(f); err != nil {
			return err
		}
	}
	if c.At != "" {
		at, err := console.ParseAt(c.At, config.Team.Zone)
		if err != nil {
			return err
		}
		config.At = at
	}
	unlock, err := store.Lock(c.DB)
	if err != nil {
		return err
	}
	defer unlock()
	if c.Script == "" {
		return session(ctx, config, stdin, false)
	}
	script := stdin
	if c.Script != "-" {
		f, err := os.Open(c.Script)
		if err != nil {
			return fmt.Errorf("opening the script: %w", err)
		}
		defer func() { _ = f.Close() }()
		script = f
	}
	return session(ctx, config, script, true)
}

func session(ctx context.Context, config console.Config, in io.Reader, script bool) error {
	con, err := console.Open(ctx, config)
	if err != nil {
		return err
	}
	defer func() { _ = con.Close() }()
	if script {
		return con.Script(ctx, in)
	}
	return con.Interact(ctx, in)
}

// demo plays the invented weeks, then hands the terminal over if there is one.
func demo(ctx context.Context, stdin io.Reader, stdout io.Writer, log *slog.Logger) error {
	dir, err := os.MkdirTemp("", "footing-demo-")
	if err != nil {
		return fmt.Errorf("making a place for the demo: %w", err)
	}
	defer func() { _ = os.RemoveAll(dir) }()
	con, err := console.Demo(ctx, store.Config{URL: filepath.Join(dir, "demo.db")}, stdout, log)
	if err != nil {
		return err
	}
	defer func() { _ = con.Close() }()
	if f, ok := stdin.(*os.File); !ok || !isatty.IsTerminal(f.Fd()) {
		return nil
	}
	return con.Interact(ctx, stdin)
}
