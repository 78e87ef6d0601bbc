package discordtest

import (
	"slices"
	"unicode/utf8"
)

// filled is a slash command's form with the user's options in it.
type filled struct {
	u        *User
	c        *Channel
	data     obj
	resolved obj
	focused  int // type of the option being typed
}

// fill does what Discord's app does with a command before it sends it: offers only what is declared, and
// insists on it. While an option is being typed (focused), nothing is required yet.
func (u *User) fill(c *Channel, name string, given Opts, focused string) *filled {
	name, path := words(name)
	x := u.command(c, name)
	f := &filled{u: u, c: c, resolved: obj{}}
	f.data = obj{"id": x.id, "name": x.Name, "type": 1}
	if x.guild != "" {
		f.data["guild_id"] = x.guild
	}
	if options := f.level(x.Options, path, given, focused); len(options) > 0 {
		f.data["options"] = options
	}
	if len(f.resolved) > 0 {
		f.data["resolved"] = f.resolved
	}
	return f
}

// level fills in one level of options, going down the path of subcommands.
func (f *filled) level(options []option, path []string, given Opts, focused string) []obj {
	w := f.u.w
	if len(options) > 0 && (options[0].Type == optSubcommand || options[0].Type == optGroup) {
		for _, o := range options {
			if len(path) > 0 && o.Name == path[0] {
				return []obj{{"name": o.Name, "type": o.Type, "options": f.level(o.Options, path[1:], given, focused)}}
			}
		}
		w.mistake("no such subcommand: %v", path)
	}
	if len(path) > 0 {
		w.mistake("no such subcommand: %v", path)
	}
	out := []obj{}
	for _, o := range options {
		v, has := given[o.Name]
		switch {
		case !has && o.Required && focused == "":
			w.mistake("option %q is required", o.Name)
		case has && o.Name == focused:
			if !o.Autocomplete {
				w.mistake("option %q does not complete itself", o.Name)
			}
			f.focused = o.Type
			out = append(out, obj{"name": o.Name, "type": o.Type, "value": v, "focused": true})
		case has:
			out = append(out, obj{"name": o.Name, "type": o.Type, "value": f.value(o, v)})
		}
	}
	for name := range given {
		if !slices.ContainsFunc(options, func(o option) bool { return o.Name == name }) {
			w.mistake("the command has no option %q", name)
		}
	}
	return out
}

// value checks one option's value and turns it into what is sent.
func (f *filled) value(o option, v any) any {
	w := f.u.w
	if len(o.Choices) > 0 {
		for _, c := range o.Choices {
			if c.Value == v || c.Name == v || c.Value == number(v) {
				return c.Value
			}
		}
		w.mistake("option %q does not offer %v", o.Name, v)
	}
	switch x := v.(type) {
	case string:
		n := utf8.RuneCountInString(x)
		if o.Type == optString && n > 0 && n >= value(o.MinLength, 0) && n <= value(o.MaxLength, 6000) {
			return x
		}
	case bool:
		if o.Type == optBoolean {
			return x
		}
	case int, float64:
		n := number(x)
		whole := n == float64(int64(n.(float64)))
		if (o.Type == optNumber || o.Type == optInteger && whole) && within(n.(float64), o.MinValue, o.MaxValue) {
			return n
		}
	case *User:
		if o.Type == optUser {
			return f.resolve("users", x.ID, x.json())
		}
	case *Channel:
		if o.Type == optChannel {
			return f.resolve("channels", x.ID, x.json())
		}
	case *Role:
		if o.Type == optRole {
			return f.resolve("roles", x.ID, x.json())
		}
	case File:
		if o.Type == optAttachment { // Resolved Data Structure: attachments by id
			m := &message{channel: f.c}
			m.attach([]File{x})
			return f.resolve("attachments", m.files[0].id, m.attachmentsJSON()[0])
		}
	}
	w.mistake("the app does not take %v for option %q", v, o.Name)
	return nil
}

// resolve adds an object to the resolved data and returns its id.
func (f *filled) resolve(kind, id string, o obj) string {
	of, _ := f.resolved[kind].(obj)
	if of == nil {
		of = obj{}
		f.resolved[kind] = of
	}
	of[id] = o
	if g := f.c.guild; kind == "users" && g != nil && g.members[id] != nil {
		member := g.memberJSON(g.members[id].user)
		delete(member, "user")
		f.resolve("members", id, member)
	}
	return id
}

// number is a whole number as JSON has it; other values stay.
func number(v any) any {
	if n, ok := v.(int); ok {
		return float64(n)
	}
	return v
}

func within(n float64, least, most *float64) bool {
	return (least == nil || n >= *least) && (most == nil || n <= *most)
}
