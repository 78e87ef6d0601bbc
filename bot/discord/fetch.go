package discord

import (
	"context"
	"fmt"
	"io"
	"net/http"

	"github.com/bwmarrin/discordgo"
)

// mostFile is the largest attachment that is read, in bytes.
const mostFile = 1 << 20

// fetch reads an attachment.
func (a *Adapter) fetch(ctx context.Context, f *discordgo.MessageAttachment) ([]byte, error) {
	if f.Size > mostFile {
		return nil, fmt.Errorf("an attachment of %d bytes is too large", f.Size)
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
	if err != nil || len(text) > mostFile {
		return nil, fmt.Errorf("reading an attachment of %d bytes: %w", len(text), err)
	}
	return text, nil
}
