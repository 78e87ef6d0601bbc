// Command footing runs the bot.
package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
)

// heapGrowth is how many per cent the heap may grow between collections: the bot shall fit the smallest
// machine, and it has time.
const heapGrowth = 30

func main() {
	debug.SetGCPercent(heapGrowth)
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	err := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	if err != nil {
		_, _ = fmt.Fprintln(os.Stderr, "footing:", err)
		os.Exit(1)
	}
}
