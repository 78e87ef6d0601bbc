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

// Inbound is one chat event in neutral form.
type Inbound struct {
	Kind    Kind
	Team    string       // the chat side's key of the team; empty in direct messages, whose team the bot finds out
	Message string       // the message's key; for Pressed, the press's own key
	Author  string       // the chat side's key of whoever did it
	Roles   []rehab.Role // as read for this event
	Place   Place        // where; empty for the bot to find out by the channel
	Text    string       // of the message
	File    []byte       // attached to the message; nil when nothing was
	NoFile  string       // why an attached file could not be taken, a sentence for whoever sent it
	// Fetch gets the attached file as the event's turn comes, so that a slow one keeps only its author
	// waiting; nil when there is none, or File holds it.
	Fetch func(context.Context) (file []byte, no string)
	// Ready waits until the event may be handled, as its turn comes; false when it may not be, and whoever did it
	// reads that it failed. nil when it may be at once.
	Ready func(context.Context) bool
	Token string    // of the button, for Pressed
	Sent  time.Time // when it was done, by the chat side's clock

	Command string            // a command given by named options instead of text
	Options map[string]string // its options

	Channel   string   // the chat side's channel
	ChatRoles []string // the chat side's roles of whoever did it, as read for this event
	Manager   bool     // they may manage the server
	Owns      bool     // they own it, and may manage it
	Name      string   // what they are called there, with the account's own name where that is another; anyone chooses theirs
	Answer    string   // how the chat side takes the answer to this one event; empty for a message
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

// answer is a fixed sentence said straight back, outside the outbox.
func (in Inbound) answer(what, says string) Message {
	return Message{Team: in.Team, Place: in.Place, Channel: in.Channel, Key: in.event() + what, Kind: "reply", Text: says, Answer: in.Answer}
}

// Button is a button as the chat side shows it.
type Button struct {
	Label string `json:"label"` // at most 80 letters
	Token string `json:"token"`
	Style string `json:"style,omitempty"` // "go", "stop" or "": a hint
}

// Shown is a message that was said before, as the chat side knows it.
type Shown struct {
	ID      string `json:"id"` // as Front.Send gave it
	Place   Place  `json:"place"`
	Channel string `json:"channel,omitempty"`
}

// Message is what the bot says.
type Message struct {
	Team    string
	Place   Place
	Channel string // the chat side's channel where that is known: of a team's room, or an open one
	Key     string // idempotency key: the chat side shows two sends with one key once, if it can
	Kind    string // one of store.Kinds, or a kind of notice
	Text    string
	Shows   string   // an account its text names, which the front may show as the chat side does; nobody is pinged
	Buttons []Button // at most 25
	Clears  Shown    // the message whose buttons are answered by this, so that they may go; zero for none
	Answer  string   // the event it answers, as Inbound gave it; a front that cannot answer it any more says it at the place

	// Retry means that an earlier send of this key may have been taken, first at FirstTried: a front whose
	// chat side no longer knows the key reads the channel back before it sends again.
	Retry      bool
	FirstTried time.Time

	// Known is the team as it stood when this was written, a moment ago; nil when a front that wants to know has to
	// look.
	Known *rehab.Team
}

// Front is a chat system the bot speaks through.
type Front interface {
	// Send says something and gives the chat side's id for it. A *NotSent says what to do about a
	// failure; any other error means it may be tried again.
	Send(ctx context.Context, m Message) (id string, err error)
}

// Watcher is a Front that wants to know when a team's settings changed.
type Watcher interface {
	// TeamChanged is told after the commit; team is the chat side's key.
	TeamChanged(ctx context.Context, team string)
}

// Paced is a Front that may send only so often.
type Paced interface {
	// Ready says how long until a message of a kind may be sent; 0 is now. It takes no turn: Send does, and may
	// wait for one a moment. A less urgent kind is never ready before a more urgent one (see store.Kinds).
	Ready(kind string) time.Duration
}

// NotSent is a message the chat side did not take.
type NotSent struct {
	Why   string        // a short fixed word: closed, gone, forbidden, refused, busy; see undelivered
	Never bool          // it never will
	After time.Duration // not before, when it is known
	Err   error
}

func (n *NotSent) Error() string { return "not sent: " + n.Why }

// Unwrap gives the cause.
func (n *NotSent) Unwrap() error { return n.Err }
