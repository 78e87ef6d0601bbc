package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// What a log line may tell: ids, counts, durations, and words from a fixed list. A new key is named here by
// whoever has seen that nothing personal can be in its value.
var logKeys = []string{
	"team", "member", "guild", "channel", "message", "interaction", "event", "outbox", "destination", // ids
	"attachment", "attempt", "code", "again_in", "bytes", "count", // ids, numbers and durations
	"kind", "why", "where", "type", "stack", "address", // fixed words, names of types and functions, --listen
	"error", // by Explain alone
}

// Every log call in the program says a fixed sentence with these keys, and an error only as Explain puts it.
func TestLogsTellOnlyWhatTheyMay(t *testing.T) {
	calls := 0
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, path, nil, 0)
		if err != nil {
			return err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			if call, ok := n.(*ast.CallExpr); ok && logs(call) {
				calls++
				for _, fault := range logFaults(call) {
					t.Errorf("%s: %s", set.Position(call.Pos()), fault)
				}
			}
			return true
		})
		return nil
	})
	if err != nil || calls < 20 {
		t.Errorf("%d log calls seen, %v", calls, err)
	}
}

// logs reports whether a call writes to a log: x.Log.Warn(…) or log.Warn(…).
func logs(call *ast.CallExpr) bool {
	f, ok := call.Fun.(*ast.SelectorExpr)
	if !ok || !slices.Contains([]string{"Debug", "Info", "Warn", "Error", "Log", "LogAttrs", "With", "DebugContext", "InfoContext", "WarnContext", "ErrorContext"}, f.Sel.Name) {
		return false
	}
	switch x := f.X.(type) {
	case *ast.SelectorExpr:
		return x.Sel.Name == "Log"
	case *ast.Ident:
		return x.Name == "log" || x.Name == "slog" || x.Name == "logger"
	}
	return false
}

func logFaults(call *ast.CallExpr) (out []string) {
	if len(call.Args)%2 != 1 || literal(call.Args[0]) == "" {
		return []string{"a log call is a fixed sentence, then keys and values"}
	}
	for i := 1; i < len(call.Args); i += 2 {
		key, value := literal(call.Args[i]), call.Args[i+1]
		if !slices.Contains(logKeys, key) {
			out = append(out, "the key "+key+" is not among those a log may hold")
		}
		if key == "error" && !explained(value) && literal(value) == "" {
			out = append(out, "an error is logged by store.Explain: its own text may hold values")
		}
		if id, ok := value.(*ast.Ident); ok && strings.HasPrefix(id.Name, "err") {
			out = append(out, "an error is logged as it is")
		}
	}
	return out
}

func explained(e ast.Expr) bool {
	call, ok := e.(*ast.CallExpr)
	if !ok {
		return false
	}
	switch f := call.Fun.(type) {
	case *ast.Ident:
		return f.Name == "explain"
	case *ast.SelectorExpr:
		return f.Sel.Name == "Explain"
	}
	return false
}

// literal is a string constant's text, "" for anything else.
func literal(e ast.Expr) string {
	if b, ok := e.(*ast.BasicLit); ok && b.Kind == token.STRING {
		return strings.Trim(b.Value, "\"`")
	}
	return ""
}

func TestTheLogFenceHolds(t *testing.T) {
	for _, text := range []string{`b.Log.Warn("x", "name", n)`, `b.Log.Warn("x", "error", err)`, `a.Log.Error("x", "error", err.Error())`, `log.Info("x " + y)`, `slog.Info("x", "text", y)`} {
		e, err := parser.ParseExpr(text)
		if err != nil {
			t.Fatal(err)
		}
		if call := e.(*ast.CallExpr); !logs(call) || len(logFaults(call)) == 0 {
			t.Errorf("nothing keeps out %s", text)
		}
	}
}
