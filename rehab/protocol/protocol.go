// Package protocol loads the clinical content: a TOML file, checked as a whole before use. A file
// with any fault is refused, and every fault is named with its line and field.
package protocol

import (
	"bytes"
	"crypto/sha256"
	_ "embed" // the default protocol travels in the binary
	"encoding/hex"
	"errors"
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"footing/rehab"
)

//go:embed default.toml
var defaultTOML []byte

// DefaultName is the file name under which faults of the embedded protocol are reported.
const DefaultName = "default.toml"

// DefaultText returns a copy of the embedded protocol file.
func DefaultText() []byte { return bytes.Clone(defaultTOML) }

// Default loads the embedded protocol.
func Default() (*rehab.Protocol, error) { return Load(DefaultName, defaultTOML) }

// Fault is one thing wrong with a protocol file.
type Fault struct {
	File  string
	Line  int
	Field string // "gate[1].criterion[2].test"
	Says  string
}

func (f Fault) Error() string {
	return fmt.Sprintf("%s:%d: %s: %s", f.File, f.Line, f.Field, f.Says)
}

// Faults is everything wrong with a protocol file, in the order of the file.
type Faults []Fault

func (fs Faults) Error() string {
	lines := make([]string, len(fs))
	for i, f := range fs {
		lines[i] = f.Error()
	}
	return strings.Join(lines, "\n")
}

// Load reads and checks a protocol. The error is a Faults unless the file is not TOML at all past
// some line, in which case it holds that one fault.
func Load(file string, text []byte) (*rehab.Protocol, error) {
	p := &rehab.Protocol{}
	d := toml.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	var faults Faults
	var strict *toml.StrictMissingError
	var decode *toml.DecodeError
	switch err := d.Decode(p); {
	case errors.As(err, &strict):
		for _, e := range strict.Errors {
			line, _ := e.Position()
			faults = append(faults, Fault{file, line, strings.Join(e.Key(), "."), "no such field"})
		}
	case errors.As(err, &decode):
		line, _ := decode.Position()
		return nil, Faults{{file, line, strings.Join(decode.Key(), "."), decode.Error()}}
	case err != nil:
		return nil, Faults{{file, 1, "file", err.Error()}}
	}
	assemble(p)
	c := &checker{file: file, p: p, faults: faults}
	c.check()
	if len(c.faults) > 0 {
		lines, err := index(text)
		if err != nil {
			return nil, fmt.Errorf("indexing %s: %w", file, err)
		}
		c.locate(lines)
		return nil, c.faults
	}
	sum := sha256.Sum256(text)
	p.Hash = hex.EncodeToString(sum[:])
	return p, nil
}

// assemble gives each test that is worked out from others those others.
func assemble(p *rehab.Protocol) {
	for i, t := range p.Tests {
		for _, key := range t.Of {
			if part, ok := p.Test(key); ok && len(part.Of) == 0 {
				p.Tests[i].Parts = append(p.Tests[i].Parts, part)
			}
		}
	}
}
