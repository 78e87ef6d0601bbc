package discordtest

import (
	"fmt"
	"net/http"
	"net/url"

	"github.com/bwmarrin/discordgo"
)

// Connect points a session at the stand-in, with the bot's token if it has none. The gateway's address
// follows from GET /gateway.
func (w *World) Connect(s *discordgo.Session) {
	if s.Token == "" {
		s.Token = w.Token()
		s.Identify.Token = w.Token()
	}
	client := *s.Client
	client.Transport = w.Transport()
	s.Client = &client
}

// Transport sends what is meant for Discord's hosts to the stand-in, and refuses every other host.
func (w *World) Transport() http.RoundTripper { return transport{w.server.URL, w.client} }

// URL is where the stand-in listens, for TransportTo in another process.
func (w *World) URL() string { return w.server.URL }

// TransportTo is Transport for a client in another process than the world, which listens at address.
func TransportTo(address string) http.RoundTripper { return transport{address, &http.Transport{}} }

type transport struct {
	address string
	client  *http.Transport
}

func (t transport) RoundTrip(r *http.Request) (*http.Response, error) {
	switch r.URL.Host {
	case "discord.com", "cdn.discordapp.com":
	default:
		return nil, fmt.Errorf("discordtest: a request for %s left the stand-in", r.URL.Host)
	}
	to, err := url.Parse(t.address)
	if err != nil {
		return nil, err
	}
	r = r.Clone(r.Context())
	r.URL.Scheme, r.URL.Host = to.Scheme, to.Host
	return t.client.RoundTrip(r)
}
