// Package console is the bot in a terminal: the same pipeline, the same database, a clock that can be
// set. Tests of behaviour are scripts for it.
package console

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"strconv"
	"strings"
	"sync"
	"time"

	"footing/bot"
	"footing/rehab"
	"footing/store"
)

// Config is what a console needs.
type Config struct {
	Store store.Config
	Team  Team
	At    time.Time // where the clock starts; it then stands still but for one second a line
	Out   io.Writer
	Log   *slog.Logger
	Step  func(string) // see bot.Config
	// Brief shows only the last of the reports that a jump of the clock passes.
	Brief bool
	// Run names this run in message keys, so that two runs on one database never share one. Empty
	// draws a name.
	Run string
}

// Console is one run: the chat side of it (what was sent and shown) lives through a :restart, the
// process side does not.
type Console struct {
	Config
	team  rehab.Team
	zone  *time.Location
	store *store.Store
	bot   *bot.Bot
	queue *bot.Queue

	mu     sync.Mutex
	now    time.Time
	sent   []sentLine    // what the user sent, in order
	shown  []bot.Message // what the bot said, in order
	muted  bool
	events int
	failed error // the first internal error

	person
	place bot.Place
	key   string // of the team
}

// person is who is typing.
type person struct {
	author, name  string
	roles         []rehab.Role
	manager, owns bool // of the chat server
	outside       bool // whose direct messages come without a team, as on a chat system
}

// sentLine is a message of the user, for :edit and :delete.
type sentLine struct {
	key string
	person
	place bot.Place
	file  []byte // what came with it
}

const teamKey = "console"

// Open starts the bot and puts the team in place.
func Open(ctx context.Context, c Config) (*Console, error) {
	con := &Console{Config: c, now: c.At, key: teamKey}
	if con.Run == "" {
		con.Run = strconv.FormatInt(time.Now().UnixNano(), 36)
	}
	if con.Team.Zone == "" {
		con.Team.Zone = "UTC"
	}
	if con.Team.ReportAt == "" {
		con.Team.ReportAt = "07:30"
	}
	if err := con.as("medical"); err != nil {
		return nil, err
	}
	if err := con.start(ctx); err != nil {
		return nil, err
	}
	t := rehab.Team{Key: teamKey, Name: con.Team.Name, Zone: con.Team.Zone, ReportAt: con.Team.ReportAt, StrictMinors: con.Team.StrictMinors}
	if _, err := con.bot.PutTeam(ctx, t); err != nil {
		_ = con.Close()
		return nil, err
	}
	if err := con.readTeam(ctx); err != nil {
		_ = con.Close()
		return nil, err
	}
	if err := con.enrol(ctx); err != nil {
		_ = con.Close()
		return nil, err
	}
	return con, nil
}

// start opens the database and makes a new bot, as a new process would.
func (c *Console) start(ctx context.Context) (err error) {
	if c.store, err = store.Open(ctx, c.Config.Store); err != nil {
		return err
	}
	if c.bot, err = bot.New(ctx, bot.Config{Store: c.store, Front: c, Clock: c.clock, Log: c.Log, Step: c.Step}); err != nil {
		_ = c.store.Close()
		return err
	}
	c.queue = bot.NewQueue(ctx, c.bot, 20)
	c.queue.OnError = c.note
	return nil
}

// readTeam reads the team's settings as they stand: setup may have changed them.
func (c *Console) readTeam(ctx context.Context) (err error) {
	if c.team, err = c.bot.Team(ctx, c.key); err != nil {
		return err
	}
	c.zone, err = time.LoadLocation(c.team.Zone)
	return err
}

// Close ends the process side.
func (c *Console) Close() error { return c.store.Close() }

func (c *Console) clock() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

func (c *Console) note(err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.failed == nil {
		c.failed = err
	}
}

// Send implements bot.Front: it prints.
func (c *Console) Send(_ context.Context, m bot.Message) (string, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.shown = append(c.shown, m)
	if !c.muted {
		c.print(m)
	}
	return strconv.Itoa(len(c.shown)), nil
}

func (c *Console) print(m bot.Message) {
	to := string(m.Place)
	if !strings.ContainsAny(to[:1], "@~#") {
		to = "#" + to
	}
	_, _ = fmt.Fprintf(c.Out, "-> %s\n", to)
	for line := range strings.SplitSeq(m.Text, "\n") {
		_, _ = fmt.Fprintf(c.Out, "  %s\n", line)
	}
	if len(m.Buttons) == 0 {
		return
	}
	labels := make([]string, len(m.Buttons))
	for i, b := range m.Buttons {
		labels[i] = "[ " + b.Label + " ]"
	}
	_, _ = fmt.Fprintf(c.Out, "  %s\n", strings.Join(labels, " "))
}

// Script runs lines from a reader, echoing each as "> …". A line "# …" is a comment. It stops at the
// end, at :quit, or at an internal error, which it returns.
func (c *Console) Script(ctx context.Context, r io.Reader) error {
	return c.read(ctx, r, true)
}

// Interact reads lines as a person types them.
func (c *Console) Interact(ctx context.Context, r io.Reader) error {
	_, _ = fmt.Fprintln(c.Out, "Type help, or :as coach, :as 7 (linked, and consent recorded), :clock +1d, :press Label, :edit N text, :delete N, :import PATH, :calendar PATH, :restart, :quit.")
	return c.read(ctx, r, false)
}

func (c *Console) read(ctx context.Context, r io.Reader, echo bool) error {
	in := bufio.NewScanner(r)
	in.Buffer(nil, 1<<20)
	for in.Scan() {
		line := strings.TrimRight(in.Text(), "\r")
		if echo && strings.TrimSpace(line) != "" {
			mark := "> "
			if strings.HasPrefix(line, "# ") {
				mark = ""
			}
			_, _ = fmt.Fprintln(c.Out, mark+line)
		}
		if err := c.Line(ctx, line); errors.Is(err, errQuit) {
			return nil
		} else if err != nil {
			return err
		}
	}
	return in.Err()
}

var errQuit = errors.New("quit")

// Line does one line of a script: a directive, or a message. Only an internal error is returned.
func (c *Console) Line(ctx context.Context, line string) error {
	switch {
	case strings.TrimSpace(line) == "" || strings.HasPrefix(line, "# "):
		return nil
	case strings.HasPrefix(line, ":"):
		if err := c.directive(ctx, line); err != nil {
			return err
		}
	default:
		c.say(ctx, line, nil)
	}
	return c.settle(ctx)
}

// say sends a message as the current person; "\n" typed as two characters starts a new line.
func (c *Console) say(ctx context.Context, text string, file []byte) {
	m := sentLine{key: fmt.Sprintf("%s-%d", c.Run, len(c.sent)+1), person: c.person, place: c.place, file: file}
	c.sent = append(c.sent, m)
	c.submit(ctx, m, bot.Created, strings.ReplaceAll(text, `\n`, "\n"), "")
}

// submit hands an event to the bot and waits until it was handled.
func (c *Console) submit(ctx context.Context, m sentLine, kind bot.Kind, text, token string) {
	c.mu.Lock()
	c.now = c.now.Add(time.Second)
	in := bot.Inbound{
		Kind: kind, Team: c.key, Message: m.key, Author: m.author, Name: m.name, Roles: m.roles, Manager: m.manager, Owns: m.owns,
		Place: m.place, Text: text, File: m.file, Token: token, Sent: c.now,
	}
	if _, direct := m.place.Direct(); direct && m.outside {
		in.Team = ""
	}
	c.mu.Unlock()
	c.queue.Submit(in)
	c.queue.Wait()
}

// settle does what is due and gives the first internal error, if any.
func (c *Console) settle(ctx context.Context) error {
	if err := c.bot.Tick(ctx); err != nil {
		c.note(err)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.failed
}
