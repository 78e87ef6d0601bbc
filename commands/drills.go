package commands

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"footing/rehab"
)

var did = NewWords(
	Word{"all", []string{"everything", "done all"}}, Word{"some", []string{"partly", "part", "half"}}, Word{"none", []string{"skip", "skipped", "not today"}},
)

type doneArgs struct {
	Athlete rehab.Athlete
	Side    rehab.Side
	Did     string
	Pain    float64
	Drills  []string
	Why     string
	At      time.Time
}

// Done records how the drills went.
var Done = New(Def[doneArgs]{
	Name:    "done",
	Also:    []string{"did"},
	Summary: "Drills done: all, some or skip, the worst pain 0–10, and why not.",
	Needs:   rehab.ReportSelf,
	Privacy: OwnOnly,
	Self:    true,
	Fields: func(a *doneArgs) []Field {
		return []Field{
			Athlete(&a.Athlete), Opt(Side(&a.Side)), Opt(Choice("did", &a.Did, did)), Opt(Pain(optional(&a.Pain), false)),
			Flags("drills", &a.Drills, Words{}, func(l *Lang) []phrase { return l.drills }), When(&a.At), Opt(careful(Rest("why", ": why", &a.Why))),
		}
	},
	Subject:  func(a *doneArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"done 7 pain 2", "done 7 some pain 4 : no time", "done 7 skip : bus was late"},
	Run:      logDone,
})

// optional starts a number at "not given".
func optional(to *float64) *float64 {
	*to = -1
	return to
}

func logDone(ctx context.Context, env *Env, a doneArgs) (Reply, error) {
	state, err := env.Assess(ctx, a.Athlete)
	if err != nil {
		return Reply{}, err
	}
	v, _, err := trainable(env, state, a.Side)
	if err != nil {
		return Reply{}, err
	}
	at, sent, planned := a.answers(env, state.State, v)
	if at.Before(v.At) {
		return Reply{}, refuse("%s is before the sprain (%s).", day(at), day(v.At))
	}
	for _, key := range a.Drills {
		if err := notAbove(v, key); err != nil {
			return Reply{}, err
		}
	}
	if err := askDone(env, a, v); err != nil {
		return Reply{}, err
	}
	body := a.body()
	body.Stage, body.Side = v.Stage.Key, v.Side
	barred := rehab.NoDrills(state, v, env.Now)
	body.Barred = barred != "" && body.Did != "none"
	was, edited := env.replacedDrills(a.Athlete, v.Side)
	if edited {
		body.Stage, body.Barred = was.Stage, was.Barred
	}
	doses(&body, v, sent, env.Now)
	reply := Reply{Entries: []rehab.Entry{{Athlete: a.Athlete.ID, Episode: v.Number, At: at, Body: body}}, Health: true}
	if v.Open && painTells(v.P.Response, body) {
		reply.Entries = append(reply.Entries, rehab.Entry{Athlete: a.Athlete.ID, Episode: v.Number, At: at, Body: rehab.Tested{Test: "pain-drills", Trials: []rehab.Trial{{Value: a.Pain}}}})
	}
	reply.Lines = []string{join(" ", fmt.Sprintf("%s, %s: drills %s%s%s.", name(a.Athlete, v), day(at), didSays[body.Did], painWord(body.Pain), rehab.Prefixed(", ", a.Why)), painMeans(v.P.Response, body))}
	if !env.Medical && tooMuch(v.P.Response, body) && !tooMuch(v.P.Response, was) { // an edit of too much was told before
		reply.Alerts = []string{fmt.Sprintf("ALERT: %s: pain %d with drills (%s), above %d. No more today; see them before the next session.", name(a.Athlete, v), *body.Pain, didSays[body.Did], v.P.Response.DrillsTolerated)}
	}
	if next := a.next(env, v, body, barred, planned); next != "" {
		reply.Lines = append(reply.Lines, next)
	}
	return reply, nil
}

// next is what follows for whoever told how the drills went, "" when nothing does. barred says why none were
// to be done.
func (a doneArgs) next(env *Env, v rehab.View, body rehab.Trained, barred string, planned bool) string {
	switch {
	case body.Barred && barred != "":
		return "Kept, but it counts for no progress. " + barred
	case barred != "":
		return barred
	case tooMuch(v.P.Response, body) && !env.Medical:
		return "Medical staff have been told. If it gets worse, type: wrong"
	case body.Did == "none" && body.Pain != nil && !env.Medical:
		return "Medical staff can read this. If it gets worse, type: wrong"
	case body.Did == "none":
	case !planned && len(body.Doses) == 0:
		return "No plan was sent that day, so no drill moves a level. Next time ask first: " + env.line("plan", a.Athlete)
	case body.Did == "some" && len(a.Drills) == 0:
		return "Which ones? Named drills count: " + env.line("done", a.Athlete, "some pain", exact(max(0, a.Pain)), body.Doses[0].Drill)
	}
	return ""
}

// answers is when the drills were done, and the plan of that day they answer: the one there was when they were
// told first, not one sent before an edit. In the night it is that of the evening, which they then belong to.
func (a doneArgs) answers(env *Env, st rehab.State, v rehab.View) (at time.Time, sent rehab.Planned, planned bool) {
	if a.At.IsZero() {
		if sent, at, ok := st.EveningPlan(v.Side, env.Told); ok && !at.Before(v.At) {
			return at, sent, true
		}
	}
	at = env.at(a.At)
	sent, planned = st.PlanFor(at.In(env.Now.Location()), v.Side, env.Told)
	return at, sent, planned
}

// replacedDrills is what an edited line had recorded of one ankle's drills.
func (e *Env) replacedDrills(a rehab.Athlete, side rehab.Side) (rehab.Trained, bool) {
	for _, old := range e.Replaces {
		if b, ok := old.Body.(rehab.Trained); ok && old.Athlete == a.ID && b.Side == side {
			return b, true
		}
	}
	return rehab.Trained{}, false
}

// didSays is how much was done, in words.
var didSays = map[string]string{"all": "all done", "some": "partly done", "none": "skipped"}

// body is what the line says was done. A score alone means all of it.
func (a doneArgs) body() rehab.Trained {
	body := rehab.Trained{Did: cmp.Or(a.Did, "all"), Drills: a.Drills, Why: a.Why}
	if a.Pain >= 0 {
		pain := int(a.Pain)
		body.Pain = &pain
	}
	return body
}

// doses fills in what was done: the drills of the plan that was sent, only those named where some were
// named, and a drill outside the plan at its level. What of a plan was not done costs nothing.
func doses(body *rehab.Trained, v rehab.View, sent rehab.Planned, now time.Time) {
	if body.Did == "none" {
		return
	}
	done := slices.Clone(sent.Doses)
	if len(body.Drills) > 0 {
		done = nil
		for _, key := range body.Drills {
			d, _ := v.P.Drill(key)
			dose := rehab.Dose{Drill: key, Level: v.Rung(d, now).Level}
			if i := slices.IndexFunc(sent.Doses, func(x rehab.Dose) bool { return x.Drill == key }); i >= 0 {
				dose = sent.Doses[i]
			}
			done = append(done, dose)
		}
	}
	body.Doses = done
	for _, dose := range done {
		d, ok := v.P.Drill(dose.Drill)
		if !ok || dose.Level > len(d.Levels) {
			continue
		}
		step := d.Levels[dose.Level-1]
		body.Minutes, body.Contacts = body.Minutes+step.Minutes, body.Contacts+step.Contacts
		if d.Runs {
			body.Running += step.Minutes
		}
	}
}

// notAbove refuses a drill of a later stage.
func notAbove(v rehab.View, key string) error {
	for _, d := range v.P.Drills {
		if d.Key != key {
			continue
		}
		if _, rank := v.P.Stage(d.Stages[0]); rank > v.Rank {
			return refuse("%s belongs to %s; this ankle is in %s. Nothing was saved. If it was done, tell the medical staff.", upper(d.Name), upper(d.Stages[0]), v.Stage.Name)
		}
	}
	return nil
}

func painWord(p *int) string {
	if p == nil {
		return ""
	}
	return fmt.Sprintf(", pain %d", *p)
}

// painTells reports whether pain in drills is kept as a test that a gate may ask for. Of drills that were
// not to be done only too much pain is: it may hold back, and nothing of them leads on.
func painTells(r rehab.Response, b rehab.Trained) bool {
	return b.Pain != nil && b.Did != "none" && (!b.Barred || tooMuch(r, b))
}

// tooMuch reports whether the pain told with drills, done or left out for it, is above what is tolerated.
func tooMuch(r rehab.Response, b rehab.Trained) bool {
	return b.Pain != nil && *b.Pain > r.DrillsTolerated
}

// painMeans explains pain in drills by the protocol's bands; pain without drills has none.
func painMeans(r rehab.Response, b rehab.Trained) string {
	switch {
	case b.Pain == nil || b.Did == "none" || b.Barred && !tooMuch(r, b):
		return ""
	case b.Barred:
		return "Too much."
	case *b.Pain <= r.DrillsFine:
		return "That is fine."
	case *b.Pain <= r.DrillsTolerated:
		return "Tolerated, but it does not count as progress; nothing harder next time."
	}
	return "Too much: stop, one level down next time."
}
