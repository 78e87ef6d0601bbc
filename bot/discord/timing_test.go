package discord_test

import (
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"footing/store"
)

// timing is one deed as it was measured, and its transaction on the twins.
type timing struct {
	whole time.Duration // from the event on the gateway to the request with the answer
	bare  time.Duration // the same statements, each kept ready as the store keeps them
	text  time.Duration // the same statements, sent as text
	count int           // statements

	part [len(partNames)]time.Duration // of whole
}

// partNames are the parts of the time to an answer: the event read and decoded and its turn in its lane, of that
// the look at its team; the wait for a connection and BEGIN; the statements; what the bot works out between them;
// COMMIT; the wait for an interaction's first answer; the message made and its request on its way.
var partNames = [...]string{"in", "(team)", "begin", "statements", "between", "commit", "promise", "out"}

// parts divides the time from an event to its answer.
func parts(at moments, did []store.Transaction) (p timing) {
	p.whole = at["answered"].Sub(at["written"])
	in, out := at["received"].Sub(at["written"]), at["answered"].Sub(at["committed"])
	var team, begin, statements, between, commit, promise time.Duration
	for _, x := range did {
		switch {
		case ofEvent(x):
			p.count, begin = len(x.Statements), x.Waited
			for _, s := range x.Statements {
				statements += s.Took
			}
			commit = x.Began.Add(x.Took).Sub(at["stored"])
			between = x.Took - statements - begin - commit
		case x.Began.Before(at["received"]):
			team += x.Took
		}
	}
	if promised := at["promised"]; promised.After(at["committed"]) && promised.Before(at["answered"]) {
		promise = promised.Sub(at["committed"])
		out -= promise
	}
	p.part = [...]time.Duration{in, team, begin, statements, between, commit, promise, out}
	return p
}

// ratios is a table of the times, and of what they are of the bare ones.
func ratios(all map[string][]timing) string {
	whole, bare := func(p timing) time.Duration { return p.whole }, func(p timing) time.Duration { return p.bare }
	text := func(p timing) time.Duration { return p.text }
	return table(all, "\tn\tstatements\tp50\tp99\tbare p50\tp99\tratio p50\tp99\tto text p50\t", func(list []timing) (cells []string) {
		cells = append(cells, fmt.Sprint(len(list)), fmt.Sprint(list[len(list)/2].count))
		for _, of := range []func(timing) time.Duration{whole, bare} {
			cells = append(cells, ms(percentile(list, 50, of)), ms(percentile(list, 99, of)))
		}
		share := func(percent int, to func(timing) time.Duration) string {
			return fmt.Sprintf("%.2f", float64(percentile(list, percent, whole))/float64(percentile(list, percent, to)))
		}
		return append(cells, share(50, bare), share(99, bare), share(50, text))
	})
}

// breakdown is a table of where the time goes.
func breakdown(all map[string][]timing) string {
	return table(all, "\t"+strings.Join(partNames[:], "\t")+"\t", func(list []timing) (cells []string) {
		for i := range partNames {
			cells = append(cells, ms(percentile(list, 50, func(p timing) time.Duration { return p.part[i] })))
		}
		return cells
	})
}

// table has a line for each deed and one for all.
func table(all map[string][]timing, head string, line func([]timing) []string) string {
	var out strings.Builder
	tab := tabwriter.NewWriter(&out, 0, 0, 2, ' ', tabwriter.AlignRight)
	_, _ = fmt.Fprintln(tab, head)
	var every []timing
	for _, d := range deeds {
		every = append(every, all[d.what]...)
		_, _ = fmt.Fprintf(tab, "%s\t%s\t\n", d.what, strings.Join(line(all[d.what]), "\t"))
	}
	_, _ = fmt.Fprintf(tab, "all\t%s\t\n", strings.Join(line(every), "\t"))
	_ = tab.Flush()
	return out.String()
}

func ms(d time.Duration) string { return fmt.Sprintf("%.2f", float64(d.Microseconds())/1000) }

func percentile(list []timing, percent int, of func(timing) time.Duration) time.Duration {
	var times []time.Duration
	for _, p := range list {
		times = append(times, of(p))
	}
	slices.Sort(times)
	return times[min(len(times)*percent/100, len(times)-1)]
}
