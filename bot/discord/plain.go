package discord

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"github.com/bwmarrin/discordgo"

	"footing/bot"
)

// status is an answer of Discord that was no success. It keeps two numbers: the answer itself may quote
// what was said, and the address may hold an interaction's token.
type status struct {
	HTTP int
	Code int // of Discord's JSON errors; 0 when it gave none
}

func (s *status) Error() string { return fmt.Sprintf("Discord answered %d, code %d", s.HTTP, s.Code) }

// Plain is the error as it may be logged.
func (s *status) Plain() string { return s.Error() }

// plain is an error of a request without anybody's words in it.
func plain(err error) error {
	var rest *discordgo.RESTError
	if errors.As(err, &rest) {
		s := &status{}
		if rest.Response != nil {
			s.HTTP = rest.Response.StatusCode
		}
		if rest.Message != nil {
			s.Code = rest.Message.Code
		}
		return s
	}
	var no *bot.NotSent // the pace closed the way
	var u *url.Error    // the network's; its text has the address
	switch {
	case errors.As(err, &no):
		return no
	case errors.As(err, &u):
		return u.Err
	case strings.HasPrefix(err.Error(), "Exceeded Max retries HTTP 502"): // the library's words, then the answer
		return &status{HTTP: http.StatusBadGateway}
	}
	return fmt.Errorf("a request failed with a %T", err)
}

// explain is an error as it may be logged: by status and code, by a fixed word, or by its type alone.
func explain(err error) string {
	var s *status
	var no *bot.NotSent
	switch {
	case errors.As(err, &s):
		return s.Error()
	case errors.As(err, &no):
		return no.Why
	case errors.Is(err, errTooLate):
		return errTooLate.Error()
	}
	return fmt.Sprintf("%T", innermost(err))
}

func innermost(err error) error {
	for {
		inner := errors.Unwrap(err)
		if inner == nil {
			return err
		}
		err = inner
	}
}

// Meter is told what happens between the bot and Discord: counts only.
type Meter interface {
	// Connected is a gateway connection that is up (1) or ended (-1).
	Connected(by int)
	// Answered is an HTTP answer's status; 0 when there was none.
	Answered(status int)
}

type nobody struct{}

func (nobody) Connected(int) {}
func (nobody) Answered(int)  {}

// metered tells the meter of every answer.
type metered struct {
	http.RoundTripper
	meter Meter
}

func (m metered) RoundTrip(r *http.Request) (*http.Response, error) {
	res, err := m.RoundTripper.RoundTrip(r)
	if err != nil {
		m.meter.Answered(0)
		return nil, err //nolint:wrapcheck // the pace says what was being done
	}
	m.meter.Answered(res.StatusCode)
	return res, nil
}

// unpanicked makes a panic on the way of a request an error: it would leave the library's lock on the route
// held for ever.
type unpanicked struct {
	next http.RoundTripper
	a    *Adapter
}

func (u unpanicked) RoundTrip(r *http.Request) (res *http.Response, err error) {
	err = errors.New("a request panicked")
	defer u.a.bot.Recover("front")
	res, err = u.next.RoundTrip(r)
	return res, err //nolint:wrapcheck // the pace says what was being done
}
