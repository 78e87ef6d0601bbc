package bot_test

import (
	"strings"
	"testing"

	"footing/rehab/protocol"
	"footing/store"
	"footing/store/storetest"
)

// stricter is the protocol with one threshold moved: balance before Load from 10 s to 20 s.
func stricter(t *testing.T) []byte {
	t.Helper()
	text := string(protocol.DefaultText())
	at := strings.Index(text, "test = \"balance\"\nmeasure = \"value\"\nat_least = 10")
	if at < 0 {
		t.Fatal("the threshold this test moves is not in the file")
	}
	return []byte(text[:at] + strings.Replace(text[at:], "at_least = 10", "at_least = 20", 1))
}

// An open episode keeps the protocol it began with until a clinician accepts the new one; the clinic list
// offers it with what would change.
func TestProtocolChangedMidEpisode(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		r := newRig(t, c)
		r.say(t, cleared)
		r.say(t, "test 7 gait normal, pain-walking 1, balance L 12")
		if err := r.ChooseProtocol(t.Context(), club, "own.toml", stricter(t)); err != nil {
			t.Fatal(err)
		}
		wants(t, r.say(t, "ready 7"), "balance 12 s")
		if said := r.say(t, "ready 7"); strings.Contains(said, "needs 20") {
			t.Errorf("the open episode follows the new protocol already:\n%s", said)
		}
		wants(t, r.say(t, "clinic 7"), "accept-protocol 7 to follow it (balance 12 s → not met: balance 12 s, needs 20 (8 short))")
		wants(t, r.say(t, "accept-protocol 12"), "no ankle under treatment")
		wants(t, r.say(t, "accept-protocol 7"), "follows the team's protocol from now on")
		wants(t, r.say(t, "ready 7"), "needs 20")
		r.start(t)
		wants(t, r.say(t, "ready 7"), "needs 20")
		wants(t, r.say(t, "accept-protocol 7"), "already")
		wants(t, r.say(t, "undo"), "protocol accepted")
		if said := r.say(t, "ready 7"); strings.Contains(said, "needs 20") {
			t.Errorf("undone, it still follows the new protocol:\n%s", said)
		}
		r.say(t, strings.Replace(cleared, "7", "12", 1))
		wants(t, r.say(t, "test 12 balance L 12"), "needs 20") // what begins now follows the team's own
	})
}

// A faulty file changes nothing and every fault is named.
func TestFaultyProtocolIsNotChosen(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		r := newRig(t, c)
		faulty := strings.Replace(string(protocol.DefaultText()), `availability = "modified"`, `availability = "perhaps"`, 1)
		err := r.ChooseProtocol(t.Context(), club, "own.toml", []byte(faulty))
		if err == nil || !strings.Contains(err.Error(), "own.toml:") || !strings.Contains(err.Error(), "perhaps") {
			t.Errorf("a faulty file: %v", err)
		}
		wants(t, r.say(t, cleared), "Stage Settle")
	})
}
