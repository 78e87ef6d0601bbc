// Package bot is the running bot: a message comes in, a reply goes out. It ties commands to storage
// in one transaction per message, keeps a durable outbox, and does what is due. What differs between
// chat systems stands behind Front.
package bot

import (
	"context"
	"time"

	"footing/rehab"
)

// Kind is what happened in the chat.
type Kind string

// The events a front hands over.
const (
	Created Kind = "created"
	Edited  Kind = "edited"
	Deleted Kind = "deleted"
	Pressed Kind = "pressed"
)

// Place is where something is said.
type Place string

// The places. A direct message is "@" and the author's key.
const (
	MedicalRoom Place = "medical"
	StaffRoom   Place = "staff"
)

// DirectTo is the place of someone's direct messages.
func DirectTo(author string) Place { return Place("@" + author) }

// Inbound is one chat event in neutral form.
type Inbound struct {
	Kind    Kind
	Team    string       // the chat side's key of the team
	Message string       // the message's key; for Pressed, the press's own key
	Author  string       // the chat side's key of whoever did it
	Roles   []rehab.Role // as read for this event
	Place   Place
	Text    string    // of the message
	File    []byte    // attached to the message; nil when nothing was
	Token   string    // of the button, for Pressed
	Sent    time.Time // when it was done, by the chat side's clock
}

// event is the key under which this event is handled once. Edits carry their time: two edits of one
// message are two events.
func (in Inbound) event() string {
	key := in.Team + "/" + string(in.Kind) + "/" + in.Message
	if in.Kind == Edited {
		key += "@" + in.Sent.UTC().Format(time.RFC3339Nano)
	}
	return key
}

// Button is a button as the chat side shows it.
type Button struct {
	Label string `json:"label"`
	Token string `json:"token"`
}

// Message is what the bot says.
type Message struct {
	Team    string
	Place   Place
	Key     string // idempotency key: the chat side shows two sends with one key once, if it can
	Text    string
	Buttons []Button
}

// Front is a chat system the bot speaks through.
type Front interface {
	// Send says something and gives the chat side's id for it. An error means it may be tried again.
	Send(ctx context.Context, m Message) (id string, err error)
}
