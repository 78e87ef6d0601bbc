package discord

import (
	"errors"
	"io"
	"net/http"
	"testing"

	"github.com/bwmarrin/discordgo"
)

// endless is a content host whose files never end. It counts what was read of them.
type endless struct{ asked, read int }

func (e *endless) RoundTrip(*http.Request) (*http.Response, error) {
	e.asked++
	return &http.Response{StatusCode: http.StatusOK, Body: io.NopCloser(e)}, nil
}

func (e *endless) Read(p []byte) (int, error) {
	e.read += len(p)
	return len(p), nil
}

// A file over 1 MB is not asked for, and one that is larger than it says is not read on.
func TestALargeFileIsNeverRead(t *testing.T) {
	for _, c := range []struct{ says, asked int }{{50 << 20, 0}, {100, 1}} {
		host := &endless{}
		a := &Adapter{Config: Config{Transport: host}}
		_, err := a.fetch(t.Context(), &discordgo.MessageAttachment{URL: "https://example.org/all.ics", Size: c.says})
		if !errors.Is(err, errTooLarge) || host.asked != c.asked || host.read > 2*mostFile {
			t.Errorf("one of %d bytes: %v, asked %d times, read %d bytes", c.says, err, host.asked, host.read)
		}
	}
}
