package bot

import (
	"context"
	"crypto/rand"
	"encoding/base64"
	"fmt"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"footing/commands"
	"footing/rehab"
	"footing/rehab/protocol"
	"footing/store"
)

// The storage transaction is what commands read from.
var _ commands.Records = (*store.Tx)(nil)

// Config is what a bot is made of.
type Config struct {
	Store *store.Store
	Front Front
	Clock func() time.Time
	Log   *slog.Logger
	// Beside says that this is a tool beside a serving process: it changes nothing that one holds.
	Beside bool
	// Meter is told what happens; nil for nobody.
	Meter Meter
	// Step is told each of Steps. Tests kill the process there.
	Step func(name string)
}

// Steps are the named steps of a message's path, in order.
var Steps = []string{"received", "claimed", "ran", "stored", "committed", "sent", "settled"}

// Bot handles events and does what is due. Handle and Step are safe for concurrent use.
type Bot struct {
	Config
	registry *commands.Registry
	listed   []Listed
	standard *rehab.Protocol
	process  string // names this process in leases

	declined declined

	bell    bell         // rung when something may be waiting to be sent
	workers atomic.Int32 // running to send it
	tidied  atomic.Int64 // the day, since 1970, on which old events were last forgotten

	mu           sync.Mutex
	vocabularies map[string]*commands.Vocabulary
}

// New makes a bot. The error names every fault of every command and of the protocol.
func New(ctx context.Context, c Config) (*Bot, error) {
	reg, err := commands.All()
	if err != nil {
		return nil, fmt.Errorf("declaring commands: %w", err)
	}
	words, err := standard()
	if err != nil {
		return nil, fmt.Errorf("loading the protocol: %w", err)
	}
	std := words.Protocol
	if c.Step == nil {
		c.Step = func(string) {}
	}
	if c.Meter == nil {
		c.Meter = nobody{}
	}
	b := &Bot{Config: c, registry: reg, listed: listed(reg), standard: std, process: token(), vocabularies: map[string]*commands.Vocabulary{}}
	b.vocabularies[std.Hash] = words
	if c.Beside {
		return b, nil
	}
	err = c.Store.Do(ctx, c.Clock(), func(tx *store.Tx) error {
		if err := tx.PutProtocol(ctx, std.Hash, std.Name, string(protocol.DefaultText()), true); err != nil {
			return err
		}
		return tx.FollowEmbedded(ctx, std.Hash)
	})
	if err != nil {
		return nil, fmt.Errorf("keeping the protocol: %w", err)
	}
	if err := c.Store.ReleaseAll(ctx, c.Clock()); err != nil {
		return nil, fmt.Errorf("freeing what the last process held: %w", err)
	}
	return b, nil
}

// standard is the embedded protocol with its words, read once: neither ever changes.
var standard = sync.OnceValues(func() (*commands.Vocabulary, error) {
	p, err := protocol.Default()
	if err != nil {
		return nil, err
	}
	return commands.NewVocabulary(p), nil
})

// token is an opaque random name.
func token() string {
	raw := make([]byte, 12)
	_, _ = rand.Read(raw) // never fails: crypto/rand ends the process instead
	return base64.RawURLEncoding.EncodeToString(raw)
}

// book gives protocols by hash inside a transaction, loading those an older episode still follows.
// The first failure is kept in *failed and fails the transaction.
func (b *Bot) book(ctx context.Context, tx *store.Tx, failed *error) func(string) *rehab.Protocol {
	return func(hash string) *rehab.Protocol {
		v, err := b.vocabulary(ctx, tx, hash)
		if err != nil {
			if *failed == nil {
				*failed = err
			}
			return b.standard
		}
		return v.Protocol
	}
}

func (b *Bot) vocabulary(ctx context.Context, tx *store.Tx, hash string) (*commands.Vocabulary, error) {
	b.mu.Lock()
	v := b.vocabularies[hash]
	b.mu.Unlock()
	if v != nil {
		return v, nil
	}
	text, err := tx.Protocol(ctx, hash)
	if err != nil {
		return nil, err
	}
	p, err := protocol.Load("protocol "+hash, []byte(text))
	if err != nil {
		return nil, fmt.Errorf("loading a stored protocol: %w", err)
	}
	v = commands.NewVocabulary(p)
	b.mu.Lock()
	b.vocabularies[hash] = v
	b.mu.Unlock()
	return v, nil
}

// KeepDirect keeps the channel of an account's direct messages, and whether it refuses them.
func (b *Bot) KeepDirect(ctx context.Context, account, channel string, closed bool) error {
	err := b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error { return tx.KeepDirect(ctx, account, channel, closed) })
	if err != nil {
		return fmt.Errorf("keeping a direct channel: %w", err)
	}
	return nil
}

// RoomFault keeps why a team's medical room is not private, or with "" that it is.
func (b *Bot) RoomFault(ctx context.Context, team, says string) error {
	err := b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error {
		t, err := tx.Team(ctx, team)
		if err != nil {
			return err
		}
		if err := tx.Enter(ctx, t.ID); err != nil {
			return err
		}
		return tx.SetRoomFault(ctx, says)
	})
	if err != nil {
		return fmt.Errorf("noting the medical room's privacy: %w", err)
	}
	return nil
}
