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
	switch kind {
	case rehab.KindJoined:
		return into[rehab.Joined](text)
	case rehab.KindSprained:
		return into[rehab.Sprained](text)
	case rehab.KindScreened:
		return into[rehab.Screened](text)
	case rehab.KindLifted:
		return into[rehab.Lifted](text)
	case rehab.KindTested:
		return into[rehab.Tested](text)
	case rehab.KindResponded:
		return into[rehab.Responded](text)
	case rehab.KindDecided:
		return into[rehab.Decided](text)
	case rehab.KindNoted:
		return into[rehab.Noted](text)
	}
	return nil, fmt.Errorf("entries of kind %q are unknown", kind)
}

func into[T rehab.Body](text string) (rehab.Body, error) {
	var b T
	if err := json.Unmarshal([]byte(text), &b); err != nil {
		return nil, fmt.Errorf("decoding a %s entry: %w", b.Kind(), err)
	}
	return b, nil
}
