package discordtest

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// check holds a message against the limits of Create Message. Lengths count code points (from memory).
func (d *draft) check(f *form) {
	f.length("content", d.content, 0, 2000)
	f.count("files", len(d.new), 0, 10) // from memory
	f.count("embeds", len(d.embeds), 0, 10)
	checkEmbeds(f, d.embeds)
	if d.flags&flagComponentsV2 != 0 {
		f.add("flags", "STAND_IN", "Components V2 are not modelled by the stand-in.")
	}
	var rows []component
	d.into("components", &rows, f)
	checkRows(f, rows)
	switch n := d.nonce.(type) {
	case nil, float64:
	case string:
		if utf8.RuneCountInString(n) > 25 {
			f.length("nonce", n, 0, 25)
		}
	default:
		f.add("nonce", "BASE_TYPE_CONVERT", "Could not interpret the value.")
	}
	d.allowed.check(f)
}

// check holds allowed mentions against their rules (Allowed Mentions, Validation Errors and limits).
func (a *allowedMentions) check(f *form) {
	if a == nil {
		return
	}
	f.count("allowed_mentions.users", len(a.Users), 0, 100)
	f.count("allowed_mentions.roles", len(a.Roles), 0, 100)
	for _, p := range a.Parse {
		if !slices.Contains([]string{"users", "roles", "everyone"}, p) {
			f.add("allowed_mentions.parse", "BASE_TYPE_CHOICES", "Value must be one of {'users', 'roles', 'everyone'}.")
		}
	}
	for name, ids := range map[string][]string{"users": a.Users, "roles": a.Roles} {
		if len(ids) > 0 && slices.Contains(a.Parse, name) {
			f.add("allowed_mentions", "MESSAGE_ALLOWED_MENTIONS_PARSE_EXCLUSIVE", fmt.Sprintf("parse:[%q] and %s: [ids...] are mutually exclusive.", name, name))
		}
	}
}

type embed struct {
	Title, Description string
	Fields             []struct{ Name, Value string }
	Footer             *struct{ Text string }
	Author             *struct{ Name string }
	Image, Thumbnail   *struct{ URL string }
}

// checkEmbeds follows Message Resource, Embed Limits; the sum counts over all embeds of the message.
func checkEmbeds(f *form, raw []obj) {
	total := 0
	for i, r := range raw {
		var e embed
		at := fmt.Sprintf("embeds.%d.", i)
		if json.Unmarshal(encode(r), &e) != nil {
			f.add(at+"title", "BASE_TYPE_CONVERT", "Could not interpret the value.")
			continue
		}
		for _, p := range []*string{&e.Title, &e.Description} {
			*p = trimmed(*p) // "leading and trailing whitespace characters will be automatically trimmed"
		}
		total += f.text(at+"title", e.Title, 0, 256) + f.text(at+"description", e.Description, 0, 4096)
		f.count(at+"fields", len(e.Fields), 0, 25)
		for j, x := range e.Fields {
			at := fmt.Sprintf("%sfields.%d.", at, j)
			total += f.text(at+"name", trimmed(x.Name), 1, 256) + f.text(at+"value", trimmed(x.Value), 1, 1024)
		}
		if e.Footer != nil {
			total += f.text(at+"footer.text", e.Footer.Text, 0, 2048)
		}
		if e.Author != nil {
			total += f.text(at+"author.name", e.Author.Name, 0, 256)
		}
		if e.Title+e.Description == "" && len(e.Fields) == 0 && e.Footer == nil && e.Author == nil && e.Image == nil && e.Thumbnail == nil {
			f.add(at+"description", "BASE_TYPE_REQUIRED", "This field is required") // from memory
		}
	}
	if total > 6000 {
		f.add("embeds", "MAX_EMBED_SIZE_EXCEEDED", "Embed size exceeds maximum size of 6000")
	}
}

// text checks a text and counts it.
func (f *form) text(path, s string, least, most int) int {
	f.length(path, s, least, most)
	return utf8.RuneCountInString(s)
}

func join(path, field string) string { return strings.TrimPrefix(path+"."+field, ".") }
