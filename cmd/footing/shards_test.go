package main

import (
	"testing"
	"time"

	"footing/store"
	"footing/store/storetest"
)

// Two shards with a team on each, and two processes: each shard has one gateway at a time, wherever that is,
// and nobody is answered by both.
func TestTwoShards(t *testing.T) {
	t.Parallel()
	l := newLeague(t, storetest.Postgres(t), "--shards", "2")
	first := l.serve()
	l.begin(2)
	second := l.serve()
	l.everybody("with the first", 3)
	sam := l.clubs[0].people[0]
	sam.Says(sam.DM(), "help")
	until(t, "an answer in direct messages", func() bool { return len(sam.DM().Messages()) == 2 })
	l.quiet(0)
	first.kill()
	l.everybody("without the first", 2)
	l.later(store.LeaseTime + time.Second)
	until(t, "both gateways in the second", func() bool { return l.w.Gateway().Live() == 2 })
	l.quiet(0)
	l.everybody("with the second", 2)
	l.quiet(0)
	second.stop()
	shards := map[int]int{}
	for _, s := range l.w.Gateway().Spans() {
		shards[s.Shard]++
	}
	if shards[0] < 2 || shards[1] < 2 {
		t.Errorf("connections by shard: %v", shards)
	}
	l.audit()
}
