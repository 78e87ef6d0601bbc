package bot

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strings"
	"time"

	"footing/commands"
	"footing/rehab"
	"footing/store"
)

// questionLife is how long a button may be pressed.
const questionLife = 12 * time.Hour

// maxText is the longest text one message may have (Discord's limit).
const maxText = 2000

// body is what the outbox keeps of a message until it is said.
type body struct {
	Text    string   `json:"text"`
	Buttons []Button `json:"buttons,omitempty"`
	Channel string   `json:"channel,omitempty"`
	Answer  string   `json:"answer,omitempty"` // the event it answers
}

// refused answers a line that was not carried out.
func (w *work) refused(ctx context.Context, l line, r *commands.Refusal, subject rehab.Athlete) error {
	return w.reply(ctx, l, commands.Reply{Lines: []string{r.Says}, Buttons: r.Buttons}, subject)
}

// reply writes an answer, its buttons and its alerts into the outbox.
func (w *work) reply(ctx context.Context, l line, r commands.Reply, subject rehab.Athlete) error {
	if r.Health {
		r.Lines = append(r.Lines, w.lang.Protocol.Caution)
	}
	if len(r.Lines) > 0 {
		r.Lines[0] = l.prefix + r.Lines[0]
	}
	buttons, err := w.buttons(ctx, l, r.Buttons, subject)
	if err != nil {
		return err
	}
	parts := split(strings.Join(r.Lines, "\n"))
	for i, text := range parts {
		msg := body{Text: text}
		if i == len(parts)-1 {
			msg.Buttons = buttons
		}
		if err := w.enqueue(ctx, l.place, "reply", fmt.Sprintf("%s.%d", l.key, i), msg); err != nil {
			return err
		}
	}
	for i, alert := range r.Alerts {
		if err := w.enqueue(ctx, MedicalRoom, "alert", fmt.Sprintf("%s/alert.%d", l.key, i), body{Text: alert}); err != nil {
			return err
		}
	}
	for i, aside := range r.Asides {
		if err := w.aside(ctx, fmt.Sprintf("%s/aside.%d", l.key, i), aside); err != nil {
			return err
		}
	}
	return nil
}

// aside says something elsewhere. Its buttons are asked of whoever is spoken to, and what they record
// belongs to this question, not to the message that led to it.
func (w *work) aside(ctx context.Context, key string, a commands.Aside) error {
	place, kind, of := MedicalRoom, "ask", w.actor.ID
	switch {
	case a.Account != "":
		m, err := w.account(ctx, a.Account)
		if err != nil {
			return err
		}
		place, of = DirectTo(a.Account), m.ID
	case a.Channel != "":
		place = InChannel(a.Channel)
	}
	buttons, err := w.pending(ctx, a.Buttons, store.Pending{
		Group: key, Place: string(place), Source: key, AskedOf: of, Anyone: a.Anyone, Asked: w.in.Sent, Expires: w.in.Sent.Add(a.Life),
	})
	if err != nil {
		return err
	}
	return w.enqueue(ctx, place, kind, key, body{Text: strings.Join(a.Lines, "\n"), Buttons: buttons})
}

// buttons keeps each button's line until it is pressed.
func (w *work) buttons(ctx context.Context, l line, list []commands.Button, subject rehab.Athlete) ([]Button, error) {
	var seq int64
	if subject.ID != 0 && len(list) > 0 {
		var err error
		if seq, err = w.version(ctx, subject.ID); err != nil {
			return nil, err
		}
	}
	return w.pending(ctx, list, store.Pending{
		Group: l.key, Place: string(l.place), Source: l.source, SourceRow: l.row, Athlete: subject.ID, Seq: seq, AskedOf: w.actor.ID, Asked: l.at, Expires: w.in.Sent.Add(questionLife),
	})
}

// pending keeps the buttons of one question; p is what they have in common.
func (w *work) pending(ctx context.Context, list []commands.Button, p store.Pending) ([]Button, error) {
	var out []Button
	about := p.Athlete
	for _, b := range list {
		p.Token, p.Label, p.Line, p.Confirmed, p.Strict, p.Athlete = token(), b.Label, b.Line, b.Confirmed, b.Strict, about
		if b.About != 0 {
			p.Athlete = b.About
		}
		if err := w.tx.PutPending(ctx, p); err != nil {
			return nil, err
		}
		out = append(out, Button{Label: b.Label, Token: p.Token})
	}
	return out, nil
}

// enqueue writes one message into the outbox, leased to this process: it leaves after the commit.
func (w *work) enqueue(ctx context.Context, place Place, kind, key string, m body) error {
	m = guarded(place, w.team, kind, m)
	m.Channel = channel(place, w.team.Rooms)
	if kind == "reply" && place == w.in.Place {
		m.Answer = w.in.Answer
	}
	text, err := json.Marshal(m)
	if err != nil {
		return fmt.Errorf("encoding a message: %w", err)
	}
	o := store.Outgoing{Team: w.team.ID, TeamKey: w.team.Key, Destination: string(place), Kind: kind, Key: key, Body: string(text), Due: w.tx.Now(), LeaseBy: w.b.process}
	if o.ID, err = w.tx.Enqueue(ctx, o); err == nil && o.ID != 0 {
		w.out = append(w.out, o)
	}
	return err
}

// split cuts a text into messages at line ends; a line too long for one is cut inside.
func split(text string) []string {
	var out []string
	for len(text) > maxText {
		at := strings.LastIndexByte(text[:maxText], '\n')
		skip := 1
		if at <= 0 {
			at, skip = maxText, 0
			for at > 0 && text[at]&0xC0 == 0x80 {
				at-- // not inside a letter
			}
		}
		out = append(out, text[:at])
		text = text[at+skip:]
	}
	return append(out, text)
}

// say sends messages that were just committed. What cannot be sent now goes back to the outbox.
func (b *Bot) say(ctx context.Context, list []store.Outgoing) {
	stuck := map[string]bool{} // the parts of an answer stay in order: the rest waits behind the first
	for _, o := range list {
		if !stuck[o.Destination] {
			stuck[o.Destination] = !b.send(ctx, o, 0)
			continue
		}
		if err := b.Store.Failed(ctx, b.Clock(), o, "behind", b.Clock().Add(backoffStart)); err != nil {
			b.Log.Error("message not put back; its lease will run out", "outbox", o.ID, "error", store.Explain(err))
		}
	}
}

// send says one message and marks it; false means it was put back.
func (b *Bot) send(ctx context.Context, o store.Outgoing, fence int64) bool {
	var m body
	if err := json.Unmarshal([]byte(o.Body), &m); err != nil {
		b.Log.Error("a stored message cannot be read", "outbox", o.ID)
		if err := b.Store.Dead(ctx, b.Clock(), o, "unreadable"); err != nil {
			b.Log.Error("an unreadable message was not given up", "outbox", o.ID, "error", store.Explain(err))
			return false
		}
		return true // nothing behind it has to wait
	}
	id, err := b.Front.Send(ctx, Message{
		Team: o.TeamKey, Place: Place(o.Destination), Channel: m.Channel, Key: o.Key, Kind: o.Kind, Text: m.Text, Buttons: m.Buttons, Answer: m.Answer,
	})
	if err != nil {
		b.Log.Warn("message not sent", "outbox", o.ID, "attempt", o.Attempts+1, "error", store.Explain(err))
		next := b.Clock()
		if fence == 0 {
			next = next.Add(backoff(o.Attempts)) // in a batch the whole destination pauses instead
		}
		if err := b.Store.Failed(ctx, b.Clock(), o, "send", next); err != nil {
			b.Log.Error("message not put back; its lease will run out", "outbox", o.ID, "error", store.Explain(err))
		}
		return false
	}
	b.Step("sent")
	if err := b.Store.Sent(ctx, b.Clock(), o, fence, id); err != nil {
		b.Log.Error("message sent but not marked", "outbox", o.ID, "error", store.Explain(err))
		return false
	}
	b.Step("settled")
	return true
}

// backoffStart is the longest first wait.
const backoffStart = 2 * time.Second

// backoff is how long to wait after some attempts: 2 s doubled each time up to 5 min, less up to a
// quarter so that many do not come back at once.
func backoff(attempts int) time.Duration {
	d := min(backoffStart<<min(attempts, 8), 5*time.Minute)
	return d - time.Duration(rand.Int64N(int64(d)/4))
}

// Drain sends everything that is due and that no other process holds.
func (b *Bot) Drain(ctx context.Context) error {
	for {
		batch, err := b.Store.ClaimDue(ctx, b.Clock(), b.process)
		if err != nil || batch.Destination == 0 {
			return err
		}
		b.drain(ctx, batch) // a place that cannot be reached pauses; the others go on
	}
}

// drain sends a destination's messages in order and stops at the first that fails; the destination then
// pauses, so that nothing overtakes it.
func (b *Bot) drain(ctx context.Context, batch store.Batch) {
	for _, o := range batch.Messages {
		if !o.Expires.IsZero() && b.Clock().After(o.Expires) {
			if err := b.Store.Dead(ctx, b.Clock(), o, "expired"); err != nil {
				b.Log.Error("an expired message was not given up", "outbox", o.ID, "error", store.Explain(err))
			}
			continue
		}
		if !b.send(ctx, o, batch.Fence) {
			if err := b.Store.Pause(ctx, batch, b.Clock().Add(backoff(o.Attempts))); err != nil {
				b.Log.Error("destination not paused; its lease will run out", "destination", batch.Destination, "error", store.Explain(err))
			}
			return
		}
	}
	if err := b.Store.Release(ctx, batch); err != nil {
		b.Log.Error("destination not released; its lease will run out", "destination", batch.Destination, "error", store.Explain(err))
	}
}
