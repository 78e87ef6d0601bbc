package discord

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"

	"github.com/bwmarrin/discordgo"
)

// mostFile is the largest attachment that is read, in bytes.
const mostFile = 1 << 20

// What whoever sent a file that could not be taken is told.
const (
	saidLarge  = "That file is over 1 MB. Nothing was taken; send a smaller one, for example of a shorter time."
	saidUnread = "I could not fetch that file from Discord. Nothing was taken; send it again in a minute."
)

var errTooLarge = errors.New("an attachment is too large")

// fetching gets an attachment later, or says why it cannot.
func (a *Adapter) fetching(f *discordgo.MessageAttachment) func(context.Context) ([]byte, string) {
	return func(ctx context.Context) ([]byte, string) {
		file, err := a.fetch(ctx, f)
		switch {
		case err == nil:
			return file, ""
		case errors.Is(err, errTooLarge):
			return nil, saidLarge
		}
		a.Log.Warn("an attachment could not be read", "attachment", f.ID, "bytes", f.Size)
		return nil, saidUnread
	}
}

// fetch reads an attachment, never more of it than mostFile.
func (a *Adapter) fetch(ctx context.Context, f *discordgo.MessageAttachment) ([]byte, error) {
	if f.Size > mostFile {
		return nil, errTooLarge
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, f.URL, nil)
	if err != nil {
		return nil, fmt.Errorf("asking for an attachment: %w", err)
	}
	res, err := (&http.Client{Transport: a.Transport, Timeout: requestTime}).Do(r)
	if err != nil {
		return nil, fmt.Errorf("asking for an attachment: %w", err)
	}
	defer func() { _ = res.Body.Close() }()
	if res.StatusCode != http.StatusOK {
		return nil, fmt.Errorf("asking for an attachment: status %d", res.StatusCode)
	}
	text, err := io.ReadAll(io.LimitReader(res.Body, mostFile+1))
	if err != nil {
		return nil, fmt.Errorf("reading an attachment: %w", err)
	}
	if len(text) > mostFile { // whatever its size was said to be
		return nil, errTooLarge
	}
	return text, nil
}
