package watch

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// ErrOpen means that an address can be reached from other machines.
var ErrOpen = errors.New("other machines could reach that address: use 127.0.0.1, or add --listen-openly where a firewall guards it")

// Listen opens an address for Serve. Port 0 takes a free one. Unless openly it must be this machine's own.
func Listen(ctx context.Context, address string, openly bool) (net.Listener, error) {
	at, err := net.ResolveTCPAddr("tcp", address)
	if err != nil {
		return nil, fmt.Errorf("the address to listen on cannot be read, write it like 127.0.0.1:9120: %w", err)
	}
	if !openly && !at.IP.IsLoopback() {
		return nil, fmt.Errorf("listening on %s: %w", at, ErrOpen)
	}
	l, err := (&net.ListenConfig{}).Listen(ctx, "tcp", at.String())
	if err != nil {
		return nil, fmt.Errorf("listening on %s: %w", at, err)
	}
	return l, nil
}

// Handler answers /health and /metrics.
func (w *Watch) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /health", w.health)
	mux.Handle("GET /metrics", promhttp.HandlerFor(w.registry, promhttp.HandlerOpts{}))
	return mux
}

// health says "ok", or 503 and a line for each thing that is wrong.
func (w *Watch) health(rw http.ResponseWriter, r *http.Request) {
	rw.Header().Set("Content-Type", "text/plain; charset=utf-8")
	rw.Header().Set("Cache-Control", "no-store")
	faults := w.Health(r.Context())
	if len(faults) == 0 {
		_, _ = io.WriteString(rw, "ok\n")
		return
	}
	rw.WriteHeader(http.StatusServiceUnavailable)
	for _, f := range faults {
		_, _ = io.WriteString(rw, f.Says+"\n")
	}
}

// Serve answers on a listener until ctx ends.
func (w *Watch) Serve(ctx context.Context, l net.Listener) error {
	const patience = 10 * time.Second
	s := &http.Server{
		Handler: w.Handler(), ReadTimeout: patience, WriteTimeout: patience, IdleTimeout: time.Minute, MaxHeaderBytes: 1 << 14,
		ErrorLog: log.New(io.Discard, "", 0), // it would quote what a stranger sends
	}
	stop := context.AfterFunc(ctx, func() { _ = s.Close() })
	defer stop()
	if err := s.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return fmt.Errorf("answering on %s: %w", l.Addr(), err)
	}
	return nil
}
