package discordtest

import (
	"bytes"
	"encoding/json"
	"io"
	"mime"
	"mime/multipart"
	"strings"
)

// fields are the members of a JSON object that were sent, null included.
type fields map[string]json.RawMessage

// has says whether a field was sent as something other than null.
func (f fields) has(key string) bool { return len(f[key]) > 0 && string(f[key]) != "null" }

// sent says whether a field was sent at all; null clears (Edit Message: "optional and nullable").
func (f fields) sent(key string) bool { return len(f[key]) > 0 }

// into decodes a field, if it was sent, and records a wrong type.
func (f fields) into(key string, v any, form *form) {
	if f.has(key) && json.Unmarshal(f[key], v) != nil {
		form.add(key, "BASE_TYPE_CONVERT", "Could not interpret the value.")
	}
}

// fields reads a JSON or multipart body (API Reference, Uploading Files).
func (c *call) fields() (fields, []File, error) {
	kind, params, err := mime.ParseMediaType(c.Header.Get("Content-Type"))
	switch {
	case err == nil && kind == "multipart/form-data":
		return multipartFields(c.body, params["boundary"])
	case err != nil || kind != "application/json":
		return nil, nil, errInvalidJSON
	}
	f, err := jsonFields(c.body)
	return f, nil, err
}

func jsonFields(data []byte) (fields, error) {
	var f fields
	if err := json.Unmarshal(data, &f); err != nil {
		return nil, errInvalidJSON
	}
	return f, nil
}

func multipartFields(body []byte, boundary string) (fields, []File, error) {
	out, files := fields{}, []File{}
	for r := multipart.NewReader(bytes.NewReader(body), boundary); ; {
		part, err := r.NextPart()
		if err == io.EOF {
			return out, files, nil
		}
		if err != nil {
			return nil, nil, errInvalidJSON
		}
		data, err := io.ReadAll(part)
		if err != nil {
			return nil, nil, errInvalidJSON
		}
		switch name := part.FormName(); {
		case name == "payload_json":
			if out, err = jsonFields(data); err != nil {
				return nil, nil, err
			}
		case strings.HasPrefix(name, "file"):
			files = append(files, File{Name: part.FileName(), Type: part.Header.Get("Content-Type"), Data: data})
		}
	}
}

// draft is a message as a client asks for it.
type draft struct {
	fields
	content    string
	embeds     []obj
	components []obj
	flags      int
	allowed    *allowedMentions
	nonce      any
	enforce    bool
	reference  *struct {
		MessageID       string `json:"message_id"`
		FailIfNotExists *bool  `json:"fail_if_not_exists"`
	}
	keep []struct{ ID any } // attachments that an edit keeps
	new  []File
}

// draft reads and checks a message's fields.
func readDraft(in fields, files []File) (*draft, error) {
	d, f := &draft{fields: in, new: files}, &form{}
	in.into("content", &d.content, f)
	in.into("embeds", &d.embeds, f)
	in.into("components", &d.components, f)
	in.into("flags", &d.flags, f)
	in.into("allowed_mentions", &d.allowed, f)
	in.into("nonce", &d.nonce, f)
	in.into("enforce_nonce", &d.enforce, f)
	in.into("message_reference", &d.reference, f)
	in.into("attachments", &d.keep, f)
	d.content = trimmed(d.content)
	for _, file := range files {
		if len(file.Data) > maxFile {
			return nil, errTooLarge
		}
	}
	d.check(f)
	return d, f.err()
}

// maxFile is the largest file where nobody pays for more (API Reference, Uploading Files).
const maxFile = 10 << 20

// apply puts what was sent into a message, and leaves the rest as it was.
func (d *draft) apply(m *message) error {
	if d.sent("content") {
		m.content = d.content
	}
	if d.sent("embeds") {
		m.embeds = d.embeds
	}
	if d.sent("components") {
		m.gone = append(m.gone, m.components...)
		m.components = d.components
	}
	if d.has("allowed_mentions") {
		m.allowed = d.allowed
	}
	if d.sent("attachments") {
		m.files = d.kept(m.files)
	}
	m.flags = m.flags&^flagSuppressEmbeds | d.flags&(flagSuppressEmbeds|flagSilent)
	if m.content == "" && len(m.embeds) == 0 && len(m.files)+len(d.new) == 0 {
		return errEmptyMessage
	}
	m.attach(d.new)
	return nil
}

// kept are the attachments an edit lists; those it leaves out are removed (Edit Message).
func (d *draft) kept(have []attachment) []attachment {
	var out []attachment
	for _, a := range have {
		for _, k := range d.keep {
			if k.ID == a.id {
				out = append(out, a)
			}
		}
	}
	return out
}
