package discordtest

import (
	"encoding/json"
	"slices"
)

// Types of first answer (Interaction Response Object, Interaction Callback Type).
const (
	answerMessage      = 4
	answerLater        = 5
	answerUpdateLater  = 6
	answerUpdate       = 7
	answerAutocomplete = 8
	answerModal        = 9
)

// answer is Create Interaction Response. An unknown token, or one whose three seconds are over, is an
// unknown interaction; a second answer is refused.
func (w *World) answer(c *call) (reply, error) {
	i := w.interactions[c.PathValue("token")]
	switch {
	case i == nil || i.ID != c.PathValue("interaction"):
		return reply{}, errUnknownInteract
	case i.answer != 0:
		return reply{}, errAcknowledged
	case w.now.Sub(i.made) > AnswerWithin:
		return reply{}, errUnknownInteract
	}
	in, files, err := c.fields()
	if err != nil {
		return reply{}, err
	}
	kind, f := 0, &form{}
	in.into("type", &kind, f)
	if !i.takes(kind) {
		f.add("type", "BASE_TYPE_CHOICES", "This type of answer does not fit this interaction.")
	}
	if err := f.err(); err != nil {
		return reply{}, err
	}
	if err := i.first(kind, in["data"], files); err != nil {
		return reply{}, err
	}
	i.answer = kind
	if kind == answerAutocomplete {
		w.forgetInteraction(i)
	}
	if c.URL.Query().Get("with_response") != "true" {
		return done, nil
	}
	out := obj{"interaction": obj{"id": i.ID, "type": i.kind}}
	if i.original != nil {
		out["resource"] = obj{"type": kind, "message": i.original.json(true)}
	}
	return ok(out)
}

// takes says which answers an interaction may have: updates belong to components, suggestions to
// autocompletes, and a modal does not follow a modal.
func (i *Interaction) takes(kind int) bool {
	switch kind {
	case answerMessage, answerLater:
		return i.kind != kindAutocomplete
	case answerUpdateLater, answerUpdate:
		return i.source != nil
	case answerAutocomplete:
		return i.kind == kindAutocomplete
	case answerModal:
		return i.kind == kindCommand || i.kind == kindComponent
	}
	return false
}

// first carries out a first answer.
func (i *Interaction) first(kind int, data json.RawMessage, files []File) error {
	in := fields{}
	if len(data) > 0 && string(data) != "null" {
		var err error
		if in, err = jsonFields(data); err != nil {
			return err
		}
	}
	switch f := (&form{}); kind {
	case answerAutocomplete:
		in.into("choices", &i.choices, f)
		f.count("data.choices", len(i.choices), 0, 25)
		checkChoices(f, "data.choices", i.choices, i.focused)
		return f.err()
	case answerModal:
		var m modal
		if json.Unmarshal(data, &m) != nil {
			return errInvalidJSON
		}
		checkModal(f, m)
		if f.faults == nil {
			i.modal = &m
		}
		return f.err()
	case answerUpdateLater:
		i.original = i.source
		return nil
	}
	d, err := readDraft(in, files)
	if err != nil {
		return within50035(err, "data")
	}
	switch kind {
	case answerUpdate:
		i.original = i.source
		return i.update(d)
	case answerLater:
		i.deferred = true
	}
	m, err := i.message(d, i.deferred)
	i.original = m
	return err
}

// within50035 moves the faults of a form below a field of the body they were in.
func within50035(err error, field string) error {
	if r, ok := err.(*refusal); ok && r.errors != nil {
		return &refusal{r.status, r.code, r.message, obj{field: r.errors}}
	}
	return err
}

// message posts an answer or a follow-up. The permissions of the channel are not asked: the token is one.
func (i *Interaction) message(d *draft, loading bool) (*message, error) {
	m := &message{channel: i.channel, author: i.w.bot, sent: i.w.now, interaction: i}
	if d.flags&flagEphemeral != 0 {
		m.viewer, m.flags = i.user, flagEphemeral
	}
	m.id = i.w.id()
	if loading {
		m.flags |= flagLoading
	} else if err := d.apply(m); err != nil {
		return nil, err
	}
	m.mentionAll(false)
	i.w.post(m)
	return m, nil
}

// update edits the message an interaction belongs to.
func (i *Interaction) update(d *draft) error {
	m := i.original
	if m.channel.find(m.id) == nil {
		return errUnknownMessage
	}
	changed := *m
	if i.deferred {
		changed.flags &^= flagLoading
	}
	if err := d.apply(&changed); err != nil {
		return err
	}
	changed.mentionAll(m.notifies)
	*m = changed
	if !i.deferred {
		m.edit()
		return nil
	}
	i.deferred = false // the message arrives only now: it pings, and is not "edited" (from memory)
	i.w.ping(m)
	m.updated()
	return nil
}

// byToken finds an answered interaction whose token lives.
func (w *World) byToken(c *call) (*Interaction, error) {
	i := w.interactions[c.PathValue("token")]
	switch {
	case c.PathValue("app") != w.appID, i == nil, i.answer == 0: // from memory
		return nil, errUnknownWebhook
	case w.now.Sub(i.made) > TokenLife:
		return nil, errWebhookToken
	}
	return i, nil
}

// theirs finds the interaction's message a route names: @original or a follow-up.
func (w *World) theirs(c *call) (*Interaction, *message, error) {
	i, err := w.byToken(c)
	if err != nil {
		return nil, nil, err
	}
	m := i.original
	if id := c.PathValue("message"); id != "@original" && (m == nil || m.id != id) {
		n := slices.IndexFunc(i.followUps, func(m *message) bool { return m.id == id })
		if n < 0 {
			return nil, nil, errUnknownMessage
		}
		m = i.followUps[n]
	}
	if m == nil || m.channel.find(m.id) == nil {
		return nil, nil, errUnknownMessage
	}
	return i, m, nil
}

func (w *World) getAnswer(c *call) (reply, error) {
	_, m, err := w.theirs(c)
	if err != nil {
		return reply{}, err
	}
	return ok(m.json(true))
}

func (w *World) editAnswer(c *call) (reply, error) {
	i, m, err := w.theirs(c)
	if err != nil {
		return reply{}, err
	}
	if m != i.original {
		if err := m.change(c); err != nil {
			return reply{}, err
		}
		m.edit()
		return ok(m.json(true))
	}
	in, files, err := c.fields()
	if err != nil {
		return reply{}, err
	}
	d, err := readDraft(in, files)
	if err != nil {
		return reply{}, err
	}
	if err := i.update(d); err != nil {
		return reply{}, err
	}
	w.forgetInteraction(i)
	return ok(m.json(true))
}

func (w *World) deleteAnswer(c *call) (reply, error) {
	i, m, err := w.theirs(c)
	if err != nil {
		return reply{}, err
	}
	if m == i.original {
		i.deferred = false
	}
	m.delete()
	return done, nil
}

// followUp is Create Followup Message. The first one after a deferral fills in the deferred message instead.
func (w *World) followUp(c *call) (reply, error) {
	i, err := w.byToken(c)
	if err != nil {
		return reply{}, err
	}
	in, files, err := c.fields()
	if err != nil {
		return reply{}, err
	}
	d, err := readDraft(in, files)
	if err != nil {
		return reply{}, err
	}
	if i.deferred {
		if err := i.update(d); err != nil {
			return reply{}, err
		}
		return ok(i.original.json(true))
	}
	m, err := i.message(d, false)
	if err != nil {
		return reply{}, err
	}
	i.followUps = append(i.followUps, m)
	return ok(m.json(true))
}
