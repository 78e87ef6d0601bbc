package bot

import (
	"context"
	"fmt"
	"time"

	"github.com/go-co-op/gocron/v2"

	"footing/store"
)

// tickEvery is how often what is due is looked for.
const tickEvery = 20 * time.Second

// Run writes what is due, now and every 20 s, until ctx ends; Deliver sends it. A look that takes longer than that is not
// overtaken by the next.
func (b *Bot) Run(ctx context.Context) error {
	s, err := gocron.NewScheduler(gocron.WithStopTimeout(tickEvery))
	if err != nil {
		return fmt.Errorf("making the clock: %w", err)
	}
	look := func() {
		err := b.guard("clock", func() error { return b.Schedule(ctx) })
		b.Meter.Looked(err != nil)
		if err != nil && ctx.Err() == nil {
			b.Log.Error("what is due was not all done; the next look tries again", "error", store.Explain(err))
		}
	}
	if _, err := s.NewJob(gocron.DurationJob(tickEvery), gocron.NewTask(look), gocron.WithSingletonMode(gocron.LimitModeReschedule),
		gocron.WithStartAt(gocron.WithStartImmediately())); err != nil {
		return fmt.Errorf("setting the clock: %w", err)
	}
	s.Start()
	<-ctx.Done()
	if err := s.Shutdown(); err != nil {
		return fmt.Errorf("stopping the clock: %w", err)
	}
	return nil
}
