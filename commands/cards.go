package commands

import (
	"fmt"
	"strconv"
	"time"

	"footing/rehab"
)

// A card is a reply whose buttons say what can be done next. Every button carries a line that can as
// well be typed; a question that follows on a press is a Refusal with Step, whose buttons carry the line
// made longer.

// line is a command about an athlete as whoever reads the reply would type it: staff name the shirt,
// athletes leave themselves out.
func (e *Env) line(command string, a rehab.Athlete, rest ...string) string {
	if e.Medical {
		rest = append([]string{strconv.Itoa(a.Shirt)}, rest...)
	}
	return join(" ", append([]string{command}, rest...)...)
}

// today is how long a card about today may be answered: to the end of the local day.
func (e *Env) today() time.Time {
	y, m, d := e.Now.Date()
	return time.Date(y, m, d+1, 0, 0, 0, 0, e.Now.Location())
}

// zeroToTen are the buttons 0 to 10; line makes each one's line.
func zeroToTen(line func(pain string) Button) []Button {
	var out []Button
	for i := range 11 {
		b := line(fmt.Sprintf("pain %d", i))
		b.Label = strconv.Itoa(i)
		out = append(out, b)
	}
	return out
}

// wrongLife is how long the button that calls for help may be pressed.
const wrongLife = 24 * time.Hour

// wrongButton calls for help, from any card of an athlete.
func (e *Env) wrongButton(a rehab.Athlete) Button {
	return Button{Label: "Something is wrong", Line: e.line("wrong", a), Own: true, About: a.ID, Until: e.Now.Add(wrongLife), Style: "stop"}
}

// alarmButtons offer the protocol's alarms as what is wrong.
func (e *Env) alarmButtons(a rehab.Athlete) []Button {
	var out []Button
	for _, alarm := range e.Protocol.Alarms {
		out = append(out, Button{Label: upper(alarm.Name), Line: e.line("wrong", a, ": "+alarm.Name), Own: true, About: a.ID, Until: e.Now.Add(wrongLife), Style: "stop"})
	}
	return out
}

// planButtons are the answers to a plan, to be pressed until the night is over.
func (e *Env) planButtons(a rehab.Athlete, v rehab.View) []Button {
	until := e.today().Add(rehab.NightEnds * time.Hour)
	answer := func(label, how, style string) Button {
		return Button{Label: label, Line: e.line("done", a, string(v.Side), how), Own: true, About: a.ID, Until: until, Style: style}
	}
	return []Button{answer("Done", "all", "go"), answer("Partly", "some", ""), answer("Not today", "skip", ""), e.wrongButton(a)}
}

// askDone asks for what a line about drills leaves open, one thing at a time; nil when nothing is.
func askDone(env *Env, a doneArgs, v rehab.View) error {
	why := func(says string, reasons ...string) error {
		r := &Refusal{Says: says, Step: true}
		for _, reason := range reasons {
			r.Buttons = append(r.Buttons, Button{Label: upper(reason), Line: env.Call.TextWith("why", ": "+reason)})
		}
		return r
	}
	r := v.P.Response
	switch {
	case a.Did == "" && a.Pain < 0:
		asks := &Refusal{Says: "All, some or skip? For example: " + env.line("done", a.Athlete, "all pain 2"), Step: true}
		for _, did := range []string{"all", "some", "skip"} {
			asks.Buttons = append(asks.Buttons, Button{Label: upper(did), Line: env.Call.TextWith("did", did)})
		}
		return asks
	case a.Did == "none" && a.Why == "":
		return why("Why not? Press one, or type for example: "+env.line("done", a.Athlete, "skip : bus was late"), "no time", hurt, "travelling", "other")
	case a.Did == "some" && a.Why == "" && a.Pain < 0:
		return why("Pain or time? Press one, or type for example: "+env.line("done", a.Athlete, "some pain 4 : no time"), hurt, "no time", "other")
	case a.Pain < 0 && (a.Did != "none" || Fold(a.Why) == hurt):
		says := fmt.Sprintf("How much did it hurt, at worst during the drills? 0 no pain, %d is fine, above %d stop.", r.DrillsFine, r.DrillsTolerated)
		if a.Did == "none" {
			says = "How much does it hurt now? 0 no pain, 10 the worst."
		}
		return &Refusal{Says: says, Step: true, Buttons: zeroToTen(func(pain string) Button { return Button{Line: env.Call.TextWith("pain", pain)} })}
	}
	return nil
}

// hurt is the reason that asks for a score.
const hurt = "pain"

// MorningCard asks how one ankle is this morning, with the scores to press. The answer is recorded at once;
// swelling and signs are asked after it and mend it. It needs no line; Medical false in env says that the
// athlete reads it.
func MorningCard(env *Env, a rehab.Athlete, v rehab.View) Reply {
	who := "your " + string(v.Side) + " ankle"
	if env.Medical {
		who = name(a, v)
	}
	reply := lines(fmt.Sprintf("This morning, %s: how much did the first ten steps hurt? 0 none … 10 worst. Or type: %s", who, env.line("morning", a, "pain 1 same")))
	reply.Buttons = zeroToTen(func(pain string) Button {
		return Button{Line: env.line("morning", a, string(v.Side), pain), Own: true, About: a.ID, Until: env.today()}
	})
	if !env.Medical {
		reply.Buttons = append(reply.Buttons, env.wrongButton(a))
	}
	return reply
}

// askMorning is the next question about a morning that was just recorded, "" when there is none. What is
// pressed restates the same morning with more in it.
func askMorning(env *Env, a morningArgs) (asks string, buttons []Button) {
	button := func(label, field, value string) Button {
		return Button{Label: label, Line: env.Call.TextWith(field, value)}
	}
	switch {
	case a.Swelling == "":
		asks = "Swelling: less, same or more than yesterday?"
		for _, w := range swellings.values {
			buttons = append(buttons, button(upper(w), "swelling", w))
		}
	case len(a.Signs) == 0 && !env.Medical:
		asks = "Anything else?"
		buttons = []Button{button("Limp", "signs", "limp"), button("Gave way", "signs", "gave-way"), button("Nothing", "signs", "nothing")}
	}
	if !env.Medical && asks != "" {
		buttons = append(buttons, env.wrongButton(a.Athlete))
	}
	return asks, buttons
}

// askBack asks why an ankle steps back.
func askBack(a rehab.Athlete, v rehab.View) error {
	line := func(why string) string { return fmt.Sprintf("%s %d %s: %s", rehab.StepBack, a.Shirt, v.Side, why) }
	r := &Refusal{Says: "Why? Press one, or type for example: " + line("sore after landing"), Step: true}
	for _, why := range []string{"worse morning", "pain in drills", "swelling"} {
		r.Buttons = append(r.Buttons, Button{Label: upper(why), Line: line(why), Strict: true})
	}
	return r
}

// askLift asks for what lifting a hold still needs: the course, then, to be typed, what was found. nil
// when it needs nothing more.
func askLift(a liftArgs, v rehab.View) error {
	line := join(" ", "lift-hold", strconv.Itoa(a.Athlete.Shirt), string(v.Side), a.Course)
	if a.Course == "" {
		r := &Refusal{Says: name(a.Athlete, v) + ": lift the hold onto which course?", Step: true}
		for _, c := range v.P.Courses {
			r.Buttons = append(r.Buttons, Button{Label: upper(c.Key), Line: line + " " + c.Key, Strict: true})
		}
		return r
	}
	if a.Reason == "" {
		course, _ := v.P.Course(a.Course)
		return &Refusal{Says: fmt.Sprintf("Onto the %s course. Still held; to lift it say what was found: %s: films clear", course.Name, line), Step: true}
	}
	return nil
}
