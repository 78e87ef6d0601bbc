package bot

import (
	"fmt"
	"runtime"
	"strconv"
	"strings"
)

// errPanicked is what is left of a panic. Its value may hold what somebody typed, so it goes nowhere.
var errPanicked error = panicked{}

type panicked struct{}

func (panicked) Error() string { return "it panicked" }

// Plain is the error as it may be logged.
func (panicked) Plain() string { return "it panicked" }

// mostFrames is how many functions a logged stack names.
const mostFrames = 24

// Recover, deferred, keeps a panic from ending the process: it is counted, and logged by the functions it
// came through. where is one of Guards.
func (b *Bot) Recover(where string) {
	if p := recover(); p != nil {
		b.panicked(where, p)
	}
}

// guard runs f; a panic in it is an error like any other.
func (b *Bot) guard(where string, f func() error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			b.panicked(where, p)
			err = fmt.Errorf("%s: %w", where, errPanicked)
		}
	}()
	return f()
}

func (b *Bot) panicked(where string, p any) {
	b.Meter.Panicked(where)
	b.Log.Error("panicked", "where", where, "type", fmt.Sprintf("%T", p), "stack", stack())
}

// stack names the functions from the panic up to whoever caught it, without their arguments.
func stack() string {
	pc := make([]uintptr, 64)
	frames := runtime.CallersFrames(pc[:runtime.Callers(2, pc)])
	var names []string
	for more := true; more && len(names) < mostFrames; {
		var f runtime.Frame
		f, more = frames.Next()
		switch {
		case f.Function == "runtime.gopanic" || f.Function == "runtime.sigpanic":
			names = nil // what stands above only caught it
		case f.Function != "" && !strings.HasPrefix(f.Function, "runtime."):
			names = append(names, f.Function[strings.LastIndexByte(f.Function, '/')+1:]+":"+strconv.Itoa(f.Line))
		}
	}
	return strings.Join(names, " < ")
}
