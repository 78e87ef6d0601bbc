package discordtest

import (
	"encoding/json"
	"fmt"
	"slices"
)

// command is an application command as registered.
type command struct {
	schema
	id, version, guild string
	raw                obj
}

func (c *command) json() obj {
	out := obj{}
	for k, v := range c.raw {
		out[k] = v
	}
	out["id"], out["version"], out["type"] = c.id, c.version, max(1, c.Type)
	if c.guild != "" {
		out["guild_id"] = c.guild
	}
	return out
}

// scope says whose commands a route is about: a guild's, or the global ones ("").
func (w *World) scope(c *call) (string, error) {
	if c.PathValue("app") != w.appID {
		return "", errUnknownApp
	}
	id := c.PathValue("guild")
	if id == "" {
		return "", nil
	}
	if _, err := w.guild(c); err != nil {
		return "", errMissingAccess // from memory
	}
	return id, nil
}

func (w *World) getCommands(c *call) (reply, error) {
	guild, err := w.scope(c)
	if err != nil {
		return reply{}, err
	}
	return ok(w.commandsJSON(guild))
}

func (w *World) commandsJSON(guild string) []obj {
	out := []obj{}
	for _, c := range w.commands[guild] {
		o := c.json()
		o["application_id"] = w.appID
		out = append(out, o)
	}
	return out
}

// putCommands replaces all (Bulk Overwrite Application Commands); names that stay keep their ids.
func (w *World) putCommands(c *call) (reply, error) {
	guild, err := w.scope(c)
	if err != nil {
		return reply{}, err
	}
	var raw []obj
	if json.Unmarshal(c.body, &raw) != nil {
		return reply{}, errInvalidJSON
	}
	if len(raw) > 100 {
		return reply{}, errTooManyCommands
	}
	f, seen := &form{}, map[string]bool{}
	var all []*command
	for i, r := range raw {
		x := w.readCommand(f, fmt.Sprint(i), r, guild)
		if key := fmt.Sprint(x.Type, x.Name); seen[key] {
			f.add(fmt.Sprint(i, ".name"), "APPLICATION_COMMANDS_DUPLICATE_NAME", "Application command names must be unique")
		} else {
			seen[key] = true
		}
		all = append(all, x)
	}
	if err := f.err(); err != nil {
		return reply{}, err
	}
	w.commands[guild] = all
	return ok(w.commandsJSON(guild))
}

// postCommand adds one, or replaces the one of the same name (Create Global Application Command).
func (w *World) postCommand(c *call) (reply, error) {
	guild, err := w.scope(c)
	if err != nil {
		return reply{}, err
	}
	var raw obj
	if json.Unmarshal(c.body, &raw) != nil {
		return reply{}, errInvalidJSON
	}
	f := &form{}
	x := w.readCommand(f, "", raw, guild)
	if err := f.err(); err != nil {
		return reply{}, err
	}
	have := w.commands[guild]
	if i := slices.IndexFunc(have, x.same); i >= 0 {
		have[i] = x
		return ok(x.json())
	}
	if len(have) >= 100 {
		return reply{}, errTooManyCommands
	}
	w.commands[guild] = append(have, x)
	return reply{201, x.json()}, nil
}

// patchCommand changes the fields that were sent (Edit Global Application Command).
func (w *World) patchCommand(c *call) (reply, error) {
	guild, i, err := w.commandAt(c)
	if err != nil {
		return reply{}, err
	}
	var change obj
	if json.Unmarshal(c.body, &change) != nil {
		return reply{}, errInvalidJSON
	}
	raw := obj{}
	for _, from := range []obj{w.commands[guild][i].raw, change} {
		for k, v := range from {
			raw[k] = v
		}
	}
	f := &form{}
	x := w.readCommand(f, "", raw, guild)
	if err := f.err(); err != nil {
		return reply{}, err
	}
	x.id = w.commands[guild][i].id
	w.commands[guild][i] = x
	return ok(x.json())
}

func (w *World) deleteCommand(c *call) (reply, error) {
	guild, i, err := w.commandAt(c)
	if err != nil {
		return reply{}, err
	}
	w.commands[guild] = slices.Delete(w.commands[guild], i, i+1)
	return done, nil
}

func (w *World) commandAt(c *call) (string, int, error) {
	guild, err := w.scope(c)
	if err != nil {
		return "", 0, err
	}
	i := slices.IndexFunc(w.commands[guild], func(x *command) bool { return x.id == c.PathValue("command") })
	if i < 0 {
		return "", 0, errUnknownCommand
	}
	return guild, i, nil
}

// readCommand checks a command and gives it an id, its old one if there is a command of that name.
func (w *World) readCommand(f *form, at string, raw obj, guild string) *command {
	x := &command{raw: raw, guild: guild, version: w.id()}
	if json.Unmarshal(encode(raw), &x.schema) != nil {
		f.add(join(at, "name"), "BASE_TYPE_CONVERT", "Could not interpret the value.")
		return x
	}
	x.Type = max(1, x.Type)
	x.schema.check(f, at)
	if i := slices.IndexFunc(w.commands[guild], x.same); i >= 0 {
		x.id = w.commands[guild][i].id
	} else {
		x.id = w.id()
	}
	return x
}

func (c *command) same(x *command) bool { return x.Name == c.Name && x.Type == c.Type }
