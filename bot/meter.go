package bot

import "time"

// Meter is told what happens, for whoever watches over the process. It is told kinds, fixed words and
// durations: never who, nor anything that was said. Its methods are quick and safe for concurrent use.
type Meter interface {
	// Event ends one inbound event. outcome is one of Outcomes.
	Event(kind Kind, outcome string, took time.Duration)
	// Tried ends one try to send.
	Tried(t Try)
	// Occurred is a scheduled thing that was written, or missed.
	Occurred(what, outcome string)
	// Looked ends a look for what is due; failed when not all of it was done.
	Looked(failed bool)
	// Turned is a worker that looked for something to send: it is alive.
	Turned()
	// Busy is a worker that begins (1) or ends (-1) sending to a destination.
	Busy(by int)
	// Panicked is a panic that was caught, in one of Guards.
	Panicked(where string)
}

// Outcomes of an inbound event: done, also when what was typed is refused; repeated, and passed over; of nobody
// known; failed and nothing stored; ended by a panic; or not taken because too many waited.
var Outcomes = []string{"done", "repeated", "unknown", "failed", "panicked", "busy"}

// Guards are the places that catch a panic.
var Guards = []string{"event", "front", "worker", "notices", "clock", "gateway"}

// Try is one try to send a message.
type Try struct {
	Kind  string        // one of store.Kinds, or a kind of notice
	Again bool          // it was tried before
	Why   string        // a fixed word when it did not work, "" when it was sent
	Dead  bool          // it is given up
	Took  time.Duration // by the chat side; 0 when it was not asked
	Late  time.Duration // since it was first due
}

// nobody watches.
type nobody struct{}

func (nobody) Event(Kind, string, time.Duration) {}
func (nobody) Tried(Try)                         {}
func (nobody) Occurred(string, string)           {}
func (nobody) Looked(bool)                       {}
func (nobody) Turned()                           {}
func (nobody) Busy(int)                          {}
func (nobody) Panicked(string)                   {}
