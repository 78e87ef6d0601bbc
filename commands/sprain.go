package commands

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"footing/rehab"
)

var mechanisms = NewWords(
	Word{"inversion", []string{"inverted", "inv", "rolled", "rolled in", "rolled over", "went over"}},
	Word{"eversion", []string{"everted", "ev", "rolled out"}},
	Word{"rotation", []string{"twist", "twisted"}},
	Word{"landing", []string{"landed", "landed on foot"}},
	Word{"unknown", []string{"mechanism unknown", "unsure"}},
)

var contacts = NewWords(
	Word{"no-contact", []string{"non contact", "noncontact", "without contact", "contact none"}},
	Word{"indirect", []string{"indirect contact"}},
	Word{"direct", []string{"direct contact", "contact", "tackle", "tackled"}},
)

var settings = NewWords(
	Word{"match", []string{"game"}},
	Word{"training", []string{"practice", "trg"}},
	Word{"other", []string{"gym", "home"}},
)

type sprainArgs struct {
	Athlete                     rehab.Athlete
	Side                        rehab.Side
	Mechanism, Contact, Setting string
	Grade                       float64
	Findings                    []Mention
	At                          time.Time
	Note                        string
}

// Sprain opens an episode; findings on the line are its first screen.
var Sprain = New(Def[sprainArgs]{
	Name:    "sprain",
	Also:    []string{"sprained", "rolled ankle", "ankle sprain"},
	Summary: "Log an ankle sprain; findings on the line screen it.",
	Needs:   rehab.LogMedical,
	Privacy: MedicalOnly,
	Fields: func(a *sprainArgs) []Field {
		return []Field{
			Athlete(&a.Athlete), Side(&a.Side),
			Opt(Choice("setting", &a.Setting, settings)),
			Opt(Choice("mechanism", &a.Mechanism, mechanisms)),
			Opt(Choice("contact", &a.Contact, contacts)),
			Opt(Keyed("grade", &a.Grade, 1, 3, true, "grade", "gr", "gd")),
			Findings(&a.Findings), When(&a.At), Note(&a.Note),
		}
	},
	Subject: func(a *sprainArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{
		"sprain 7 left match inversion no-contact",
		"sprain 7 left match inversion no-contact tender none, walked, walks, circulation ok, squeeze -, er -, no modifiers",
		"sprain 12 right training landing indirect yesterday 18:40 grade 2 note: heard a click",
	},
	Run: logSprain,
})

func logSprain(ctx context.Context, env *Env, a sprainArgs) (Reply, error) {
	if a.Side == rehab.None {
		return askSide(env, "Which ankle?")
	}
	state, err := env.Assess(ctx, a.Athlete)
	if err != nil {
		return Reply{}, err
	}
	body := rehab.Sprained{Side: a.Side, Mechanism: a.Mechanism, Contact: a.Contact, Setting: a.Setting, Grade: int(a.Grade), Protocol: env.Protocol.Hash}
	episode := state.State.LastEpisode + 1
	if old, ok := replacedSprain(env, a.Athlete); ok {
		was := old.Body.(rehab.Sprained)
		if v, open := state.OpenOn(a.Side); was.Side != a.Side && (was.Again || open && v.Number != old.Episode) {
			return Reply{}, refuse("That line recorded the %s ankle. Undo it and log the %s one as a new line. It stands.", was.Side, a.Side)
		}
		episode, body.Again = old.Episode, was.Again
	} else if v, open := state.OpenOn(a.Side); open {
		if !env.Confirmed {
			return askAgain(ctx, env, a, v)
		}
		episode, body.Again, env.anew = v.Number, true, true
	}
	at := env.at(a.At)
	if err := env.askOld(at); err != nil {
		return Reply{}, err
	}
	entries := []rehab.Entry{{Athlete: a.Athlete.ID, Episode: episode, At: at, Body: body}}
	examined := at
	if env.Now.Sub(at) > sameExam {
		examined = env.Now // a sprain logged late is examined now, not then
	}
	more, err := examination(env, a.Athlete, episode, examined, a.Findings, a.Note)
	if err != nil {
		return Reply{}, err
	}
	entries = append(entries, more...)
	reply, v, err := env.after(ctx, a.Athlete, a.Side, entries)
	if err != nil {
		return Reply{}, err
	}
	what := join(", ", string(a.Side)+" ankle sprain", a.Setting, a.Mechanism, a.Contact, gradeWord(int(a.Grade)), day(at))
	reply.Lines = append(screenCard(a.Athlete, v), "Logged: "+a.Athlete.Label()+", "+what+found(env.Lang, a.Findings)+"."+env.noted(a.Athlete, a.Note))
	_, typedAge := v.Screening.Answers["under-18"]
	_, typedAge16 := v.Screening.Answers["under-16"]
	if _, known := a.Athlete.AgeOn(at); !known && !typedAge && !typedAge16 && len(a.Findings) > 0 && !v.Screening.Held(v.P) {
		reply.Lines = append(reply.Lines, "No birth date on the roster: the adult rule was used. If younger, type: screen "+strconv.Itoa(a.Athlete.Shirt)+" under-18")
	}
	return reply, nil
}

const (
	// longAgo is how many days back a sprain or a session may lie without being asked about.
	longAgo = 60
	// sameExam is how long after a sprain its examination still belongs to its own moment.
	sameExam = 48 * time.Hour
)

// askOld asks whether a date that lies far back was meant; nil when it does not, or when it was said to be.
func (e *Env) askOld(at time.Time) error {
	back := rehab.DaysBetween(at, e.Now, e.Now.Location())
	if back <= longAgo || e.Confirmed {
		return nil
	}
	return &Refusal{
		Says:    fmt.Sprintf("%s is %d days ago. Right?", at.Format("Mon 2 Jan 2006"), back),
		Buttons: []Button{{Label: "Yes, save it", Line: e.Call.Text(), Confirmed: true}},
	}
}

// found says the findings back.
func found(l *Lang, list []Mention) string {
	if len(list) == 0 {
		return ""
	}
	return ". Found: " + read(l, list)
}

// askAgain asks whether a sprain of an ankle under treatment is a new one. What was found counts at
// once, whatever the answer: a red flag does not wait for a button.
func askAgain(ctx context.Context, env *Env, a sprainArgs, v rehab.View) (Reply, error) {
	asks := fmt.Sprintf("%s is already under treatment (%s, day %d). A new sprain means a hold, a new screen and %s. Is it one?", name(a.Athlete, v), v.Stage.Name, v.Day, v.P.Stages[0].Name)
	button := Button{Label: "New sprain", Line: env.Call.Text(), Confirmed: true}
	entries, err := examination(env, a.Athlete, v.Number, env.Now, a.Findings, a.Note)
	if err != nil || len(entries) == 0 {
		return Reply{}, orElse(err, &Refusal{Says: asks, Buttons: []Button{button}})
	}
	reply, v, err := env.after(ctx, a.Athlete, a.Side, entries)
	if err != nil {
		return Reply{}, err
	}
	reply.Lines = append(screenCard(a.Athlete, v), "Saved: "+read(env.Lang, a.Findings)+".", asks)
	reply.Buttons = []Button{button}
	return reply, nil
}

func orElse(err error, r *Refusal) error {
	if err != nil {
		return err
	}
	return r
}

func gradeWord(g int) string {
	if g == 0 {
		return ""
	}
	return "grade " + strconv.Itoa(g)
}

// noted says that a note was kept, and asks for a finding where it names a red flag: notes hold
// nothing.
func (e *Env) noted(a rehab.Athlete, note string) string {
	switch flag := RedFlag(note, e.Lang); {
	case note == "":
		return ""
	case flag != "":
		return fmt.Sprintf(" Note kept. It names a red flag (%s) and a note holds nothing: type it as a finding, screen %d.", flag, a.Shirt)
	}
	return " Note kept."
}

// replacedSprain is the sprain that an edited line had recorded, so that what was logged under it
// stays with it.
func replacedSprain(env *Env, a rehab.Athlete) (rehab.Entry, bool) {
	for _, e := range env.Replaces {
		if _, is := e.Body.(rehab.Sprained); is && e.Athlete == a.ID {
			return e, true
		}
	}
	return rehab.Entry{}, false
}

// examination makes the entries of findings and a note.
func examination(env *Env, a rehab.Athlete, episode int, at time.Time, findings []Mention, note string) ([]rehab.Entry, error) {
	var out []rehab.Entry
	list, err := answers(env.Lang, findings)
	if err != nil {
		return nil, err
	}
	if len(list) > 0 {
		out = append(out, rehab.Entry{Athlete: a.ID, Episode: episode, At: at, Body: rehab.Screened{Answers: list}})
	}
	if note != "" {
		out = append(out, rehab.Entry{Athlete: a.ID, Episode: episode, At: at, Body: rehab.Noted{Text: note}})
	}
	return out, nil
}

// after reads one ankle as it will stand once the entries are in, and starts the reply.
func (e *Env) after(ctx context.Context, a rehab.Athlete, side rehab.Side, entries []rehab.Entry) (Reply, rehab.View, error) {
	next, err := e.foresee(ctx, a, entries)
	v, _ := next.OpenOn(side)
	return Reply{Entries: entries, Health: true}, v, err
}

// foresee assesses the athlete as they will stand once the entries are in.
func (e *Env) foresee(ctx context.Context, a rehab.Athlete, entries []rehab.Entry) (rehab.Assessment, error) {
	before, err := e.Records.Entries(ctx, a.ID)
	if err != nil {
		return rehab.Assessment{}, err
	}
	all := append([]rehab.Entry{}, before...)
	seq := int64(0)
	for _, b := range before {
		seq = max(seq, b.Seq)
	}
	for i, n := range entries {
		n.Seq, n.Logged = seq+int64(i)+1, e.Now
		n.First = e.firstSeq(n)
		all = append(all, n)
	}
	return e.read(a, all), nil
}

// firstSeq is the seq an entry of an edited line had before: the restated fact keeps its place.
func (e *Env) firstSeq(n rehab.Entry) int64 {
	if e.anew { // what the line found before it was said to be a new sprain was found of that sprain, after it
		return 0
	}
	for _, old := range e.Replaces {
		if old.Athlete == n.Athlete && old.Body.Kind() == n.Body.Kind() {
			return old.Original()
		}
	}
	return 0
}

// askSide asks for the side with buttons and keeps the line.
func askSide(env *Env, says string) (Reply, error) {
	return Reply{}, &Refusal{Says: says, Buttons: []Button{
		{Label: "Left", Line: env.Call.TextWith("side", "left")},
		{Label: "Right", Line: env.Call.TextWith("side", "right")},
	}}
}

// ankle assesses the athlete and finds the ankle under treatment that a line is about.
func (e *Env) ankle(ctx context.Context, a rehab.Athlete, side rehab.Side) (rehab.View, error) {
	state, err := e.Assess(ctx, a)
	if err != nil {
		return rehab.View{}, err
	}
	return openOn(e, state, side)
}

// openOn finds the ankle under treatment that a line is about, or says why it cannot.
func openOn(env *Env, state rehab.Assessment, side rehab.Side) (rehab.View, error) {
	a := state.State.Athlete
	if len(state.Open()) == 0 && !env.Medical {
		return rehab.View{}, refuse("None of your ankles is under treatment. If one is hurt, tell the medical staff.")
	}
	if v, ok := state.OpenOn(side); ok {
		return v, nil
	}
	if side == rehab.None && len(state.Open()) > 1 {
		_, err := askSide(env, a.Label()+" has both ankles under treatment. Which one?")
		return rehab.View{}, err
	}
	if side != rehab.None && len(state.Open()) > 0 {
		return rehab.View{}, refuse("%s: the %s ankle is not under treatment, the %s one is.", a.Label(), side, side.Other())
	}
	return rehab.View{}, refuse("%s has no ankle under treatment. Log it first: sprain %d left", a.Label(), a.Shirt)
}
