package protocol

import (
	"fmt"
	"sort"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// index maps every field of a TOML text to its line: "gate[1].criterion[0].test" → 412. The decoder
// knows positions only of what it rejects; faults of meaning need them too.
func index(text []byte) (map[string]int, error) {
	x := indexer{lines: map[string]int{}, counts: map[string]int{}}
	for i, b := range text { // the parser could tell a line, by counting from the top for each key
		if b == '\n' {
			x.ends = append(x.ends, i)
		}
	}
	at := ""
	p := unstable.Parser{}
	p.Reset(text)
	for p.NextExpression() {
		n := p.Expression()
		switch n.Kind {
		case unstable.Table, unstable.ArrayTable:
			path, line := x.keyPath(n, true)
			if n.Kind == unstable.ArrayTable {
				i := x.counts[path]
				x.counts[path]++
				path = fmt.Sprintf("%s[%d]", path, i)
			}
			at = path
			x.lines[at] = line
		case unstable.KeyValue:
			x.keyValue(n, at)
		}
	}
	return x.lines, p.Error()
}

type indexer struct {
	lines  map[string]int
	counts map[string]int // elements so far of each array of tables
	ends   []int          // where each line ends
}

// keyValue records a key and the keys written inside its value: "level = [{ dose = … }]".
func (x *indexer) keyValue(n *unstable.Node, at string) {
	key, line := x.keyPath(n, false)
	at = join(at, key)
	x.lines[at] = line
	x.inside(n.Value(), at)
}

func (x *indexer) inside(value *unstable.Node, at string) {
	i := 0
	for it := value.Children(); it.Next(); i++ {
		switch n := it.Node(); n.Kind {
		case unstable.KeyValue: // of an inline table
			x.keyValue(n, at)
		case unstable.InlineTable: // of an array
			x.inside(n, fmt.Sprintf("%s[%d]", at, i))
		}
	}
}

// keyPath spells an expression's key and gives its line. The key of a table is placed in the latest
// element of each array it passes.
func (x *indexer) keyPath(n *unstable.Node, table bool) (path string, line int) {
	var parts []string
	for it := n.Key(); it.Next(); {
		k := it.Node()
		if line == 0 {
			line = 1 + sort.SearchInts(x.ends, int(k.Raw.Offset))
		}
		parts = append(parts, string(k.Data))
	}
	for i, part := range parts {
		path = join(path, part)
		if c := x.counts[path]; table && c > 0 && i < len(parts)-1 {
			path = fmt.Sprintf("%s[%d]", path, c-1)
		}
	}
	return path, line
}

func join(path, key string) string {
	return strings.TrimPrefix(path+"."+key, ".")
}
