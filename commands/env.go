package commands

import (
	"context"
	"slices"
	"time"

	"footing/rehab"
)

// Records is what commands read. The storage transaction satisfies it.
type Records interface {
	// Athletes lists the active roster by shirt.
	Athletes(ctx context.Context) ([]rehab.Athlete, error)
	// Athlete reads one athlete's row, on the roster or not.
	Athlete(ctx context.Context, id int64) (rehab.Athlete, error)
	// Lock takes athletes' rows, so that what is read of them afterwards stays so until all is done.
	Lock(ctx context.Context, athletes ...int64) (seqs map[int64]int64, err error)
	// Entries lists an athlete's live entries by seq.
	Entries(ctx context.Context, athlete int64) ([]rehab.Entry, error)
	// TeamEntries lists every active athlete's live entries, keyed by athlete.
	TeamEntries(ctx context.Context) (map[int64][]rehab.Entry, error)
	// Squad is the row that stands for the squad as a whole: shirt 0, never on the roster.
	Squad(ctx context.Context) (rehab.Athlete, error)
	// SquadEntries lists the live entries of the squad as a whole by seq: the calendar.
	SquadEntries(ctx context.Context) ([]rehab.Entry, error)
	// LastSource finds the latest message by an author since a time whose entries still stand, and
	// those entries; a nil slice when there is none.
	LastSource(ctx context.Context, author int64, since time.Time) (source string, entries []rehab.Entry, err error)
	// ShownSince reports whether, after a message of an author recorded something, a plan was shown to them
	// or a question asked of them that still waits.
	ShownSince(ctx context.Context, author int64, source string) (bool, error)
	// SourceEntries lists the live entries of one message.
	SourceEntries(ctx context.Context, source string) ([]rehab.Entry, error)
	// MemberNames gives what every member is called in the chat, for "by whom".
	MemberNames(ctx context.Context) (map[int64]string, error)
	// Account finds a member by the chat side's key; the zero Member when nobody with it has written.
	Account(ctx context.Context, key string) (rehab.Member, error)
	// Accounts lists the accounts linked with an athlete, by athlete.
	Accounts(ctx context.Context) (map[int64]rehab.Member, error)
	// Claiming reports whether a member's word that they wear a shirt still waits for medical staff.
	Claiming(ctx context.Context, member int64) (bool, error)
	// LockTeam takes the team's settings and gives them as they stand.
	LockTeam(ctx context.Context) (rehab.Team, error)
	// LatestOccurrence is the latest local day that has a scheduled thing, "" when none has.
	LatestOccurrence(ctx context.Context, what string) (string, error)
	// Flagged lists the athletes with records of a deleted message that nobody has decided about.
	Flagged(ctx context.Context) (map[int64]int, error)
	// Told lists what staff were told of each athlete on the latest day before the given one, and
	// that day; a nil map when nothing was ever told.
	Told(ctx context.Context, before string) (day string, told map[int64]rehab.Availability, err error)
}

// Env is what a command may use while it runs. A command has no side effects: what it wants to
// happen it puts into its Reply, and the bot does all of it or nothing.
type Env struct {
	Team      rehab.Team
	Actor     rehab.Member
	Now       time.Time // the present, in the team's zone: what is assessed and said is as of now
	Told      time.Time // when the line was first told: a fact without a time of its own happened then
	Records   Records
	Protocol  *rehab.Protocol // for new episodes
	Book      func(hash string) *rehab.Protocol
	Lang      *Lang
	Registry  *Registry
	Call      *Call         // the line being carried out
	Confirmed bool          // a person was asked about this line and said yes
	Medical   bool          // the reply is seen by medical staff only
	Direct    bool          // the reply is seen by its reader alone
	Replaces  []rehab.Entry // what the line recorded before it was edited
	Owns      bool          // whoever wrote owns the chat server
	Channel   string        // the chat side's id of the open channel it was written in; empty in the team's rooms and direct messages
	File      []byte        // the file that came with the message; nil when none did
	NoFile    string        // why the file that came with it could not be taken, a sentence

	anew bool // the line says that what it told was a new sprain
}

// Refusal is a plain sentence for the user in place of a result; nothing is recorded.
type Refusal struct {
	Says    string
	NoShirt bool // nobody wears the number that was typed
	Buttons []Button
	Step    bool // the next question of a card: its buttons take the place of the one that was pressed
}

func (r *Refusal) Error() string { return r.Says }

// Question is asked when a line can be read in more than one way. Each option is the line as it
// would have to be typed to be clear.
type Question struct {
	Asks    string
	Options []Option

	option string // the named option that is asked about
}

// Option is one answer to a Question.
type Option struct {
	Label   string
	Line    string
	Athlete int64 // whom it is about

	from, to int // the part of the line that text takes the place of
	text     string
}

func (q *Question) Error() string { return q.Asks }

// Reply is what a command wants to happen and to be said.
type Reply struct {
	Lines   []string
	Buttons []Button
	Health  bool     // carries the caution line
	Alerts  []string // to medical staff at once

	Entries []rehab.Entry   // to append; seq, author, source and times logged are filled in
	Restore []rehab.Athlete // rows of the roster to put back first, in this order
	Put     []Put           // rows of the roster to store
	Void    string          // message whose entries no longer count
	By      int64           // only what this member recorded in it; 0 for all
	Settle  string          // deleted message whose flag is answered

	Team   *rehab.Team // settings to store
	Link   *Link       // which account an athlete has
	Asides []Aside     // said elsewhere
}

// Link gives an athlete the account they alone have from then on; an empty account parts them from any.
type Link struct {
	Athlete int64
	Account string
}

// Aside is said elsewhere because of a line: in direct messages, in an open channel, or without either in
// the medical room.
type Aside struct {
	Account string // whose direct messages
	Channel string // the chat side's id
	Lines   []string
	Shows   string // an account its lines name, which the chat side may show as it shows accounts
	Buttons []Button
	Anyone  bool          // may press its buttons, any number of times
	Life    time.Duration // how long its buttons may be pressed
}

// Put is a row of the roster as it is to stand, and the entry that says so.
type Put struct {
	Athlete rehab.Athlete // without an ID they are new
	Entry   rehab.Entry
}

// Button runs a line when pressed, as if the presser had typed it at the original time: it answers the
// line that asked, and what that line recorded gives way to it. An Own or Strict one is typed anew.
type Button struct {
	Label     string // at most 80 letters
	Line      string
	Confirmed bool      // pressing confirms what was asked
	Own       bool      // a line of its own, sent when it is pressed
	File      bool      // the file that came with the line goes with the button: UTF-8 without a zero byte
	Strict    bool      // its own too, and refused when anything about the athlete changed since it was shown
	About     int64     // the athlete the line is about, where the line that asked named none
	Until     time.Time // may be pressed so long; the zero time for half a day
	Style     string    // "go", "stop" or "": a hint for whoever draws it
}

func lines(ls ...string) Reply { return Reply{Lines: ls} }

// Assess folds and reads one athlete as of now.
func (e *Env) Assess(ctx context.Context, a rehab.Athlete) (rehab.Assessment, error) {
	entries, err := e.Records.Entries(ctx, a.ID)
	if err != nil {
		return rehab.Assessment{}, err
	}
	return e.read(a, entries), nil
}

// read assesses an athlete from entries in hand.
func (e *Env) read(a rehab.Athlete, entries []rehab.Entry) rehab.Assessment {
	return rehab.Assess(rehab.Fold(a, entries), e.setting())
}

func (e *Env) setting() rehab.Setting {
	return rehab.Setting{Book: e.Book, Protocol: e.Protocol, StrictMinors: e.Team.StrictMinors, NoContact: noContact(e.Team.Sport, e.Protocol), Now: e.Now}
}

// Calendar is the team's sessions, those of the past too.
func (e *Env) Calendar(ctx context.Context) (rehab.Calendar, error) {
	entries, err := e.Records.SquadEntries(ctx)
	return rehab.FoldCalendar(entries), err
}

// noContact reports whether a sport has no contact, so that no full-contact session is asked for. Where
// none was said, contact is.
func noContact(sport string, p *rehab.Protocol) bool {
	return sport != "" && !slices.Contains(p.Limits.ContactSports, sport)
}

// at is the time a fact happened: as typed, else when it was told.
func (e *Env) at(typed time.Time) time.Time {
	if typed.IsZero() {
		return e.Told
	}
	return typed
}
