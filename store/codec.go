package store

import (
	"encoding/json"
	"fmt"

	"footing/rehab"
)

// bodyVersion is written beside every body. A later shape gets a later number and its own reader.
const bodyVersion = 1

func encode(b rehab.Body) (string, error) {
	text, err := json.Marshal(b)
	if err != nil {
		return "", fmt.Errorf("encoding a %s entry: %w", b.Kind(), err)
	}
	return string(text), nil
}

func decode(kind rehab.Kind, version int, text string) (rehab.Body, error) {
	if version != bodyVersion {
		return nil, fmt.Errorf("a %s entry of version %d is newer than this program", kind, version)
	}
	if read := readers[kind]; read != nil {
		return read(text)
	}
	return nil, fmt.Errorf("entries of kind %q are unknown", kind)
}

var readers = map[rehab.Kind]func(string) (rehab.Body, error){
	rehab.KindJoined: into[rehab.Joined], rehab.KindChanged: into[rehab.Changed], rehab.KindDeparted: into[rehab.Departed], rehab.KindPast: into[rehab.Past],
	rehab.KindSprained: into[rehab.Sprained], rehab.KindScreened: into[rehab.Screened], rehab.KindLifted: into[rehab.Lifted],
	rehab.KindTested: into[rehab.Tested], rehab.KindResponded: into[rehab.Responded], rehab.KindDecided: into[rehab.Decided],
	rehab.KindNoted: into[rehab.Noted], rehab.KindRestricted: into[rehab.Restricted], rehab.KindSupported: into[rehab.Supported],
	rehab.KindPlayedOn: into[rehab.PlayedOn], rehab.KindTrained: into[rehab.Trained],
	rehab.KindPlanned: into[rehab.Planned], rehab.KindWorked: into[rehab.Worked], rehab.KindAdopted: into[rehab.Adopted],
	rehab.KindScheduled: into[rehab.Scheduled], rehab.KindLinked: into[rehab.Linked], rehab.KindConsented: into[rehab.Consented],
	rehab.KindMoved: into[rehab.Moved], rehab.KindCancelled: into[rehab.Cancelled], rehab.KindPreferred: into[rehab.Preferred],
	rehab.KindConfigured: into[rehab.Configured], rehab.KindImported: into[rehab.Imported], rehab.KindAttended: into[rehab.Attended],
}

func into[T rehab.Body](text string) (rehab.Body, error) {
	var b T
	if err := json.Unmarshal([]byte(text), &b); err != nil {
		return nil, failed(fmt.Sprintf("decoding a %s entry", b.Kind()), err) // its text may quote a value
	}
	return b, nil
}
