package bot

import (
	"context"
	"encoding/json"
	"fmt"
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
	return nil
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
	var out []Button
	for _, b := range list {
		about := subject.ID
		if b.About != 0 {
			about = b.About
		}
		p := store.Pending{
			Token: token(), Group: l.key, Label: b.Label, Line: b.Line, Confirmed: b.Confirmed, Strict: b.Strict, Place: string(l.place),
			Source: l.source, SourceRow: l.row, Athlete: about, Seq: seq, AskedOf: w.actor.ID, Asked: l.at, Expires: w.in.Sent.Add(questionLife),
		}
		if err := w.tx.PutPending(ctx, p); err != nil {
			return nil, err
		}
		out = append(out, Button{Label: b.Label, Token: p.Token})
	}
	return out, nil
}

// enqueue writes one message into the outbox, leased to this process where nothing waits before it: it
// leaves after the commit.
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
	if o, err = w.tx.Enqueue(ctx, o); err == nil && o.ID != 0 {
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
