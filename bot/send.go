package bot

import (
	"context"
	"encoding/json"
	"errors"
	"math/rand/v2"
	"slices"
	"time"

	"footing/rehab"
	"footing/store"
)

const (
	// sendTime is how long one send may take. None begins that could outlast its lease.
	sendTime = 20 * time.Second
	// answerLife is how long an event can be answered: what is later is said at the place. Discord gives 15
	// minutes; the last of them is for the way.
	answerLife = 14 * time.Minute
	// A message that keeps failing is given up after so long.
	tryFor      = 24 * time.Hour
	tryAlertFor = 72 * time.Hour
)

// say sends messages that were just committed, those of each destination in order. What it does not hold,
// or cannot send now, the workers send; where there are none, as at a console, it does their part. It wakes
// them only for that: they share the database with whoever writes next. t is the team as it stood then.
func (b *Bot) say(ctx context.Context, t *rehab.Team, list []store.Outgoing) {
	rest := b.sayHeld(ctx, t, list)
	if b.workers.Load() > 0 {
		if rest {
			b.bell.ring()
		}
		return
	}
	if err := b.drain(ctx); err != nil {
		b.Log.Error("what waits was not sent", "error", store.Explain(err))
	}
}

// sayHeld sends what this process holds. rest says that something is left for the workers: of the list, or what
// others wrote meanwhile to a destination that was held here.
func (b *Bot) sayHeld(ctx context.Context, t *rehab.Team, list []store.Outgoing) (rest bool) {
	stopped := map[int64]bool{}
	for i, o := range list {
		if o.Lease.Fence == 0 || stopped[o.Lease.Destination] {
			rest = true
			continue
		}
		last := !slices.ContainsFunc(list[i+1:], func(next store.Outgoing) bool { return next.Lease.Destination == o.Lease.Destination })
		sent := b.sendNext(ctx, o, t, slices.Index(store.Kinds, "reply"), last)
		stopped[o.Lease.Destination] = !sent
		rest = rest || !sent || last && b.waits(ctx, o.Lease.Destination)
	}
	return rest
}

// waits reports whether something is due at a destination, or that this is not known.
func (b *Bot) waits(ctx context.Context, dest int64) bool {
	yes, err := b.Store.Waits(ctx, b.Clock(), dest)
	return yes || err != nil
}

// sendNext sends one message under its lease. false means that nothing more may be sent there now: the
// destination was given back, or is held until it may be tried again. known is its team where that was just read.
func (b *Bot) sendNext(ctx context.Context, o store.Outgoing, known *rehab.Team, urgency int, last bool) bool {
	if ctx.Err() != nil || b.Clock().Add(sendTime).After(o.Lease.Until) || b.ready(urgency) > 0 {
		b.release(ctx, o.Lease)
		return false
	}
	var m body
	if err := json.Unmarshal([]byte(o.Body), &m); err != nil {
		return b.giveUp(ctx, o, "unreadable", 0, last)
	}
	if !o.Expires.IsZero() && b.Clock().After(o.Expires) {
		return b.giveUp(ctx, o, "expired", 0, last)
	}
	says := b.message(o, m)
	if known != nil && known.ID == o.Team {
		says.Known = known
	}
	began := time.Now() // how long it takes is real time, whatever the clock says
	id, err := b.front(ctx, says)
	took := time.Since(began)
	if err != nil {
		return b.notSent(ctx, o, err, took, last)
	}
	b.tried(o, "", false, took)
	b.Step("sent")
	if err := b.Store.Sent(context.WithoutCancel(ctx), b.Clock(), o, id, last); err != nil {
		b.Log.Error("message sent but not marked; its lease will run out", "outbox", o.ID, "error", store.Explain(err))
		return false
	}
	b.Step("settled")
	return true
}

// message is what the front is to say. An event too old to be answered is answered at the place. What only
// its reader was to see has none then: direct messages are no medical room.
func (b *Bot) message(o store.Outgoing, m body) Message {
	place := Place(o.Destination)
	if m.Answer != "" && b.Clock().Sub(o.Written) >= answerLife {
		m.Answer = ""
	}
	return Message{
		Team: o.TeamKey, Place: place, Channel: m.Channel, Key: o.Key, Kind: o.Kind, Text: m.Text, Buttons: m.Buttons, Clears: m.Clears, Answer: m.Answer, Shows: m.Shows,
		Retry: !o.Tried.IsZero(), FirstTried: o.Tried,
	}
}

// front lets the front send. A fault of it is a failure like any other.
func (b *Bot) front(ctx context.Context, m Message) (id string, err error) {
	ctx, cancel := context.WithTimeout(ctx, sendTime)
	defer cancel()
	err = b.guard("front", func() (err error) {
		id, err = b.Front.Send(ctx, m)
		return err
	})
	return id, err
}

// tried tells the meter of one try to send; why is "" when it worked.
func (b *Bot) tried(o store.Outgoing, why string, dead bool, took time.Duration) {
	b.Meter.Tried(Try{Kind: o.Kind, Again: o.Attempts > 0, Why: why, Dead: dead, Took: took, Late: b.Clock().Sub(o.Written)})
}

// notSent gives a message up or puts it back, by what the front said of it.
func (b *Bot) notSent(ctx context.Context, o store.Outgoing, err error, took time.Duration, last bool) bool {
	why, wait, never := "failed", backoff(o.Kind, o.Attempts), false
	var n *NotSent
	if errors.As(err, &n) {
		why, never = n.Why, n.Never
		if n.After > 0 {
			wait = n.After + jitter(n.After)
		}
	}
	if b.ready(0) > 0 { // nothing is sent before the front says so; then this is in its place, not behind what is less urgent
		wait = 0
	}
	limit := tryFor
	if o.Kind == "alert" {
		limit = tryAlertFor
	}
	if never {
		return b.giveUp(ctx, o, why, took, last)
	}
	if b.Clock().Sub(o.Written) >= limit {
		if _, says := undelivered[why]; !says { // what can be mended is said
			why = "tried"
		}
		return b.giveUp(ctx, o, why, took, last)
	}
	b.tried(o, why, false, took)
	b.Log.Warn("message not sent", "outbox", o.ID, "attempt", o.Attempts+1, "why", why, "error", store.Explain(err))
	if err := b.Store.Failed(context.WithoutCancel(ctx), b.Clock(), o, why, b.Clock().Add(wait)); err != nil {
		b.Log.Error("message not put back; its lease will run out", "outbox", o.ID, "error", store.Explain(err))
	}
	return false
}

// giveUp ends a message. Medical staff are told, but not of what was for their own room.
func (b *Bot) giveUp(ctx context.Context, o store.Outgoing, why string, took time.Duration, last bool) bool {
	b.tried(o, why, true, took)
	b.Log.Error("message given up", "outbox", o.ID, "kind", o.Kind, "why", why)
	tell := o.Destination != string(MedicalRoom)
	if err := b.Store.Dead(context.WithoutCancel(ctx), b.Clock(), o, why, tell, last); err != nil {
		b.Log.Error("a message was not given up; its lease will run out", "outbox", o.ID, "error", store.Explain(err))
		return false
	}
	return true // nothing behind it has to wait
}

func (b *Bot) release(ctx context.Context, l store.Lease) {
	if err := b.Store.Release(context.WithoutCancel(ctx), l); err != nil {
		b.Log.Error("destination not released; its lease will run out", "destination", l.Destination, "error", store.Explain(err))
	}
}

// backoff is how long to wait after some attempts: 2 s doubled each time up to 5 min, of an alert up to
// 30 s, less up to a quarter. The count is kept in the row, so it goes on where a dead process stopped.
func backoff(kind string, attempts int) time.Duration {
	longest := 5 * time.Minute
	if kind == "alert" {
		longest = 30 * time.Second
	}
	d := min(2*time.Second<<min(attempts, 8), longest)
	return d - jitter(d)
}

// jitter is up to a quarter of a time, so that many do not come back at once.
func jitter(d time.Duration) time.Duration { return time.Duration(rand.Int64N(int64(d)/4 + 1)) }
