package discordtest

import (
	"fmt"
	"strconv"
)

// Component types (Component Reference, Component Types).
const (
	typeRow    = 1
	typeButton = 2
	typeSelect = 3
	typeInput  = 4
)

// component is any component, as sent.
type component struct {
	Type, Style                    int
	Label, URL, Placeholder, Value string
	CustomID                       string `json:"custom_id"`
	Disabled                       bool
	Emoji                          *struct{ Name, ID string }
	Options                        []selectOption
	MinValues                      *int `json:"min_values"`
	MaxValues                      *int `json:"max_values"`
	MinLength                      *int `json:"min_length"`
	MaxLength                      *int `json:"max_length"`
	Required                       *bool
	Components                     []component
}

type selectOption struct {
	Label, Value, Description string
	Default                   bool
}

// checkRows follows Component Reference: up to 5 action rows, each with up to 5 buttons or one select, and
// no custom_id twice.
func checkRows(f *form, rows []component) {
	f.count("components", len(rows), 0, 5)
	seen := map[string]bool{}
	for i, row := range rows {
		at := fmt.Sprintf("components.%d", i)
		if row.Type != typeRow {
			f.add(at+".type", "UNION_TYPE_CHOICES", "Value of field \"type\" must be one of (1,).")
			continue
		}
		f.count(at+".components", len(row.Components), 1, 5)
		for j, c := range row.Components {
			at := fmt.Sprintf("%s.components.%d", at, j)
			f.custom(at, c, seen)
			switch {
			case c.Type == typeButton:
				f.button(at, c)
			case c.Type == typeSelect || c.Type >= 5 && c.Type <= 8:
				f.selectMenu(at, c)
				if len(row.Components) > 1 {
					f.add(at, "COMPONENT_LAYOUT_WIDTH_EXCEEDED", "The specified component exceeds the maximum width")
				}
			default:
				f.add(at+".type", "UNION_TYPE_CHOICES", "Value of field \"type\" must be one of (2, 3, 5, 6, 7, 8).")
			}
		}
	}
}

// custom checks a custom_id: 1 to 100 characters, once per message (Component Reference, Custom ID).
func (f *form) custom(at string, c component, seen map[string]bool) {
	if c.Type == typeButton && c.Style == 5 {
		return
	}
	f.length(join(at, "custom_id"), c.CustomID, 1, 100)
	if seen[c.CustomID] {
		f.add(join(at, "custom_id"), "COMPONENT_CUSTOM_ID_DUPLICATED", "Component custom id cannot be duplicated")
	}
	seen[c.CustomID] = true
}

// button follows Component Reference, Button Structure.
func (f *form) button(at string, c component) {
	f.length(at+".label", c.Label, 0, 80)
	if c.Label == "" && c.Emoji == nil { // from memory
		f.add(at, "BUTTON_COMPONENT_NO_LABEL_OR_EMOJI", "A label or emoji is required")
	}
	switch link := c.Style == 5; {
	case c.Style < 1 || c.Style > 5: // 6 buys something, which is not modelled
		f.add(at+".style", "BASE_TYPE_CHOICES", "Value must be one of {1, 2, 3, 4, 5, 6}.")
	case link && c.URL == "":
		f.add(at+".url", "BASE_TYPE_REQUIRED", "This field is required")
	case link && c.CustomID != "" || !link && c.URL != "":
		f.add(at, "BUTTON_COMPONENT_CUSTOM_ID_AND_URL", "A custom id and url cannot both be specified")
	}
	f.length(at+".url", c.URL, 0, 512)
}

// selectMenu follows Component Reference, String Select Structure and Select Option Structure.
func (f *form) selectMenu(at string, c component) {
	f.length(at+".placeholder", c.Placeholder, 0, 150)
	least, most := value(c.MinValues, 1), value(c.MaxValues, 1)
	if least < 0 || least > 25 || most < 1 || most > 25 || least > most {
		f.add(at+".max_values", "BASE_TYPE_BAD_RANGE", "The range must lie between 0 and 25.")
	}
	if c.Type != typeSelect {
		return
	}
	f.count(at+".options", len(c.Options), 1, 25)
	if most > len(c.Options) { // from memory
		f.add(at+".max_values", "NUMBER_TYPE_MAX", "max_values is larger than the number of options.")
	}
	seen := map[string]bool{}
	for i, o := range c.Options {
		at := at + ".options." + strconv.Itoa(i)
		f.length(at+".label", o.Label, 1, 100)
		f.length(at+".value", o.Value, 1, 100)
		f.length(at+".description", o.Description, 0, 100)
		if seen[o.Value] {
			f.add(at+".value", "SELECT_COMPONENT_OPTION_VALUE_DUPLICATED", "The specified option value is already used")
		}
		seen[o.Value] = true
	}
}

// modal is the data of a modal answer.
type modal struct {
	CustomID   string `json:"custom_id"`
	Title      string
	Components []component
}

// checkModal follows Interaction Callback Data, Modal, and Component Reference, Text Input Structure. Labels
// exist there as well, but the client library cannot read what comes back from them.
func checkModal(f *form, m modal) {
	f.length("data.custom_id", m.CustomID, 1, 100)
	f.length("data.title", m.Title, 1, 45)
	f.count("data.components", len(m.Components), 1, 5)
	seen := map[string]bool{}
	for i, row := range m.Components {
		at := fmt.Sprintf("data.components.%d", i)
		if row.Type != typeRow {
			f.add(at+".type", "UNION_TYPE_CHOICES", "The stand-in takes action rows (1) here.")
			continue
		}
		f.count(at+".components", len(row.Components), 1, 1)
		for j, c := range row.Components {
			at := fmt.Sprintf("%s.components.%d", at, j)
			f.custom(at, c, seen)
			f.input(at, c)
		}
	}
}

// input checks a text input.
func (f *form) input(at string, c component) {
	if c.Type != typeInput {
		f.add(at+".type", "UNION_TYPE_CHOICES", "Value of field \"type\" must be one of (4,).")
		return
	}
	if c.Style != 1 && c.Style != 2 {
		f.add(at+".style", "BASE_TYPE_CHOICES", "Value must be one of {1, 2}.")
	}
	f.length(at+".label", c.Label, 1, 45)
	f.length(at+".placeholder", c.Placeholder, 0, 100)
	f.length(at+".value", c.Value, 0, 4000)
	least, most := value(c.MinLength, 0), value(c.MaxLength, 4000)
	if least < 0 || least > 4000 || most < 1 || most > 4000 || least > most {
		f.add(at+".max_length", "BASE_TYPE_BAD_RANGE", "Lengths must lie between 0 and 4000.")
	}
	if n := len([]rune(c.Value)); c.Value != "" && (n < least || n > most) { // from memory
		f.badLength(at+".value", least, most)
	}
}

// value is a number or what it defaults to.
func value(p *int, otherwise int) int {
	if p == nil {
		return otherwise
	}
	return *p
}
