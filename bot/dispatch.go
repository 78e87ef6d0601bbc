package bot

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"footing/commands"
	"footing/rehab"
	"footing/store"
)

// Sentences the bot says when it could not do its work.
const (
	saidFailed   = "That did not work and nothing was saved. Please send it again in a minute."
	saidBusy     = "Busy: nothing was saved. Please send it again in a moment."
	saidStranger = "I do not know you yet: nothing was saved, nobody was told. Hurt now? Call emergency services or your medical staff. On your team's server press the link button first; staff use their channel there."
	saidNoTeam   = "This server is not set up yet. Nothing was saved."
	saidUnready  = "This server is not set up yet; nothing was saved. Whoever owns or manages it types setup; help setup shows how."
	saidBadText  = "That message holds characters I cannot keep. Nothing was saved; please type it again."
	saidTooMany  = "That is too much for one message: 40 lines at most. Nothing was saved."
	saidUnknown  = "I cannot tell yet whether that was saved. Wait for my answer before you send it again."
	saidLeft     = "You are no longer on this team's roster, so nothing was saved. Questions: ask the medical staff."

	saidNoButton = "That button is not one of mine, or not for this team. Nothing was saved."
	saidAnswered = "That was answered already."
	saidExpired  = "That question has expired. Please type it again."

	saidOtherShirt = "The shirts have changed since that question; nothing was saved. Please type it again."
)

const (
	maxLines = 40
	maxBytes = 8000 // Discord's longest message holds 4,000 letters
)

// Handle does all of one event or nothing: claims it, carries its lines out, and writes facts,
// audit and replies in one transaction; then says the replies. When the transaction fails, one fixed
// sentence says that nothing was saved, and that is the only thing sent outside the outbox.
func (b *Bot) Handle(ctx context.Context, in Inbound) error {
	_, err := b.handle(ctx, in)
	return err
}

// handle also says how it ended, as one of Outcomes.
func (b *Bot) handle(ctx context.Context, in Inbound) (outcome string, err error) {
	if in.Ready != nil && !in.Ready(ctx) {
		return "failed", nil
	}
	b.Step("received")
	if b.declined.has(in.event()) {
		return "repeated", b.settle(ctx, in)
	}
	if in.Fetch != nil {
		in.File, in.NoFile = in.Fetch(ctx)
	}
	w := &work{b: b, given: in}
	err = b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error { return w.run(ctx, tx) })
	for try := 0; errors.Is(err, store.ErrCommitUnknown) && try < 3; try++ {
		if stored, look := b.Store.Claimed(ctx, in.event()); look == nil && stored {
			err = nil
		} else if look == nil {
			before := *w
			err = b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error { return w.run(ctx, tx) })
			if w.known {
				*w = before // it was stored after all, a moment after the look: its replies are still to be said
			}
		}
	}
	if err != nil {
		says := saidFailed
		switch {
		case errors.Is(err, errNoTeam):
			says = saidNoTeam
		case errors.Is(err, errStranger):
			says = saidStranger
		case errors.Is(err, store.ErrCommitUnknown):
			says = saidUnknown // if it was stored, its answer is in the outbox
		}
		known := errors.Is(err, errNoTeam) || errors.Is(err, errStranger) // whoever it is has their answer: nothing failed
		if !known {
			b.Log.Error("event not handled", "kind", in.Kind, "event", in.event(), "error", store.Explain(err))
		}
		outcome = "failed"
		if known {
			outcome = "unknown"
		}
		tell := b.decline
		if says == saidUnknown {
			tell = b.tell
		}
		if send := tell(ctx, in, "/failed", says); send != nil {
			return outcome, errors.Join(err, send)
		}
		if known {
			return outcome, nil
		}
		return outcome, fmt.Errorf("handling an event: %w", err)
	}
	b.Step("committed")
	if w.settings {
		b.Log.Info("settings stored", "team", w.team.ID, "member", w.actor.ID)
		if watch, ok := b.Front.(Watcher); ok {
			watch.TeamChanged(ctx, w.team.Key)
		}
	}
	b.say(ctx, &w.team, w.out)
	if w.known {
		return "repeated", nil
	}
	return "done", nil
}

var (
	errNoTeam   = errors.New("the team is not set up")
	errStranger = errors.New("the account is linked in no team")
)

// work is one event on its way through one transaction. A retried transaction starts it afresh.
type work struct {
	b      *Bot
	given  Inbound // as the front handed it over
	in     Inbound // with what was found out about it
	tx     *store.Tx
	team   rehab.Team
	zone   *time.Location
	actor  rehab.Member
	lang   *commands.Lang
	failed error // loading a protocol failed on the way
	out    []store.Outgoing

	known    bool // the event was handled before
	settings bool // the team's were stored
	squad    bool // the roster was just read, and nothing was done since

	touched []int64 // athletes whose record may have changed
}

func (w *work) run(ctx context.Context, tx *store.Tx) error {
	w.tx, w.in, w.out, w.failed, w.touched, w.settings = tx, w.given, nil, nil, nil, false
	fresh, err := tx.Claim(ctx, w.in.event())
	if w.known = err == nil && !fresh; err != nil || !fresh {
		return err
	}
	w.b.Step("claimed")
	if known, err := w.home(ctx); err != nil || !known {
		return err
	}
	if err := w.enter(ctx); err != nil {
		return err
	}
	if err := w.readRoster(ctx); err != nil {
		return err
	}
	w.squad = true
	if w.left() && w.in.Kind != Deleted { // anyone may have deleted it
		return w.refuse(ctx, saidLeft)
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
		err = w.correct(ctx)
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
	w.in.Place = w.in.place(w.team)
	if w.actor, err = w.tx.Member(ctx, w.in.Author, w.in.roles(w.team.Rooms)); err != nil {
		return err
	}
	if name := named(w.in.Name); name != "" && name != w.actor.Name {
		if err := w.tx.Rename(ctx, w.actor.ID, name); err != nil {
			return err
		}
		w.actor.Name = name
	}
	if w.actor.Athlete != 0 && !slices.Contains(w.actor.Roles, rehab.AthleteRole) {
		w.actor.Roles = append(w.actor.Roles, rehab.AthleteRole)
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
	named     bool              // text is a command's name, told by options
	options   map[string]string // its options
	source    string            // the message it belongs to
	row       int
	at        time.Time
	confirmed bool
	key       string // of its reply
	place     Place
	prefix    string // said before the first line of the reply
	use       string // the question this answers, used up when the line succeeds
	answered  string // the question that is used up now
	edit      bool   // an edited message's line, read again
	first     int    // the lines of its message where that is carried out for the first time: nothing is recorded of it yet; else 0
	about     int64  // the athlete that question was about; 0 when it named none
}

// carryOut reads and runs one line and answers it. ok is false when the line was refused: then
// nothing of it is stored but its answer.
func (w *work) carryOut(ctx context.Context, l line) (ok bool, err error) {
	w.helps(&l)
	reply, subject, err := w.attempt(ctx, l)
	var refusal *commands.Refusal
	if errors.As(err, &refusal) && !refusal.Step {
		return false, w.refused(ctx, l, refusal, subject)
	}
	if err != nil && refusal == nil {
		return false, err
	}
	if first, err := w.use(ctx, &l); err != nil {
		return false, err
	} else if !first {
		return false, w.refused(ctx, l, &commands.Refusal{Says: saidAnswered}, subject)
	}
	if refusal != nil {
		return false, w.refused(ctx, l, refusal, subject)
	}
	if err := w.apply(ctx, l, &reply); errors.As(err, &refusal) && len(reply.Restore) == 0 {
		return false, w.refused(ctx, l, refusal, subject)
	} else if err != nil {
		return false, err
	}
	if subject.ID == 0 && len(reply.Put) == 1 {
		subject = reply.Put[0].Athlete
	}
	if err := w.withUndo(ctx, l, &reply); err != nil {
		return false, err
	}
	return true, w.reply(ctx, l, reply, subject)
}

// attempt reads the line, checks who may do it and where, locks the athlete, and runs the command.
func (w *work) attempt(ctx context.Context, l line) (reply commands.Reply, subject rehab.Athlete, err error) {
	before, err := w.rosterBefore(ctx, l)
	if err != nil {
		return reply, subject, err
	}
	if !w.squad || len(before) > 0 {
		if err := w.readRoster(ctx, before...); err != nil {
			return reply, subject, err
		}
	}
	w.squad = false // this line may change it
	narrowed := w.narrow()
	w.lang.Now, w.lang.Self = l.at.In(w.zone), w.self(l)
	call, err := w.parse(l)
	if err != nil && !l.named && w.alarmed(l) {
		call, err = w.b.registry.Parse("wrong : "+l.text, w.lang)
	}
	if no := w.unready(call); no != nil {
		return reply, subject, no
	}
	if call != nil {
		if no := w.may(call.Command, l.place); no != nil {
			return reply, subject, no
		}
		if no := w.agreed(ctx, call.Command, l.place); no != nil {
			return reply, subject, no
		}
	}
	if no := (*commands.Refusal)(nil); narrowed && call != nil && errors.As(err, &no) && no.NoShirt {
		return reply, subject, &commands.Refusal{Says: "You can only answer for yourself: leave the number out."}
	}
	if err != nil {
		return reply, subject, asButtons(err)
	}
	if l.edit && slices.Contains([]*commands.Command{commands.Undo, commands.UndoMessage, commands.Keep, commands.Drop}, call.Command) {
		return reply, subject, &commands.Refusal{Says: "An edit does not undo again: send undo as a new message."}
	}
	if subject, err = w.subject(call); err != nil {
		return reply, subject, err
	}
	if l.about != 0 && subject.ID != 0 && subject.ID != l.about {
		return reply, subject, &commands.Refusal{Says: saidOtherShirt}
	}
	ids, err := w.about(ctx, call)
	if err != nil {
		return reply, subject, err
	}
	if _, err := w.tx.Lock(ctx, ids...); err != nil {
		return reply, subject, err
	}
	old, err := w.replaced(ctx, l)
	if err != nil {
		return reply, subject, err
	}
	env := w.env(ctx, l, before...)
	env.Call, env.Confirmed, env.Replaces, env.File, env.Owns, env.Channel = call, l.confirmed, old, w.in.File, w.in.Owns, w.openChannel()
	env.NoFile = w.in.NoFile
	reply, err = call.Run(ctx, env)
	if err != nil {
		return reply, subject, err
	}
	if err := w.checkRestated(ctx, old, reply); err != nil {
		return reply, subject, err
	}
	if err := w.giveBack(ctx, old, &reply); err != nil {
		return reply, subject, err
	}
	w.b.Step("ran")
	if len(call.Corrected) > 0 && len(reply.Lines) > 0 {
		reply.Lines = append(reply.Lines, "Read "+strings.Join(call.Corrected, ", ")+".")
	}
	return reply, subject, w.failed
}

// parse reads a line: typed, or a command with named options.
func (w *work) parse(l line) (*commands.Call, error) {
	if l.named {
		return w.b.registry.Bind(l.text, l.options, w.lang)
	}
	return w.b.registry.Parse(l.text, w.lang)
}

// checkRestated refuses what may not be taken back: by this edit, or by the undo the line asks for.
func (w *work) checkRestated(ctx context.Context, old []rehab.Entry, reply commands.Reply) error {
	for _, o := range old {
		others, err := w.tx.Entries(ctx, o.Athlete)
		if err != nil {
			return err
		}
		if err := w.mayRestate([]rehab.Entry{o}, reply.Entries, others); err != nil {
			return err
		}
	}
	if reply.Void == "" {
		return nil
	}
	gone, err := w.tx.SourceEntries(ctx, reply.Void)
	if err != nil {
		return err
	}
	if reply.By != 0 {
		gone = slices.DeleteFunc(gone, func(e rehab.Entry) bool { return e.Author != reply.By })
	}
	return w.mayTake(gone)
}

// env is what a command sees: the records without what this line itself recorded before an edit, and
// the roster with the rows it had then.
func (w *work) env(ctx context.Context, l line, before ...rehab.Athlete) *commands.Env {
	return &commands.Env{
		Team: w.team, Actor: w.actor, Now: w.in.Sent.In(w.zone), Told: l.at.In(w.zone), Records: without{w.tx, l.source, l.row, before},
		Protocol: w.lang.Protocol, Book: w.b.book(ctx, w.tx, &w.failed), Lang: w.lang, Registry: w.b.registry,
		Medical: w.medicalEyes(l.place), Direct: w.own(l.place),
	}
}

// replaced is what this line of this message recorded before.
func (w *work) replaced(ctx context.Context, l line) ([]rehab.Entry, error) {
	if l.first > 0 {
		return nil, nil
	}
	all, err := w.tx.SourceEntries(ctx, l.source)
	return slices.DeleteFunc(all, func(e rehab.Entry) bool { return e.Line != l.row }), err
}
