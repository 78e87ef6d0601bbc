package discord

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"hash/fnv"
	"net/http"
	"regexp"
	"strings"
	"time"

	"github.com/bwmarrin/discordgo"

	"footing/bot"
)

// outgoing is a message as Discord takes it. discordgo's own has no nonce.
type outgoing struct {
	Content    string                       `json:"content"`
	Embeds     []*discordgo.MessageEmbed    `json:"embeds,omitempty"`
	Components []discordgo.MessageComponent `json:"components"`
	Mentions   mentions                     `json:"allowed_mentions"`
	Nonce      string                       `json:"nonce,omitempty"`
	Enforce    bool                         `json:"enforce_nonce,omitempty"`
}

// mentions is always empty: nothing the bot says pings anyone.
type mentions struct {
	Parse []string `json:"parse"`
}

const (
	mostText   = 2000 // letters of a message
	mostEmbed  = 4096 // letters of an embed's description
	mostEmbeds = 6000 // letters of all of a message's embeds
	perRow     = 5    // buttons
)

// nonceLife is how long Discord surely knows a nonce: it says a few minutes. After that a channel is read
// back before anything is sent again.
const nonceLife = time.Minute

// saidMore ends an answer that is too long for the one message it may be.
const saidMore = "\n… There is more: use it in the medical channel."

func compose(m bot.Message) outgoing {
	out := outgoing{Content: escape(calm(m.Text), m.Shows), Components: rows(m.Buttons), Mentions: mentions{Parse: []string{}}}
	text := []rune(out.Content)
	if len(text) <= mostText {
		return out
	}
	out.Content = ""
	if len(text) > mostEmbed { // else one embed holds it: escaping may double a text
		out.Content, text = cut(text, mostText)
	}
	if len(text) > mostEmbeds { // of what only its reader sees: rooms get several messages
		fits, _ := cut(text, mostEmbeds-len([]rune(saidMore)))
		text = []rune(fits + saidMore)
	}
	for len(text) > 0 {
		e := &discordgo.MessageEmbed{}
		e.Description, text = cut(text, mostEmbed)
		out.Embeds = append(out.Embeds, e)
	}
	return out
}

// cut takes what fits off a text, at the end of a line where there is one.
func cut(text []rune, most int) (fits string, left []rune) {
	if len(text) <= most {
		return string(text), nil
	}
	at := most
	for at > 0 && text[at] != '\n' {
		at--
	}
	if at == 0 {
		return string(text[:most]), text[most:]
	}
	return string(text[:at]), text[at+1:]
}

func rows(buttons []bot.Button) []discordgo.MessageComponent {
	out := []discordgo.MessageComponent{}
	for i := 0; i < len(buttons) && i < perRow*perRow; i += perRow {
		row := discordgo.ActionsRow{}
		for _, b := range buttons[i:min(i+perRow, len(buttons))] {
			row.Components = append(row.Components, discordgo.Button{Label: clip(calm(b.Label), 80), CustomID: b.Token, Style: style(b.Style)})
		}
		out = append(out, row)
	}
	return out
}

// style is how a button looks: what goes on, what stops, and the rest.
func style(says string) discordgo.ButtonStyle {
	switch says {
	case "go":
		return discordgo.SuccessButton
	case "stop":
		return discordgo.DangerButton
	}
	return discordgo.SecondaryButton
}

func clip(text string, most int) string {
	if r := []rune(text); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return text
}

// marks are what Discord would read as formatting, a mention or a link.
var marks = strings.NewReplacer(`\`, `\\`, `*`, `\*`, `_`, `\_`, `~`, `\~`, "`", "\\`", `|`, `\|`, `<`, `\<`, `[`, `\[`, `]`, `\]`, `#`, `\#`, "://", ":\u200b//", "@", "@\u200b")

// references are how Discord writes a channel, a role or an account: shown by its name, and pinging nobody
// while no mention is allowed.
var references = regexp.MustCompile(`<(?:#|@&?)\d+>`)

// escape shows a text as it is, but for references to channels and roles, and to the one account that is
// to be shown: another may be somebody's own typing. What starts a line and would make a quote or a list
// is escaped too.
func escape(text, account string) string {
	var parts []string
	at := 0
	for _, r := range references.FindAllStringIndex(text, -1) {
		if ref := text[r[0]:r[1]]; strings.HasPrefix(ref, "<@") && ref[2] != '&' && ref != "<@"+account+">" {
			continue
		}
		parts = append(parts, marks.Replace(text[at:r[0]]), text[r[0]:r[1]])
		at = r[1]
	}
	parts = append(parts, marks.Replace(text[at:]))
	lines := strings.Split(strings.Join(parts, ""), "\n")
	for i, line := range lines {
		if strings.HasPrefix(line, ">") || strings.HasPrefix(line, "- ") || strings.HasPrefix(line, "+ ") {
			lines[i] = `\` + line
		}
	}
	return strings.Join(lines, "\n")
}

// nonce is a key as Discord keeps it, of at most 25 characters.
func nonce(key string) string {
	sum := sha256.Sum256([]byte(key))
	return base64.RawURLEncoding.EncodeToString(sum[:])[:25]
}

// Send implements bot.Front.
func (a *Adapter) Send(ctx context.Context, m bot.Message) (string, error) {
	m, err := a.private(ctx, m)
	if err != nil {
		return "", err
	}
	out := compose(m)
	if m.Answer != "" {
		id, err := a.answer(ctx, m, out)
		if err == nil {
			a.clear(ctx, m.Clears)
		}
		if !errors.Is(err, errTooLate) {
			return id, err
		}
	}
	if _, alone := m.Place.Alone(); alone { // what only one reader was to see is said nowhere else
		return "", &bot.NotSent{Why: "expired", Never: true}
	}
	channel, err := a.channel(ctx, m)
	if err != nil {
		return "", err
	}
	if m.Retry && a.Clock().Sub(m.FirstTried) > nonceLife {
		if id, err := a.readBack(ctx, channel, out, m.FirstTried); err != nil || id != "" {
			return id, err
		}
	}
	out.Nonce, out.Enforce = nonce(m.Key), true
	var sent discordgo.Message
	if err := a.request(ctx, http.MethodPost, discordgo.EndpointChannelMessages(channel), out, &sent); err != nil {
		return "", a.undelivered(ctx, m, err)
	}
	a.clear(ctx, m.Clears)
	return sent.ID, nil
}

// clear takes the buttons off a message that was answered. It is a kindness: a button that stays says so
// when it is pressed.
func (a *Adapter) clear(ctx context.Context, s bot.Shown) {
	if _, alone := s.Place.Alone(); s.ID == "" || alone {
		return
	}
	channel, err := a.channel(ctx, bot.Message{Place: s.Place, Channel: s.Channel})
	if err == nil {
		err = a.request(ctx, http.MethodPatch, discordgo.EndpointChannelMessage(channel, s.ID), map[string]any{"components": []any{}}, nil)
	}
	if err != nil {
		a.Log.Info("buttons were not taken off", "message", s.ID)
	}
}

// Ready implements bot.Paced: nothing is claimed while everything is closed.
func (a *Adapter) Ready(string) time.Duration { return a.pace.closed("", false) }

// channel finds where a message goes.
func (a *Adapter) channel(ctx context.Context, m bot.Message) (string, error) {
	account, direct := m.Place.Direct()
	switch {
	case !direct && m.Channel == "":
		return "", &bot.NotSent{Why: "no room", After: 10 * time.Minute}
	case !direct:
		return m.Channel, nil
	}
	kept, closed, err := a.bot.Store.DirectChannel(ctx, account)
	if err != nil {
		return "", err
	}
	if !closed.IsZero() {
		return "", &bot.NotSent{Why: "closed", Never: true}
	}
	if kept != "" {
		return kept, nil
	}
	return a.open(ctx, m, account)
}

// slowDown is how long no channel is opened after Discord said that it was done too fast: bots that go on are
// shut out.
const slowDown = 10 * time.Minute

// open opens the channel of somebody's direct messages.
func (a *Adapter) open(ctx context.Context, m bot.Message, account string) (string, error) {
	a.mu.Lock()
	wait := a.slow.Sub(a.Clock())
	a.mu.Unlock()
	if wait > 0 {
		return "", &bot.NotSent{Why: "busy", After: wait}
	}
	var opened discordgo.Channel
	err := a.request(ctx, http.MethodPost, discordgo.EndpointUserChannels("@me"), map[string]string{"recipient_id": account}, &opened)
	if code(err) == openingTooFast {
		a.mu.Lock()
		a.slow = a.Clock().Add(slowDown)
		a.mu.Unlock()
	}
	if err != nil {
		return "", a.undelivered(ctx, m, err)
	}
	return opened.ID, a.bot.KeepDirect(ctx, account, opened.ID, false)
}

// lanes is how many buckets interactions share.
const lanes = 64

// bucket is where the library lets requests wait for each other: those of one channel or server, and those of one
// interaction, which has three seconds and waits for little else.
func bucket(url string) string {
	parts := strings.Split(strings.TrimPrefix(url, discordgo.EndpointAPI), "/")
	switch {
	case len(parts) > 1 && (parts[0] == "channels" || parts[0] == "guilds"):
		return parts[0] + "/" + parts[1]
	case len(parts) > 2 && (parts[0] == "interactions" || parts[0] == "webhooks"):
		sum := fnv.New32a()
		_, _ = sum.Write([]byte(parts[2]))
		return fmt.Sprint("interactions/", sum.Sum32()%lanes)
	}
	return parts[0]
}

// request asks Discord under a fixed bucket, so that the library's table of buckets does not grow.
func (a *Adapter) request(ctx context.Context, method, url string, body, into any) error {
	text, err := a.rest.RequestWithBucketID(method, url, body, bucket(url), discordgo.WithContext(ctx))
	if err != nil {
		return classify(plain(err))
	}
	if into == nil {
		return nil
	}
	if err := discordgo.Unmarshal(text, into); err != nil {
		return fmt.Errorf("reading Discord's answer: it gave a %T", err) // its text may quote the answer
	}
	return nil
}

// Codes of Discord's JSON errors.
const (
	unknownChannel     = 10003
	unknownGuild       = 10004
	unknownMessage     = 10008
	unknownMember      = 10007
	unknownUser        = 10013
	unknownWebhook     = 10015
	unknownInteraction = 10062
	openingTooFast     = 40003
	answeredAlready    = 40060
	missingAccess      = 50001
	cannotSendToUser   = 50007
	missingPermission  = 50013
	invalidToken       = 50027
	noMutualServer     = 50278
)

// errTooLate means that an interaction can no longer be answered.
var errTooLate = errors.New("the interaction has expired")

// code is the code of Discord's own error, 0 for any other.
func code(err error) int {
	var s *status
	if errors.As(err, &s) {
		return s.Code
	}
	return 0
}

// classify says what an error of Discord means for whoever sends.
func classify(err error) error {
	var s *status
	if !errors.As(err, &s) {
		return err // a *bot.NotSent from the pace, or the network
	}
	switch s.Code {
	case unknownWebhook, unknownInteraction, invalidToken:
		return fmt.Errorf("%w: code %d", errTooLate, s.Code)
	case cannotSendToUser, noMutualServer, unknownUser:
		return &bot.NotSent{Why: "closed", Never: true, Err: err}
	case openingTooFast:
		return &bot.NotSent{Why: "busy", After: slowDown, Err: err}
	case unknownChannel:
		return &bot.NotSent{Why: "gone", Never: true, Err: err}
	case missingAccess, missingPermission, unknownGuild:
		return &bot.NotSent{Why: "forbidden", After: 10 * time.Minute, Err: err}
	}
	if s.HTTP == http.StatusBadRequest {
		return &bot.NotSent{Why: "refused", Never: true, Err: err}
	}
	return fmt.Errorf("asking Discord: %w", err)
}

// undelivered remembers an account that takes no direct messages.
func (a *Adapter) undelivered(ctx context.Context, m bot.Message, err error) error {
	var no *bot.NotSent
	account, direct := m.Place.Direct()
	if errors.As(err, &no) && no.Why == "closed" && direct {
		if keep := a.bot.KeepDirect(ctx, account, "", true); keep != nil {
			return errors.Join(err, keep)
		}
	}
	return err
}
