package commands

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"footing/rehab"
)

// The whole permission matrix: who may use what, and where its answer may be seen. Deny by default:
// a dash is a refusal.
func TestPermissionMatrix(t *testing.T) {
	var out strings.Builder
	fmt.Fprintf(&out, "%-14s %-18s %-9s", "command", "capability", "seen by")
	for _, r := range rehab.Roles {
		fmt.Fprintf(&out, "%-9s", r)
	}
	out.WriteString("nobody\n")
	for _, c := range registry(t).Commands() {
		fmt.Fprintf(&out, "%-14s %-18s %-9s", c.Name, c.Needs, c.Privacy)
		for _, roles := range append(each(rehab.Roles), nil) {
			mark := "-"
			if rehab.May(roles, c.Needs) {
				mark = "may"
			}
			fmt.Fprintf(&out, "%-9s", mark)
		}
		out.WriteString("\n")
	}
	golden(t, "permissions.txt", trimLines(out.String()))
}

func each(roles []rehab.Role) [][]rehab.Role {
	var out [][]rehab.Role
	for _, r := range roles {
		out = append(out, []rehab.Role{r})
	}
	return out
}

func trimLines(s string) string {
	lines := strings.Split(s, "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	return strings.Join(lines, "\n")
}

// The reference a user reads: usage, summary, examples and words. It is generated, so it is true.
func TestReference(t *testing.T) {
	var out strings.Builder
	env := &Env{Registry: registry(t), Lang: lang(t), Actor: rehab.Member{Roles: rehab.Roles}}
	for _, c := range env.Registry.Commands() {
		reply, err := helpOne(env, c.Name)
		if err != nil {
			t.Fatal(err)
		}
		out.WriteString(strings.Join(reply.Lines, "\n") + "\n\n")
	}
	out.WriteString(strings.Join(append(findingWords(env.Lang), testWords(env.Lang)...), "\n") + "\n")
	golden(t, "reference.txt", out.String())
}

// One start tells every fault of every declaration, so that they are mended in one go.
func TestEveryFaultOfEveryDeclarationIsReportedTogether(t *testing.T) {
	type args struct{ A rehab.Athlete }
	run := func(context.Context, *Env, args) (Reply, error) { return Reply{}, nil }
	_, err := NewRegistry(
		New(Def[args]{Name: "one", Summary: "s", Needs: rehab.Ask, Privacy: Anyone, Examples: []string{"one"}, Run: run}),
		New(Def[args]{Name: "one", Summary: "s", Needs: rehab.Ask, Privacy: Anyone, Examples: []string{"one"}, Run: run}),
		New(Def[args]{Name: "bare", Run: run}),
		New(Def[args]{Name: "who", Summary: "s", Needs: rehab.Ask, Privacy: Anyone, Examples: []string{"who 7"}, Run: run,
			Fields: func(a *args) []Field { return []Field{Athlete(&a.A), Athlete(&a.A)} }}),
	)
	for _, want := range []string{
		`"one" already means one`, `"bare": needs an unknown capability`, `"bare": has no privacy`, `"bare": has no summary`, `"bare": has no example`,
		`"who": has an athlete but no subject`, `"who": field "athlete" is there twice`,
	} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("not reported: %s\nin: %v", want, err)
		}
	}
}
