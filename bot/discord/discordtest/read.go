package discordtest

import (
	"encoding/json"
	"slices"
	"time"
)

// Message is a message as a reader sees it.
type Message struct {
	ID        string
	Author    string // a user's name
	Content   string
	Embeds    []Embed
	Rows      [][]Component
	Files     []File
	ReplyTo   string // the id of the message it answers
	Sent      time.Time
	Edited    time.Time // zero when never edited
	Ephemeral bool
	Thinking  bool // a deferred answer that has not come
	Silenced  bool // allowed_mentions were given, and allow none
}

// Embed is an embed's text.
type Embed struct {
	Title, Description, URL string
	Color                   int
	Fields                  []EmbedField
	Footer                  struct{ Text string }
	Image                   struct{ URL string }
}

// EmbedField is one field of an embed.
type EmbedField struct {
	Name, Value string
	Inline      bool
}

// Component is a button or a select menu.
type Component struct {
	CustomID, Label, URL, Placeholder string
	Style                             int // of a button
	Select, Disabled                  bool
	Options                           []Choice // of a select menu
}

// Choice is something to choose, in a select menu or while an option completes itself.
type Choice struct {
	Name  string
	Value any
}

// Messages is what stands in the channel now, oldest first, without what only single people see.
func (c *Channel) Messages() []Message {
	return c.view(func(m *message) bool { return m.viewer == nil })
}

// Last is the newest of Messages; the zero Message when there are none.
func (c *Channel) Last() Message {
	if all := c.Messages(); len(all) > 0 {
		return all[len(all)-1]
	}
	return Message{}
}

// Sees is what the user sees in a channel now, oldest first: ephemeral answers to them included, nothing
// where they may not look.
func (u *User) Sees(c *Channel) []Message {
	return c.view(func(m *message) bool { return m.visibleTo(u) && c.can(u, ViewChannel) })
}

func (c *Channel) view(see func(*message) bool) []Message {
	c.w.mu.Lock()
	defer c.w.mu.Unlock()
	var out []Message
	for _, m := range c.messages {
		if !c.deleted && see(m) {
			out = append(out, m.view())
		}
	}
	return out
}

func (m *message) view() Message {
	v := Message{ID: m.id, Author: m.author.Name, Content: m.content, ReplyTo: m.replyTo, Sent: m.sent, Edited: m.edited,
		Ephemeral: m.viewer != nil, Thinking: m.flags&flagLoading != 0}
	if a := m.allowed; a != nil {
		v.Silenced = len(a.Parse)+len(a.Users)+len(a.Roles) == 0 && !a.RepliedUser
	}
	_ = json.Unmarshal(encode(m.embeds), &v.Embeds)
	for _, row := range rows(m.components) {
		var r []Component
		for _, c := range row.Components {
			x := Component{CustomID: c.CustomID, Label: c.Label, URL: c.URL, Placeholder: c.Placeholder, Style: c.Style,
				Select: c.Type != typeButton, Disabled: c.Disabled}
			for _, o := range c.Options {
				x.Options = append(x.Options, Choice{o.Label, o.Value})
			}
			r = append(r, x)
		}
		v.Rows = append(v.Rows, r)
	}
	for _, f := range m.files {
		v.Files = append(v.Files, f.File)
	}
	return v
}

// Buttons are the custom ids of a message's working components, row by row.
func (m Message) Buttons() []string {
	var out []string
	for _, row := range m.Rows {
		for _, c := range row {
			if c.CustomID != "" && !c.Disabled {
				out = append(out, c.CustomID)
			}
		}
	}
	return out
}

// Answered says whether the interaction has its first answer, a deferral included.
func (i *Interaction) Answered() bool { return i.AnswerType() != 0 }

// AnswerType is the type of the first answer (4 to 9), or 0 while there is none.
func (i *Interaction) AnswerType() int {
	i.w.mu.Lock()
	defer i.w.mu.Unlock()
	return i.answer
}

// Failed says whether the user reads "This interaction failed": three seconds without an answer.
func (i *Interaction) Failed() bool {
	i.w.mu.Lock()
	defer i.w.mu.Unlock()
	return i.answer == 0 && i.w.now.Sub(i.made) > AnswerWithin
}

// Answer is the message that answers the interaction, or that it updated, and whether there is one that has
// arrived: a deferred answer still thinking is none.
func (i *Interaction) Answer() (Message, bool) {
	i.w.mu.Lock()
	defer i.w.mu.Unlock()
	m := i.original
	if m == nil || m.channel.find(m.id) == nil || m.flags&flagLoading != 0 {
		return Message{}, false
	}
	return m.view(), true
}

// FollowUps are the follow-up messages that still stand, oldest first.
func (i *Interaction) FollowUps() []Message {
	i.w.mu.Lock()
	defer i.w.mu.Unlock()
	var out []Message
	for _, m := range i.followUps {
		if m.channel.find(m.id) != nil {
			out = append(out, m.view())
		}
	}
	return out
}

// Choices are the suggestions an autocomplete was answered with.
func (i *Interaction) Choices() []Choice {
	i.w.mu.Lock()
	defer i.w.mu.Unlock()
	var out []Choice
	for _, c := range i.choices {
		out = append(out, Choice(c))
	}
	return out
}

// Modal is the open modal's title and, in order, the custom ids of its inputs; ok is false while none is open.
func (i *Interaction) Modal() (title string, inputs []string, ok bool) {
	i.w.mu.Lock()
	defer i.w.mu.Unlock()
	if i.modal == nil {
		return "", nil, false
	}
	for _, row := range i.modal.Components {
		inputs = append(inputs, row.Components[0].CustomID)
	}
	return i.modal.Title, inputs, true
}

// Commands are the names of the registered commands of a guild, or of the global ones when g is nil, sorted.
func (w *World) Commands(g *Guild) []string {
	w.mu.Lock()
	defer w.mu.Unlock()
	id := ""
	if g != nil {
		id = g.ID
	}
	var out []string
	for _, c := range w.commands[id] {
		out = append(out, c.Name)
	}
	slices.Sort(out)
	return out
}
