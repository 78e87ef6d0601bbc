package bot

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"footing/commands"
	"footing/rehab"
	"footing/store"
)

// Sentences the bot says when it could not do its work.
const (
	saidFailed  = "That did not work and nothing was saved. Please send it again in a minute."
	saidBusy    = "Busy: nothing was saved. Please send it again in a moment."
	saidNoTeam  = "This server is not set up yet. Nothing was saved."
	saidBadText = "That message holds characters I cannot keep. Nothing was saved; please type it again."
	saidTooMany = "That is too much for one message: 40 lines at most. Nothing was saved."
)

const maxLines = 40

// Handle does all of one event or nothing: claims it, carries its lines out, and writes facts,
// audit and replies in one transaction; then says the replies. When the transaction fails, one fixed
// sentence says that nothing was saved, and that is the only thing sent outside the outbox.
func (b *Bot) Handle(ctx context.Context, in Inbound) error {
	b.Step("received")
	w := &work{b: b, in: in}
	err := b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error { return w.run(ctx, tx) })
	if errors.Is(err, store.ErrCommitUnknown) {
		stored, look := b.Store.Claimed(ctx, in.event())
		switch {
		case look != nil:
			err = errors.Join(err, look)
		case stored:
			err = nil
		default:
			err = b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error { return w.run(ctx, tx) })
		}
	}
	if err != nil {
		says := saidFailed
		if errors.Is(err, errNoTeam) {
			says = saidNoTeam
		}
		b.Log.Error("event not handled", "kind", in.Kind, "event", in.event(), "error", err)
		if _, send := b.Front.Send(ctx, Message{Team: in.Team, Place: in.Place, Key: in.event() + "/failed", Text: says}); send != nil {
			return errors.Join(err, send)
		}
		return fmt.Errorf("handling an event: %w", err)
	}
	b.Step("committed")
	b.say(ctx, w.out)
	return nil
}

var errNoTeam = errors.New("the team is not set up")

// work is one event on its way through one transaction. A retried transaction starts it afresh.
type work struct {
	b      *Bot
	in     Inbound
	tx     *store.Tx
	team   rehab.Team
	zone   *time.Location
	actor  rehab.Member
	lang   *commands.Lang
	failed error // loading a protocol failed on the way
	out    []store.Outgoing
}

func (w *work) run(ctx context.Context, tx *store.Tx) error {
	w.tx, w.out, w.failed = tx, nil, nil
	fresh, err := tx.Claim(ctx, w.in.event())
	if err != nil || !fresh {
		return err
	}
	w.b.Step("claimed")
	if err := w.enter(ctx); err != nil {
		return err
	}
	switch w.in.Kind {
	case Created:
		err = w.created(ctx)
	case Edited:
		err = w.edited(ctx)
	case Deleted:
		err = w.deleted(ctx)
	case Pressed:
		err = w.pressed(ctx)
	}
	if err == nil {
		err = w.failed
	}
	w.b.Step("stored")
	return err
}

// enter finds the team, whoever wrote, and the words to read them by.
func (w *work) enter(ctx context.Context) (err error) {
	if w.team, err = w.tx.Team(ctx, w.in.Team); errors.Is(err, store.ErrNotFound) {
		return errNoTeam
	} else if err != nil {
		return err
	}
	if w.zone, err = time.LoadLocation(w.team.Zone); err != nil {
		return fmt.Errorf("loading the team's zone: %w", err)
	}
	if err := w.tx.Enter(ctx, w.team.ID); err != nil {
		return err
	}
	if w.actor, err = w.tx.Member(ctx, w.in.Author, w.in.Roles); err != nil {
		return err
	}
	v, err := w.b.vocabulary(ctx, w.tx, w.team.Protocol)
	if err != nil {
		return err
	}
	w.lang = &commands.Lang{Vocabulary: v, Now: w.in.Sent.In(w.zone)}
	return nil
}

// line is one line of a message to carry out.
type line struct {
	text      string
	source    string // the message it belongs to
	row       int
	at        time.Time
	confirmed bool
	key       string // of its reply
	place     Place
	prefix    string // said before the first line of the reply
	use       string // the question this answers, used up when the line succeeds
}

func (w *work) created(ctx context.Context) error {
	return w.message(ctx, "")
}

// message carries out each line of a message. The good lines are kept, each is answered.
func (w *work) message(ctx context.Context, prefix string) error {
	if !utf8.ValidString(w.in.Text) || strings.ContainsRune(w.in.Text, 0) {
		return w.refuse(ctx, saidBadText)
	}
	if err := w.tx.PutMessage(ctx, store.Message{Key: w.in.Message, Author: w.actor.ID, Place: string(w.in.Place), Sent: w.in.Sent}); err != nil {
		return err
	}
	rows := strings.Split(w.in.Text, "\n")
	if len(rows) > maxLines {
		return w.refuse(ctx, saidTooMany)
	}
	for i, text := range rows {
		if strings.TrimSpace(text) == "" {
			continue
		}
		l := line{text: text, source: w.in.Message, row: i, at: w.in.Sent, key: fmt.Sprintf("%s/%d", w.in.event(), i), place: w.in.Place, prefix: prefix}
		if _, err := w.carryOut(ctx, l); err != nil {
			return err
		}
	}
	return nil
}

func (w *work) refuse(ctx context.Context, says string) error {
	return w.reply(ctx, line{key: w.in.event() + "/0", place: w.in.Place}, commands.Reply{Lines: []string{says}}, rehab.Athlete{})
}

// carryOut reads and runs one line and answers it. ok is false when the line was refused: then
// nothing of it is stored but its answer.
func (w *work) carryOut(ctx context.Context, l line) (ok bool, err error) {
	reply, subject, err := w.attempt(ctx, l)
	var refusal *commands.Refusal
	if errors.As(err, &refusal) {
		return false, w.refused(ctx, l, refusal, subject)
	}
	if err != nil {
		return false, err
	}
	if l.use != "" {
		if first, err := w.tx.UsePending(ctx, l.use); err != nil {
			return false, err
		} else if !first {
			return false, w.refused(ctx, l, &commands.Refusal{Says: "That was answered already."}, subject)
		}
	}
	if err := w.apply(ctx, l, &reply); err != nil {
		return false, err
	}
	if subject.ID == 0 && reply.Add != nil {
		subject = *reply.Add
	}
	return true, w.reply(ctx, l, reply, subject)
}

// attempt reads the line, checks who may do it and where, locks the athlete, and runs the command.
func (w *work) attempt(ctx context.Context, l line) (reply commands.Reply, subject rehab.Athlete, err error) {
	if err := w.readRoster(ctx); err != nil {
		return reply, subject, err
	}
	w.lang.Now, w.lang.Self = l.at.In(w.zone), w.self(l)
	call, err := w.b.registry.Parse(l.text, w.lang)
	if err != nil && w.alarmed(l) {
		call, err = w.b.registry.Parse("wrong : "+l.text, w.lang)
	}
	if call != nil {
		if no := w.may(call.Command, l.place); no != nil {
			return reply, subject, no
		}
	}
	if err != nil {
		return reply, subject, asButtons(err)
	}
	if subject, err = w.subject(call); err != nil {
		return reply, subject, err
	}
	var ids []int64
	for _, a := range call.Athletes() {
		ids = append(ids, a.ID)
	}
	if _, err := w.tx.Lock(ctx, ids...); err != nil {
		return reply, subject, err
	}
	old, err := w.replaced(ctx, l)
	if err != nil {
		return reply, subject, err
	}
	env := w.env(ctx, l)
	env.Call, env.Confirmed, env.Replaces = call, l.confirmed, old
	reply, err = call.Run(ctx, env)
	if err != nil {
		return reply, subject, err
	}
	w.b.Step("ran")
	if len(call.Corrected) > 0 && len(reply.Lines) > 0 {
		reply.Lines = append(reply.Lines, "Read "+strings.Join(call.Corrected, ", ")+".")
	}
	return reply, subject, w.failed
}

// alarmed reports whether an athlete's own line that was not understood names an alarm: then it is not
// sent back for its spelling but told to medical staff.
func (w *work) alarmed(l line) bool {
	return l.place == DirectTo(w.in.Author) && w.actor.Athlete != 0 && commands.RedFlag(l.text, w.lang) != ""
}

// self is the athlete who writes about themselves in their own messages; staff write about anyone.
func (w *work) self(l line) rehab.Athlete {
	for _, a := range w.lang.Roster {
		if a.ID == w.actor.Athlete && l.place == DirectTo(w.in.Author) && !rehab.May(w.actor.Roles, rehab.ReadMedical) {
			return a
		}
	}
	return rehab.Athlete{}
}

func (w *work) readRoster(ctx context.Context) error {
	roster, err := w.tx.Athletes(ctx)
	w.lang.SetRoster(roster)
	return err
}

// env is what a command sees: the records without what this line itself recorded before an edit.
func (w *work) env(ctx context.Context, l line) *commands.Env {
	return &commands.Env{
		Team: w.team, Actor: w.actor, Now: l.at.In(w.zone), Records: without{w.tx, l.source, l.row},
		Protocol: w.lang.Protocol, Book: w.b.book(ctx, w.tx, &w.failed), Lang: w.lang, Registry: w.b.registry,
		Medical: l.place == MedicalRoom,
	}
}

// replaced is what this line of this message recorded before.
func (w *work) replaced(ctx context.Context, l line) ([]rehab.Entry, error) {
	all, err := w.tx.SourceEntries(ctx, l.source)
	return slices.DeleteFunc(all, func(e rehab.Entry) bool { return e.Line != l.row }), err
}

// may refuses what the writer's roles do not carry, and medical detail outside the medical room.
func (w *work) may(c *commands.Command, place Place) error {
	if !rehab.May(w.actor.Roles, c.Needs) {
		return &commands.Refusal{Says: fmt.Sprintf("You may not use %s here: it is for %s. Type help for what you can do.", c.Name, whoMay(c.Needs))}
	}
	ok := place == MedicalRoom || c.Privacy == commands.Anyone
	switch c.Privacy {
	case commands.Staff:
		ok = ok || place == StaffRoom
	case commands.OwnOnly:
		ok = ok || place == DirectTo(w.in.Author)
	}
	if !ok {
		return &commands.Refusal{Says: c.Name + " holds medical detail: use it in the medical channel."}
	}
	return nil
}

func whoMay(c rehab.Capability) string {
	var names []string
	for _, r := range rehab.Roles {
		if rehab.May([]rehab.Role{r}, c) {
			names = append(names, string(r))
		}
	}
	return strings.Join(names, " or ")
}

// subject is the athlete a call is about; an athlete may only speak for themselves.
func (w *work) subject(call *commands.Call) (rehab.Athlete, error) {
	a := call.Subject()
	if a.ID == 0 && call.Command.Self {
		for _, own := range w.lang.Roster {
			if own.ID == w.actor.Athlete {
				a = own
				call.SetSubject(a)
			}
		}
		if a.ID == 0 {
			return a, &commands.Refusal{Says: "Who? Start with a shirt or a name: " + call.Command.Examples[0]}
		}
	}
	if a.ID != 0 && a.ID != w.actor.Athlete && !rehab.May(w.actor.Roles, rehab.ReadMedical) {
		return rehab.Athlete{}, &commands.Refusal{Says: "You can only answer for yourself: leave the number out."}
	}
	return a, nil
}

// asButtons turns a question about a line into buttons that carry the answered line.
func asButtons(err error) error {
	var q *commands.Question
	if !errors.As(err, &q) {
		return err
	}
	refusal := &commands.Refusal{Says: q.Asks}
	for _, o := range q.Options {
		refusal.Buttons = append(refusal.Buttons, commands.Button{Label: o.Label, Line: o.Line})
	}
	return refusal
}
