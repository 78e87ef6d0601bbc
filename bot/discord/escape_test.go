package discord

import "testing"

// Nothing typed is formatting, a mention or a link; marks as in Discord's documentation of markdown and of
// message formatting.
func TestNothingTypedIsInterpreted(t *testing.T) {
	for typed, want := range map[string]string{
		"**sore** _today_":          `\*\*sore\*\* \_today\_`,
		"`code` ~~no~~ ||secret||":  "\\`code\\` \\~\\~no\\~\\~ \\|\\|secret\\|\\|",
		"# heading\n- list\n> said": "\\# heading\n\\- list\n\\> said",
		"@everyone <@123> <@&45>":   "@\u200beveryone \\<@\u200b123> <@&45>",
		"[a](http://x)":             "\\[a\\](http:\u200b//x)",
		"asked <@7>, not <@77> *":   "asked <@7>, not \\<@\u200b77> \\*",
		"<#12>*":                    "<#12>\\*",
		"7 Mere Tau, left: 9.5 cm":  "7 Mere Tau, left: 9.5 cm",
	} {
		if got := escape(typed, "7"); got != want {
			t.Errorf("%q is shown as %q, want %q", typed, got, want)
		}
	}
}
