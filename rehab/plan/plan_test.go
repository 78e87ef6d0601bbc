package plan_test

import (
	"strings"
	"testing"

	"footing/rehab"
	"footing/rehab/plan"
)

// Each rule of the plan, one at a time, on day 10 (Tuesday 17 March), for a player whose plan without it is
// known. Sport's caps are 120 and 420, those of Land 80 and 240 (common practice).
func TestToday(t *testing.T) {
	long := plan.Ask{Minutes: 40, Kit: []string{"band"}}
	restrict := func(level rehab.Level, cannot ...string) rehab.Restricted {
		return rehab.Restricted{Level: level, Cannot: cannot, Cause: "illness"}
	}
	for _, c := range []struct {
		what string
		r    *record
		ask  plan.Ask
		want string
	}{
		{"all that Land has", in("land"), long, "circles 1, pulls 1, raises 1, stand 1, reach 1, pogo 1, stick 1, jog 1 | 22 min, 35 contacts"},
		{"the minutes: of two choices worth the same in 5, the one with fewer contacts", in("land"), plan.Ask{Minutes: 5, Kit: []string{}}, "circles 1, stand 1 | 4 min, 0 contacts"},
		{"one minute is less than any drill takes", in("land"), plan.Ask{Minutes: 1, Kit: []string{}}, "circles 1 | 2 min, 0 contacts | not kept: no balance drill fits | not kept: the shortest drill takes 2 min"},
		{"no band", in("land"), plan.Ask{Minutes: 40, Kit: []string{}}, "circles 1, raises 1, stand 1, reach 1, pogo 1, stick 1, jog 1 | 20 min, 35 contacts"},
		{"Settle has its own drills and no contacts", in("settle"), long, "circles 1, pulls 1, stand 1 | 6 min, 0 contacts"},
		{"nothing leaves the ground in Control", in("control"), long, "circles 1, pulls 1, raises 1, stand 1, reach 1 | 12 min, 0 contacts"},
		{"the ladder's level", in("land").done(2, 1, 0, "stand 1").answer(3, false).done(3, 1, 0, "stand 1").answer(4, false), plan.Ask{Minutes: 2, Kit: []string{}}, "stand 2 | 2 min, 0 contacts"},

		{"the session's cap is spent by a pogo test", in("land").test(10, "pogo", rehab.Left, 20, 20, 20), long,
			"circles 1, pulls 1, raises 1, stand 1, reach 1, stick 1, jog 1 | 20 min, 15 contacts | at most 20 ground contacts: 60 today, 60 in 7 days"},
		{"… by hops, one each", in("land").test(10, "hop", rehab.Left, 120, 120, 120), long,
			"circles 1, pulls 1, raises 1, stand 1, reach 1, pogo 1, stick 1, jog 1 | 22 min, 35 contacts | at most 77 ground contacts: 3 today, 3 in 7 days"},
		{"… altogether", in("land").test(10, "pogo", rehab.Left, 20, 20, 20, 20), long, "circles 1, pulls 1, raises 1, stand 1, reach 1, jog 1 | 17 min, 0 contacts | no jumps or landings: 80 today already"},
		{"the week's cap", in("land").done(4, 1, 80).done(6, 1, 80).done(8, 1, 70), long,
			"circles 1, pulls 1, raises 1, stand 1, reach 1, jog 1 | 17 min, 0 contacts | at most 10 ground contacts: 0 today, 230 in 7 days"},
		{"the week is seven days with today", in("land").done(3, 1, 80).done(6, 1, 80).done(8, 1, 70), long,
			"circles 1, pulls 1, raises 1, stand 1, reach 1, pogo 1, stick 1, jog 1 | 22 min, 35 contacts"},
		{"the week's cap is reached", in("land").done(4, 1, 80).done(6, 1, 80).done(8, 1, 80), long, "circles 1, pulls 1, raises 1, stand 1, reach 1, jog 1 | 17 min, 0 contacts | no jumps or landings: 240 in the last 7 days"},
		{"contacts yesterday, before Sport", in("land").done(9, 1, 15), long, "circles 1, pulls 1, raises 1, stand 1, reach 1, jog 1 | 17 min, 0 contacts | no jumps or landings: 15 yesterday"},
		{"contacts yesterday, in Sport", in("sport").done(9, 1, 15), long, "circles 1, pulls 1, raises 1, stand 1, reach 1, pogo 1, stick 1, jog 1 | 22 min, 35 contacts"},
		{"a team session yesterday", in("land").log(at(9, 18), rehab.Tested{Test: "team-session", Choice: "part"}), long,
			"circles 1, pulls 1, raises 1, stand 1, reach 1, jog 1 | 17 min, 0 contacts | no jumps or landings: 20 yesterday"},
		{"a plan sent yesterday and not answered counts as done", in("land").sent(9, 35, "pogo 1"), long,
			"circles 1, pulls 1, raises 1, stand 1, reach 1, jog 1 | 17 min, 0 contacts | no jumps or landings: 35 yesterday"},
		{"… but not when nothing of it was done", in("land").sent(9, 35, "pogo 1").log(at(9, 18), rehab.Trained{Did: "none", Side: rehab.Left, Why: "bus"}), long,
			"circles 1, pulls 1, raises 1, stand 1, reach 1, pogo 1, stick 1, jog 1 | 22 min, 35 contacts"},
		{"a plan of today is replaced by the next", in("land").sent(10, 35, "pogo 1"), long, "circles 1, pulls 1, raises 1, stand 1, reach 1, pogo 1, stick 1, jog 1 | 22 min, 35 contacts"},
		{"told twice, counted once", in("land").done(10, 1, 30, "pogo 1").done(10, 1, 30, "pogo 1"), long,
			"circles 1, pulls 1, raises 1, stand 1, reach 1, pogo 1, stick 1, jog 1 | 22 min, 35 contacts | at most 50 ground contacts: 30 today, 30 in 7 days"},

		{"the day before a match, and not for matches", in("sport"), plan.Ask{Minutes: 40, Kit: []string{}, MatchNext: true}, "circles 1, raises 1, stand 1, reach 1, pogo 1, stick 1, jog 1 | 20 min, 35 contacts"},
		{"the day before a match, and may play it", in("returned"), plan.Ask{Minutes: 40, Kit: []string{}, MatchNext: true}, "circles 1, raises 1, stand 1, reach 1, jog 1 | 15 min, 0 contacts | no jumps or landings: match ahead"},
		{"a worse morning: the work of Control, nothing leaves the ground", in("land").answer(10, true), long,
			"circles 1, pulls 1, raises 1, stand 1, reach 1 | 12 min, 0 contacts | one level down and no jumps or landings: this morning was worse"},
		{"… one level down, though it was not done yesterday", in("land").done(2, 1, 0, "stand 1").answer(3, false).done(3, 1, 0, "stand 1").answer(4, false).answer(10, true), plan.Ask{Minutes: 2, Kit: []string{}},
			"stand 1 | 2 min, 0 contacts | one level down and no jumps or landings: this morning was worse"},
		{"… and one, not two, where it was", climber().done(9, 1, 0, "stand 3").answer(10, true), plan.Ask{Minutes: 40, Kit: []string{}},
			"circles 1, raises 1, stand 2, reach 1 | 10 min, 0 contacts | one level down and no jumps or landings: this morning was worse"},
		{"a worse morning yesterday stands while nobody answers", in("land").answer(9, true), long,
			"circles 1, pulls 1, raises 1, stand 1, reach 1 | 12 min, 0 contacts | one level down and no jumps or landings: worse on Mon, not answered since"},
		{"… and is over when today's is well", in("land").answer(9, true).answer(10, false), long, "circles 1, pulls 1, raises 1, stand 1, reach 1, pogo 1, stick 1, jog 1 | 22 min, 35 contacts"},
		{"no jumping", in("land").log(at(9, 9), restrict(rehab.Modified, "Jumping")), long, "circles 1, pulls 1, raises 1, stand 1, reach 1, jog 1 | 17 min, 0 contacts | no jumps or landings: “no Jumping” stands"},
		{"no running", in("land").log(at(9, 9), restrict(rehab.Modified, "running")), long, "circles 1, pulls 1, raises 1, stand 1, reach 1, pogo 1, stick 1 | 17 min, 35 contacts | nothing that runs: “no running” stands"},
		{"no heading", in("land").log(at(9, 9), restrict(rehab.Modified, "heading")), long, "circles 1, pulls 1, raises 1, stand 1, reach 1, pogo 1, stick 1, jog 1 | 22 min, 35 contacts"},

		{"held", in("land").log(at(9, 9), rehab.Screened{Answers: []rehab.Answer{{Finding: "squeeze", Yes: true}}}), long, "No drills: the ankle is held. Protect it and do not load it until medical staff say so."},
		{"sprained again", in("land").log(at(9, 9), rehab.Sprained{Side: rehab.Left, Again: true}), long, "No drills: the ankle is held. Protect it and do not load it until medical staff say so."},
		{"something is wrong", in("land").log(at(9, 9), rehab.Noted{Alert: true}), long, "No drills: something is wrong with it. Do not load it until medical staff have examined it."},
		{"not examined", unseen(), long, "No drills yet: the ankle is not cleared. Protect it and do not load it until medical staff say so."},
		{"ill", in("land").log(at(9, 9), restrict(rehab.Unavailable)), long, "No drills: unavailable for another reason. Ask the medical staff when to go on."},
		{"a course without drills", in("land").log(at(9, 9), rehab.Lifted{Course: "other", Reason: "fracture"}), long, "No drills are proposed on this course: do what medical staff tell you."},
		{"a stage the protocol does not have", in("agility"), long, "No drills: the protocol this ankle follows has no stage agility. Ask the medical staff."},
	} {
		p := c.r.plan(at(10, 20), c.ask)
		want(t, c.what, says(p), c.want, practice)
		for _, it := range p.Items {
			if len(it.Why) == 0 || strings.TrimSpace(strings.Join(it.Why, "")) == "" {
				t.Errorf("%s: %s has no reason", c.what, it.Drill.Key)
			}
		}
	}
}

// unseen is an ankle that nobody has examined.
func unseen() *record {
	r := in("settle")
	r.entries = r.entries[:1]
	return r
}

// climber has reached the third level of stand.
func climber() *record {
	r := in("land")
	for n, level := range []string{"1", "1", "2", "2"} {
		r.done(n+2, 1, 0, "stand "+level).answer(n+3, false)
	}
	return r
}

// What cannot be kept gives way in a stated order, and the plan says so.
func TestWhatGivesWay(t *testing.T) {
	still := drill("still", rehab.StaticBalance, stages, "", "4/0")
	wall := drill("wall", rehab.StaticBalance, stages, "wall", "2/0")
	calf := drill("calf", rehab.Strength, stages, "", "3/0")
	hops := drill("hops", rehab.Impact, moving, "", "2/90")
	for _, c := range []struct {
		what   string
		drills []rehab.Drill
		ask    plan.Ask
		want   string
	}{
		{"balance comes before what is worth more", []rehab.Drill{still, calf}, plan.Ask{Minutes: 4, Kit: []string{}}, "still 1 | 4 min, 0 contacts"},
		{"the balance drill needs a wall", []rehab.Drill{wall, calf}, plan.Ask{Minutes: 9, Kit: []string{}}, "calf 1 | 3 min, 0 contacts | not kept: no balance drill fits"},
		{"the balance drill takes too long", []rehab.Drill{still, calf}, plan.Ask{Minutes: 3, Kit: []string{}}, "calf 1 | 3 min, 0 contacts | not kept: no balance drill fits"},
		{"neither fits: both are said", []rehab.Drill{still, calf}, plan.Ask{Minutes: 2, Kit: []string{}}, "calf 1 | 3 min, 0 contacts | not kept: no balance drill fits | not kept: the shortest drill takes 3 min"},
		{"the shortest balances", []rehab.Drill{still}, plan.Ask{Minutes: 2, Kit: []string{}}, "still 1 | 4 min, 0 contacts | not kept: the shortest drill takes 4 min"},
		{"contacts never give way", []rehab.Drill{hops}, plan.Ask{Minutes: 9, Kit: []string{}}, "No drill of Land fits what there is today."},
		{"… nor does kit", []rehab.Drill{wall}, plan.Ask{Minutes: 9, Kit: []string{}}, "No drill of Land fits what there is today."},
		{"no catalogue at all", nil, plan.Ask{}, "No drill of Land fits what there is today."},
	} {
		r := in("land")
		r.p = with(trial, c.drills...)
		want(t, c.what, says(r.plan(at(10, 11), c.ask)), c.want, practice)
	}
}

// A protocol that says nothing of planning plans nothing with contacts, and does not fail.
func TestNoPlanningInTheProtocol(t *testing.T) {
	r := in("land")
	p := *trial
	p.Planning = rehab.Planning{}
	r.p = &p
	want(t, "every drill without contacts and kit", says(r.plan(at(10, 11), plan.Ask{Minutes: 40})), "circles 1, raises 1, stand 1, reach 1, jog 1 | 15 min, 0 contacts", practice)
}

// The reasons: what the next gate lacks, how far a quality falls short, and how long it was not trained.
func TestTheReasons(t *testing.T) {
	r := in("load").test(9, "calf-raise", rehab.Left, 10).test(9, "calf-raise", rehab.Right, 20)
	r.done(7, 1, 0, "circles 1")
	got := map[string]string{}
	for _, it := range r.plan(at(10, 11), plan.Ask{Minutes: 40, Kit: []string{}}).Items {
		got[it.Drill.Key] = strings.Join(it.Why, "; ")
	}
	want(t, "strength", got["raises"], "Control needs it: calf-raise symmetry 50 %, needs 70 (20 short) (vs other side; 10 of the floor of 24); strength not trained yet", practice)
	want(t, "mobility", got["circles"], "Control asks for knee-to-wall; no mobility for 3 days", practice)
	want(t, "balance", got["stand"], "Control asks for balance; static balance not trained yet", practice)
}

// An uninjured side of nothing, one never measured, and two at the cap have no shortfall to plan for.
func TestNoShortfallWithoutAComparison(t *testing.T) {
	capped := func(r *record, side rehab.Side) *record {
		return r.log(at(9, 12), rehab.Tested{Test: "balance", Side: side, Trials: []rehab.Trial{{Value: 60, Capped: true}}})
	}
	for _, c := range []struct {
		what string
		r    *record
		want int
	}{
		{"other side 0", in("load").test(9, "balance", rehab.Left, 0).test(9, "balance", rehab.Right, 0), 0},
		{"other side never measured", in("load").test(9, "balance", rehab.Left, 10), 0},
		{"other side failed", in("load").test(9, "balance", rehab.Left, 10).log(at(9, 13), rehab.Tested{Test: "balance", Side: rehab.Right, Trials: []rehab.Trial{{Failed: true}}}), 0},
		{"both at the cap", capped(capped(in("load"), rehab.Left), rehab.Right), 0},
		{"ahead of the other side", in("load").test(9, "balance", rehab.Left, 40).test(9, "balance", rehab.Right, 30), 0},
		{"40 % short", in("load").test(9, "balance", rehab.Left, 18).test(9, "balance", rehab.Right, 30), 40},
		{"nothing at all of the injured side", in("load").test(9, "balance", rehab.Left, 0).test(9, "balance", rehab.Right, 30), 100},
	} {
		a := c.r.assess(at(10, 11))
		if got := rehab.Shortfalls(a.State, a.Views[0], at(10, 11))[rehab.StaticBalance].Percent; got != c.want {
			t.Errorf("%s: %d %%, want %d", c.what, got, c.want)
		}
	}
}
