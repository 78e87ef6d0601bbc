package discord_test

import (
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"footing/bot/discord/discordtest"
	"footing/store/storetest"
)

// typed is what people type to make a message look or ring otherwise: the marks of Discord's documentation of
// markdown and of message formatting, and Unicode's of writing direction (UAX #9) and of nothing at all.
var typed = map[string]string{
	"everyone":       "@everyone @here",
	"an account":     "<@1477953611366400014> <@!1477953611366400014>",
	"a role":         "<@&1477953611366400002>",
	"emphasis":       "**sore** __today__ ~~no~~",
	"a spoiler":      "||secret||",
	"a code fence":   "```go fence```",
	"a masked link":  "[fixture list](https://evil.example)",
	"a bare link":    "https://evil.example/a_b_c",
	"a heading":      "# HEADING",
	"a list":         "- item",
	"a quote":        "> quoted",
	"a block quote":  ">>> all quoted",
	"an override":    "abc \u202egnorw\u202c def",
	"isolates":       "\u2067abc\u2069 \u2066def",
	"nothing at all": "zero\u200bwidth\ufeffjoin\u2060er",
	"towers":         "Z" + strings.Repeat("\u0336\u0310\u0489", 30) + "algo",
	"a timestamp":    "<t:1700000000:R>",
	"a command":      "</sprain:123>",
	"a long line":    strings.Repeat("long ", 390),
}

var (
	rings    = regexp.MustCompile(`<@!?\d+>|@(everyone|here)\b`)
	formats  = regexp.MustCompile("(^|[^\\\\])(\\*\\*|__|~~|\\|\\||`|\\]\\()")
	starts   = regexp.MustCompile(`(?m)^(#{1,3} |- |> |>>> |-# )`)
	linked   = regexp.MustCompile(`https?://\S`)
	inside   = regexp.MustCompile(`(^|[^\\])</?(t:|\w+:\d)`)
	turns    = regexp.MustCompile("[\u202a-\u202e\u2066-\u2069\u200e\u200f\u061c\ufeff\u2060]")
	accounts = regexp.MustCompile(`\(account <@\d+>\)`) // of a claim's card, which rings nobody
)

// shownPlainly fails when something the bot said rings, is formatting, or hides what stands around it.
func shownPlainly(t *testing.T, m discordtest.Message) {
	t.Helper()
	texts := []string{m.Content}
	for _, e := range m.Embeds {
		texts = append(texts, e.Title, e.Description)
	}
	for _, text := range texts {
		text = accounts.ReplaceAllString(text, "")
		for what, r := range map[string]*regexp.Regexp{"rings": rings, "formats": formats, "starts a line with a mark": starts, "links": linked, "is read by Discord": inside, "turns or hides text": turns} {
			if hit := r.FindString(text); hit != "" {
				t.Errorf("%q %s in:\n%q", hit, what, text)
			}
		}
		run := 0
		for _, r := range text {
			if run++; !unicode.Is(unicode.Mn, r) && !unicode.Is(unicode.Me, r) {
				run = 0
			}
			if run > 4 {
				t.Errorf("a tower of marks in:\n%q", text)
				break
			}
		}
		if !utf8.ValidString(text) || len([]rune(text)) > 4096 {
			t.Errorf("a text of %d letters that is valid: %t", len([]rune(text)), utf8.ValidString(text))
		}
	}
	for _, row := range m.Rows {
		for _, b := range row {
			if turns.MatchString(b.Label) {
				t.Errorf("the button %q turns or hides text", b.Label)
			}
		}
	}
}

// What is typed into names, notes, reasons, causes and a form is shown as it is wherever the bot shows it, and
// rings nobody.
func TestTypedTextIsOnlyText(t *testing.T) {
	c := open(t, storetest.SQLite(t))
	c.g.BotRole().SetPermissions(discordtest.MentionEveryone | discordtest.ManageMessages) // so that it could ring
	c.medic.SetMentionable(true)
	c.coach.SetMentionable(true)
	c.lines("add 7 Mere Tau", "sprain 7 left "+cleared)
	names := slices.Sorted(func(yield func(string) bool) {
		for name := range typed {
			if !yield(name) {
				return
			}
		}
	})
	for n, name := range names {
		text := typed[name]
		c.answer(c.medical, func() { c.sam.Says(c.medical, "note 7: "+text) })
		c.answer(c.medical, func() { c.sam.Says(c.medical, "stay 7: "+text) })
		c.answer(c.medical, func() { c.sam.Says(c.medical, text) })
		c.answer(c.medical, func() { c.sam.Says(c.medical, "history "+text) })
		c.answer(c.medical, func() { c.sam.Says(c.medical, "add "+string(rune('3'+n%6))+string(rune('0'+n%10))+" "+text) })
		c.answer(c.medical, func() { c.sam.Says(c.medical, "unavailable 7 other note: "+text) })
		c.run(c.sam, c.medical, "stay", discordtest.Opts{"athlete": text})
		c.run(c.sam, c.medical, "stay", discordtest.Opts{"athlete": "7", "reason": text})
		i := c.sam.Slash(c.medical, "note", discordtest.Opts{"athlete": "7"})
		c.w.Wait("a form", i.Answered)
		c.final(c.sam.Submits(i, map[string]string{"text": text[:min(len(text), 900)]}))
	}
	c.answer(c.medical, func() {
		csv := "shirt,name,position\n"
		for n, name := range names {
			csv += string(rune('1'+n/10)) + string(rune('0'+n%10)) + ",\"Player " + strings.ReplaceAll(typed[name][:min(len(typed[name]), 40)], `"`, "") + "\",wing\n"
		}
		c.sam.Says(c.medical, "import", discordtest.File{Name: "squad.csv", Type: "text/csv", Data: []byte(strings.ToValidUTF8(csv, ""))})
	})
	c.lines("roster", "history 7", "clinic", "who")
	c.run(c.cleo, c.staff, "report", nil)
	seen := 0
	for _, ch := range []*discordtest.Channel{c.medical, c.staff, c.public, c.mez.DM()} {
		for _, u := range []*discordtest.User{c.sam, c.cleo} {
			for _, m := range u.Sees(ch) {
				if m.Author == c.w.Bot().Name {
					shownPlainly(t, m)
					seen++
				}
			}
		}
	}
	if seen < 9*len(names) {
		t.Errorf("only %d messages were looked at", seen)
	}
	for _, p := range c.w.Pings() {
		t.Errorf("%s was pinged", p.Who)
	}
	if v := c.w.Violations(); len(v) > 0 {
		t.Errorf("violations: %q", v)
	}
}
