// Command footing runs the bot.
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"

	"footing/bot/discord"
)

// heapGrowth is how many per cent the heap may grow between collections: the bot shall fit the smallest
// machine, and it has time.
const heapGrowth = 30

// mustChange is the exit code when a new start can only fail in the same way (EX_CONFIG of sysexits.h): a
// service manager that starts it again and again would have Discord block the bot.
const mustChange = 78

func exitCode(err error) int {
	var fatal *discord.Fatal
	if errors.As(err, &fatal) || errors.Is(err, errNoToken) {
		return mustChange
	}
	return 1
}

func main() { os.Exit(process(around{})) }

// process is a whole process: it ends when its command has, or is told to stop, and gives the exit code.
func process(a around) int {
	debug.SetGCPercent(heapGrowth)
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	err := runIn(ctx, a, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	if err != nil {
		_, _ = fmt.Fprintln(os.Stderr, "footing:", err)
		return exitCode(err)
	}
	return 0
}
