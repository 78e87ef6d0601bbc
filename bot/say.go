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

// questionLife is how long a button may be pressed that says nothing else.
const questionLife = 12 * time.Hour

// maxText is the longest text one message may have (Discord's limit).
const maxText = 2000

// body is what the outbox keeps of a message until it is said.
type body struct {
	Text    string   `json:"text"`
	Buttons []Button `json:"buttons,omitempty"`
	Clears  Shown    `json:"clears,omitzero"`
	Channel string   `json:"channel,omitempty"`
	Answer  string   `json:"answer,omitempty"` // the event it answers
	Shows   string   `json:"shows,omitempty"`  // an account its text names
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
	parts := []string{strings.Join(r.Lines, "\n")}
	if _, alone := l.place.Alone(); !alone { // what only its reader sees is one message: no second could be told from a repeat
		parts = split(parts[0])
	}
	for i, text := range parts {
		key, msg := fmt.Sprintf("%s.%d", l.key, i), body{Text: text}
		if i == len(parts)-1 {
			var err error
			if msg.Buttons, err = w.buttons(ctx, l, key, r.Buttons, subject); err != nil {
				return err
			}
			if msg.Clears, err = w.shown(ctx, l.answered); err != nil {
				return err
			}
		}
		if err := w.enqueue(ctx, l.place, "reply", key, msg); err != nil {
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
	return w.enqueue(ctx, place, kind, key, body{Text: strings.Join(a.Lines, "\n"), Buttons: buttons, Shows: a.Shows})
}

// outgoing is a message on its way to a place of a team, as it may be said there.
func outgoing(t rehab.Team, place Place, kind, key string, m body) (store.Outgoing, error) {
	m = guarded(place, t, kind, m)
	m.Channel = channel(place, t.Rooms)
	text, err := json.Marshal(m)
	if err != nil {
		return store.Outgoing{}, fmt.Errorf("encoding a message: %w", err)
	}
	return store.Outgoing{Team: t.ID, TeamKey: t.Key, Destination: string(place), Kind: kind, Key: key, Body: string(text)}, nil
}

// enqueue writes one message into the outbox, leased to this process where nothing waits before it: it
// leaves after the commit.
func (w *work) enqueue(ctx context.Context, place Place, kind, key string, m body) error {
	if kind == "reply" && place == w.in.Place {
		m.Answer = w.in.Answer
	}
	o, err := outgoing(w.team, place, kind, key, m)
	if err != nil {
		return err
	}
	o.Due, o.LeaseBy = w.tx.Now(), w.b.process
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
