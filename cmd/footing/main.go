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

func main() { os.Exit(process(around{})) }

// process is a whole process: it ends when its command has, or is told to stop, and gives the exit code.
func process(a around) int {
	debug.SetGCPercent(heapGrowth)
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	err := runIn(ctx, a, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	if err != nil {
		_, _ = fmt.Fprintln(os.Stderr, "footing:", err)
		return 1
	}
	return 0
}
