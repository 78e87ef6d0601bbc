package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"sync"
	"time"

	"github.com/coreos/go-systemd/v22/daemon"

	"footing/bot/watch"
)

// watchFlags say how the process tells of itself.
type watchFlags struct {
	Listen       string     `placeholder:"ADDRESS" env:"FOOTING_LISTEN" help:"Answer /health and /metrics there, for example on 127.0.0.1:9120. Default: nowhere."`
	ListenOpenly bool       `env:"FOOTING_LISTEN_OPENLY" help:"Let --listen take an address that other machines can reach."`
	LogFormat    string     `enum:"text,json" default:"text" env:"FOOTING_LOG_FORMAT" help:"How to write the log: text or json."`
	LogLevel     slog.Level `default:"info" env:"FOOTING_LOG_LEVEL" help:"What to log: debug, info, warn or error."`
}

// log makes the log. It holds ids, counts and durations, at every level.
func (f watchFlags) log(to io.Writer) *slog.Logger {
	o := &slog.HandlerOptions{Level: f.LogLevel}
	if f.LogFormat == "json" {
		return slog.New(slog.NewJSONHandler(to, o))
	}
	return slog.New(slog.NewTextHandler(to, o))
}

// notifyEvery is how often systemd is told how it stands, when it does not want to know more often.
const notifyEvery = 2 * time.Second

// tell answers whoever asks how the process does, and tells systemd, until ctx ends or it is stopped.
func (f watchFlags) tell(ctx context.Context, w *watch.Watch, log *slog.Logger) (stop func(), err error) {
	ctx, end := context.WithCancel(ctx)
	var parts sync.WaitGroup
	if f.Listen != "" {
		l, err := watch.Listen(ctx, f.Listen, f.ListenOpenly)
		if err != nil {
			end()
			return nil, err
		}
		log.Info("listening", "address", l.Addr().String())
		parts.Go(func() {
			if err := w.Serve(ctx, l); err != nil {
				log.Error("nothing is answered at --listen any more")
			}
		})
	}
	if os.Getenv("NOTIFY_SOCKET") != "" {
		every := notifyEvery
		if d, err := daemon.SdWatchdogEnabled(false); err == nil && d > 0 {
			every = min(every, d/2)
		}
		parts.Go(func() {
			tick := time.NewTicker(every)
			defer tick.Stop()
			w.Notify(ctx, notify, tick.C)
		})
	}
	return func() {
		end()
		parts.Wait()
	}, nil
}

func notify(state string) error {
	if _, err := daemon.SdNotify(false, state); err != nil {
		return fmt.Errorf("telling systemd: %w", err)
	}
	return nil
}
