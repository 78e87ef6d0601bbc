package commands

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"footing/rehab"
)

type screenArgs struct {
	Athlete  rehab.Athlete
	Side     rehab.Side
	Findings []Mention
	At       time.Time
	Note     string
}

// Screen records an examination, whole or in part: what was answered before still counts.
var Screen = New(Def[screenArgs]{
	Name:    "screen",
	Also:    []string{"examine", "exam"},
	Summary: "Record what the examination found; says what is still not examined.",
	Needs:   rehab.LogMedical,
	Privacy: MedicalOnly,
	Fields: func(a *screenArgs) []Field {
		return []Field{Athlete(&a.Athlete), Opt(Side(&a.Side)), Findings(&a.Findings), When(&a.At), Note(&a.Note)}
	},
	Subject: func(a *screenArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{
		"screen 7 tender none, walked, walks, circulation ok, squeeze -, er -, no modifiers",
		"screen 7 ottawa-negative",
		"screen 7 could-not-walk, cannot-walk, tender fifth-metatarsal",
	},
	Run: logScreen,
})

func logScreen(ctx context.Context, env *Env, a screenArgs) (Reply, error) {
	state, err := env.Assess(ctx, a.Athlete)
	if err != nil {
		return Reply{}, err
	}
	v, err := openOn(env, state, a.Side)
	if err != nil {
		return Reply{}, withEmergency(ctx, env, a, err)
	}
	if len(a.Findings) == 0 {
		return Reply{}, refuse("Say what you found, for example: screen %d %s", a.Athlete.Shirt, typeMissing(v.P, v.P.Questions))
	}
	at := env.at(a.At)
	if at.Before(v.At) {
		return Reply{}, refuse("%s is before the sprain (%s). Say when the examination was.", day(at), day(v.At))
	}
	entries, err := examination(env, a.Athlete, v.Number, at, a.Findings, a.Note)
	if err != nil {
		return Reply{}, err
	}
	reply, v, err := env.after(ctx, a.Athlete, v.Side, entries)
	if err != nil {
		return Reply{}, err
	}
	reply.Lines = append(screenCard(a.Athlete, v), "Logged: "+name(a.Athlete, v)+": "+read(env.Lang, a.Findings)+"."+env.noted(a.Athlete, a.Note))
	return reply, nil
}

// withEmergency puts an emergency before whatever keeps a screen from being saved: that the sprain was
// not logged yet is no reason to keep quiet about a cold foot.
func withEmergency(ctx context.Context, env *Env, a screenArgs, err error) error {
	var refusal *Refusal
	if !errors.As(err, &refusal) {
		return err
	}
	list, bad := answers(env.Lang, a.Findings)
	if bad != nil {
		return bad
	}
	sprained := rehab.Entry{Athlete: a.Athlete.ID, Episode: -1, At: env.Told, Body: rehab.Sprained{Side: rehab.Left, Protocol: env.Protocol.Hash}}
	screened := rehab.Entry{Athlete: a.Athlete.ID, Episode: -1, At: env.Told, Body: rehab.Screened{Answers: list}}
	v := env.read(a.Athlete, []rehab.Entry{sprained, screened}).Views[0]
	if card := screenCard(a.Athlete, v); len(v.Screening.Hits) > 0 {
		refusal.Says = card[0] + "\nNothing was saved: " + refusal.Says
	}
	return refusal
}

// read says back the findings as understood: what is there, what a phrase confirmed, and together what
// is not there.
func read(l *Lang, list []Mention) string {
	var out, not []string
	for _, m := range list {
		f, _ := l.Protocol.Finding(m.Key)
		switch says := denied(f); {
		case m.Group:
			for _, g := range l.Protocol.Groups {
				if g.Phrase == m.Key {
					out = append(out, g.Says)
				}
			}
		case m.Yes:
			out = append(out, f.Name)
		case strings.HasPrefix(says, "no "):
			not = append(not, says[len("no "):])
		default:
			out = append(out, says)
		}
	}
	if len(not) > 0 {
		out = append(out, "no "+strings.Join(not, ", no "))
	}
	return strings.Join(out, "; ")
}

// denied is a finding that is not there, in words.
func denied(f rehab.Finding) string {
	if len(f.No) > 0 && !strings.HasPrefix(f.No[0], "no ") {
		return strings.ReplaceAll(f.No[0], "-", " ")
	}
	return "no " + strings.TrimPrefix(f.Name, "no ")
}

type liftArgs struct {
	Athlete rehab.Athlete
	Side    rehab.Side
	Course  string
	Reason  string
}

// LiftHold ends a hold onto a course, with a reason.
var LiftHold = New(Def[liftArgs]{
	Name:    "lift-hold",
	Also:    []string{"lift", "unhold"},
	Summary: "End a hold: name the course and why.",
	Exact:   true,
	Needs:   rehab.Decide,
	Privacy: MedicalOnly,
	Fields: func(a *liftArgs) []Field {
		course := Opt(Course(&a.Course))
		course.check = func() error { // asked for where no reason is typed: a reason may hide a course misspelt
			if a.Course == "" && a.Reason != "" {
				return refuse("lift-hold: what course? For example: lift-hold 7 lateral: films clear")
			}
			return nil
		}
		return []Field{Athlete(&a.Athlete), Opt(Side(&a.Side)), course, Opt(careful(Rest("reason", ": why", &a.Reason)))}
	},
	Subject:  func(a *liftArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"lift-hold 7 lateral: films clear"},
	Run:      liftHold,
})

func liftHold(ctx context.Context, env *Env, a liftArgs) (Reply, error) {
	v, err := env.ankle(ctx, a.Athlete, a.Side)
	if err != nil {
		return Reply{}, err
	}
	var rules []string
	for _, r := range v.Screening.Hits {
		if o, _ := v.P.Outcome(r.Outcome); o.Holds || o.Bars {
			rules = append(rules, r.Key)
		}
	}
	at := env.Told
	if len(env.Replaces) > 0 { // an edit mends words: it lifts what was lifted then, nothing since
		i := slices.IndexFunc(env.Replaces, func(e rehab.Entry) bool {
			return e.Body.Kind() == rehab.KindLifted && e.Athlete == a.Athlete.ID && e.Episode == v.Number
		})
		if i < 0 {
			return Reply{}, refuse("An edit does not lift a hold: send lift-hold as a new message. What that line recorded stands.")
		}
		rules, at = env.Replaces[i].Body.(rehab.Lifted).Rules, env.Replaces[i].At
	}
	if len(rules) == 0 {
		return Reply{}, refuse("%s is not held. Nothing to lift.", name(a.Athlete, v))
	}
	if err := askLift(a, v); err != nil {
		return Reply{}, err
	}
	if readsLikeNo(a.Reason) {
		return Reply{}, refuse("The hold on %s was not lifted: “%s” reads like a no.", name(a.Athlete, v), a.Reason)
	}
	if saysNothing(a.Reason) {
		return Reply{}, refuse("The hold on %s was not lifted: “%s” does not say what was found, by whom or on which images. For example: lift-hold %d %s: films clear, seen by the doctor", name(a.Athlete, v), a.Reason, a.Athlete.Shirt, a.Course)
	}
	entry := rehab.Entry{Athlete: a.Athlete.ID, Episode: v.Number, At: at, Body: rehab.Lifted{Course: a.Course, Reason: a.Reason, Rules: rules}}
	reply, v, err := env.after(ctx, a.Athlete, v.Side, []rehab.Entry{entry})
	if err != nil {
		return Reply{}, err
	}
	reply.Lines = append([]string{name(a.Athlete, v) + ": hold lifted onto the " + v.Course.Name + " course. " + upper(a.Reason) + "."}, screenCard(a.Athlete, v)[boolInt(v.Screening.Cleared):]...)
	if line := gateLine(v); line != "" && v.Screening.Cleared {
		reply.Lines = append(reply.Lines, line)
	}
	return reply, nil
}

// saysNothing reports whether a reason is made of words that would stand under anything.
func saysNothing(reason string) bool {
	return !slices.ContainsFunc(words(reason), func(w string) bool {
		return !slices.Contains([]string{"ok", "okay", "fine", "good", "yes", "y", "done", "all", "is", "it", "its", "now", "sure", "cleared", "clear", "lift", "reason", ".", "!", ","}, w)
	})
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}

func upper(s string) string {
	if s == "" {
		return s
	}
	first, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[n:]
}
