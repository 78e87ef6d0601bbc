package protocol

import (
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// index maps every field of a TOML text to its line: "gate[1].criterion[0].test" → 412. The decoder
// knows positions only of what it rejects; faults of meaning need them too.
func index(text []byte) (map[string]int, error) {
	lines := map[string]int{}
	counts := map[string]int{}
	at := ""
	p := unstable.Parser{}
	p.Reset(text)
	for p.NextExpression() {
		n := p.Expression()
		switch n.Kind {
		case unstable.Table, unstable.ArrayTable:
			path, line := keyPath(&p, n, counts)
			if n.Kind == unstable.ArrayTable {
				i := counts[path]
				counts[path]++
				path = fmt.Sprintf("%s[%d]", path, i)
			}
			at = path
			lines[at] = line
		case unstable.KeyValue:
			keyValue(&p, n, at, lines)
		}
	}
	return lines, p.Error()
}

// keyValue records a key and what is written inside its value: "level = [{ dose = … }]".
func keyValue(p *unstable.Parser, n *unstable.Node, at string, lines map[string]int) {
	key, line := keyPath(p, n, nil)
	at = join(at, key)
	lines[at] = line
	inside(p, n.Value(), at, lines)
}

func inside(p *unstable.Parser, value *unstable.Node, at string, lines map[string]int) {
	i := 0
	for it := value.Children(); it.Next(); i++ {
		switch n := it.Node(); n.Kind {
		case unstable.KeyValue: // of an inline table
			keyValue(p, n, at, lines)
		case unstable.InlineTable: // of an array
			inside(p, n, fmt.Sprintf("%s[%d]", at, i), lines)
		}
	}
}

// keyPath spells an expression's key, placing it in the latest element of each array it passes.
func keyPath(p *unstable.Parser, n *unstable.Node, counts map[string]int) (string, int) {
	var parts []string
	line := 0
	for it := n.Key(); it.Next(); {
		k := it.Node()
		if line == 0 {
			line = p.Shape(k.Raw).Start.Line
		}
		parts = append(parts, string(k.Data))
	}
	path := ""
	for i, part := range parts {
		path = join(path, part)
		if c := counts[path]; c > 0 && i < len(parts)-1 {
			path = fmt.Sprintf("%s[%d]", path, c-1)
		}
	}
	return path, line
}

func join(path, key string) string {
	return strings.TrimPrefix(path+"."+key, ".")
}
