package console

import (
	"context"
	"errors"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"footing/bot"
	"footing/rehab"
)

// directive does a line that starts with a colon. A wrong one is answered with "! …".
func (c *Console) directive(ctx context.Context, line string) error {
	word, rest, _ := strings.Cut(strings.TrimSpace(line), " ")
	rest = strings.TrimSpace(rest)
	var err error
	switch word {
	case ":quit":
		return errQuit
	case ":restart":
		return c.restart(ctx, rest)
	case ":as":
		if err = c.as(rest); err == nil && slices.Contains(c.roles, rehab.AthleteRole) {
			shirt, _ := strconv.Atoi(rest)
			if link := c.bot.Link(ctx, c.key, rest, shirt); link != nil {
				err = fmt.Errorf("nobody on the roster wears %s", rest)
				_ = c.as("medical")
			}
		}
	case ":in":
		err = c.in(rest)
	case ":join":
		err = c.join(ctx, rest)
	case ":clock":
		err = c.setClock(ctx, rest)
	case ":press":
		err = c.press(ctx, rest)
	case ":edit":
		number, text, _ := strings.Cut(rest, " ")
		err = c.revise(ctx, number, bot.Edited, strings.ReplaceAll(text, `\n`, "\n"))
	case ":delete":
		err = c.revise(ctx, rest, bot.Deleted, "")
	case ":import", ":calendar":
		err = c.attach(ctx, strings.TrimPrefix(word, ":"), rest)
	case ":protocol":
		err = c.protocol(ctx, rest)
	default:
		err = fmt.Errorf("no directive %s; there are :as :in :join :clock :press :edit :delete :import :calendar :protocol :restart :quit", word)
	}
	if err != nil {
		_, _ = fmt.Fprintf(c.Out, "! %s\n", err)
	}
	return nil
}

// restart throws the process away and starts another on the same database, at once or, where the bot was
// off for a while, at a later time: nothing that fell due in between happened.
func (c *Console) restart(ctx context.Context, at string) error {
	if at != "" {
		later, err := time.ParseInLocation("2006-01-02 15:04", at, c.zone)
		if err != nil {
			_, _ = fmt.Fprintf(c.Out, "! :restart takes nothing or 2026-03-02 07:30, not %q\n", at)
			return nil
		}
		c.set(later)
	}
	_ = c.store.Close()
	return c.start(ctx)
}

// as changes who is typing.
func (c *Console) as(who string) error {
	shirt, err := strconv.Atoi(who)
	account, other := strings.CutPrefix(who, "account ")
	switch {
	case who == "medical":
		c.person, c.place = person{author: who, roles: []rehab.Role{rehab.Medical}}, bot.MedicalRoom
	case who == "coach":
		c.person, c.place = person{author: who, roles: []rehab.Role{rehab.Coach}}, bot.StaffRoom
	case who == "owner":
		c.person, c.place = person{author: who, roles: []rehab.Role{rehab.Owner}, owns: true}, bot.StaffRoom
	case who == "manager":
		c.person, c.place = person{author: who, manager: true}, bot.StaffRoom
	case err == nil && shirt > 0:
		c.person, c.place = person{author: who, roles: []rehab.Role{rehab.AthleteRole}}, bot.DirectTo(who)
	case other && account != "":
		key, name, _ := strings.Cut(account, " ")
		c.person, c.place = person{author: key, name: name, outside: true}, bot.DirectTo(key)
	default:
		return fmt.Errorf(":as takes medical, coach, owner, manager, a shirt number, or account and its name, not %q", who)
	}
	return nil
}

// in goes to an open channel, or to direct messages.
func (c *Console) in(where string) error {
	switch where {
	case "":
		return errors.New(":in takes the name of an open channel, or dm")
	case "dm":
		c.place = bot.DirectTo(c.author)
	default:
		c.place = bot.InChannel(where)
	}
	return nil
}

// join brings the bot to another chat server, where it is not set up yet.
func (c *Console) join(ctx context.Context, name string) error {
	if name == "" {
		return errors.New(":join takes the name of a server")
	}
	t, err := c.bot.Join(ctx, strings.ToLower(name), name)
	if err != nil {
		return err
	}
	c.key = t.Key
	return c.readTeam(ctx)
}

// press presses the latest button with a label, wherever it was shown.
func (c *Console) press(ctx context.Context, label string) error {
	token, place := "", c.place
	c.mu.Lock()
	for _, m := range c.shown {
		for _, b := range m.Buttons {
			if strings.EqualFold(b.Label, label) {
				token, place = b.Token, m.Place
			}
		}
	}
	c.events++
	key := fmt.Sprintf("%s-press-%d", c.Run, c.events)
	c.mu.Unlock()
	if token == "" {
		return fmt.Errorf("no button %q was shown", label)
	}
	c.submit(ctx, sentLine{key: key, person: c.person, place: place}, bot.Pressed, "", token)
	return nil
}

// attach sends a command with a file, as a chat message with an attachment does; "dry" after the path of a
// roster only asks what would happen.
func (c *Console) attach(ctx context.Context, command, rest string) error {
	path, dry := strings.CutSuffix(rest, " dry")
	file, err := os.ReadFile(strings.TrimSpace(path))
	if err != nil {
		return fmt.Errorf(":%s takes the path of a file: %w", command, err)
	}
	if dry {
		command += " dry"
	}
	c.say(ctx, command, file)
	return nil
}

// protocol gives the team another protocol file.
func (c *Console) protocol(ctx context.Context, path string) error {
	text, err := os.ReadFile(path)
	if err != nil {
		return fmt.Errorf(":protocol takes the path of a protocol file: %w", err)
	}
	return c.bot.ChooseProtocol(ctx, c.key, path, text)
}

// revise edits or deletes the N-th line sent.
func (c *Console) revise(ctx context.Context, number string, kind bot.Kind, text string) error {
	n, err := strconv.Atoi(number)
	if err != nil || n < 1 || n > len(c.sent) {
		return fmt.Errorf("line %q was not sent; lines 1 to %d were", number, len(c.sent))
	}
	m := c.sent[n-1]
	if kind == bot.Deleted {
		m.person = c.person // anyone may have deleted it
	}
	c.submit(ctx, m, kind, text, "")
	return nil
}

var ahead = regexp.MustCompile(`^\+(?:(\d+)d)?(?:(\d+)h)?(?:(\d+)m)?$`)

// setClock moves the clock. Forwards, everything that falls due in between happens, in order.
func (c *Console) setClock(ctx context.Context, to string) error {
	if err := c.readTeam(ctx); err != nil {
		return err
	}
	target, err := time.ParseInLocation("2006-01-02 15:04", to, c.zone)
	if m := ahead.FindStringSubmatch(to); m != nil && len(to) > 1 {
		n := func(i int) int { v, _ := strconv.Atoi(m[i]); return v }
		target, err = c.clock().In(c.zone).AddDate(0, 0, n(1)).Add(time.Duration(n(2))*time.Hour+time.Duration(n(3))*time.Minute), nil
	}
	if err != nil {
		return fmt.Errorf(":clock takes 2026-03-02 07:30 or +1d, +2h30m, not %q", to)
	}
	defer func() { c.muted = false }()
	for {
		c.muted = c.Brief && target.Sub(c.clock()) >= 24*time.Hour // the last day's are enough
		if err := c.bot.Tick(ctx); err != nil {
			c.note(err)
			return nil
		}
		next, err := c.bot.Next(ctx, c.key)
		if err != nil {
			return err
		}
		if next.After(target) || target.Before(c.clock()) {
			c.set(target)
			return nil
		}
		c.set(next)
	}
}

func (c *Console) set(t time.Time) {
	c.mu.Lock()
	c.now = t
	c.mu.Unlock()
}
