package commands

import (
	"context"
	"fmt"
	"strings"
	"time"

	"footing/rehab"
)

// ConsentVersion is that of the text below. Whoever changes what the text says raises it: everybody is
// then asked again.
const ConsentVersion = 1

const consentName = "consent" // the command; buttons carry its line

// consentText is what an athlete agrees to.
func consentText(t rehab.Team) []string {
	return []string{
		"When an ankle is hurt I ask you about pain, swelling and your drills, and keep your answers.",
		"The medical staff of " + t.Name + " read them. Coaches do not: they are told what you can train, never why.",
		"Nobody watches overnight. If something is wrong, tell medical staff; if it is bad, call emergency services.",
		"You can stop at any time: type withdraw.",
	}
}

func consentButtons() []Button {
	version := fmt.Sprintf(" version %d", ConsentVersion)
	return []Button{{Label: "I agree", Line: consentName + " yes" + version, Strict: true}, {Label: "No", Line: consentName + " no" + version, Strict: true}}
}

// Agreed reports whether all who must agree that an athlete is asked and written to have done so. No
// message about health goes to an athlete before.
func Agreed(st rehab.State, t rehab.Team, now time.Time) bool {
	return st.Consent.Lacks(ConsentVersion, st.Athlete.Minor(now, t.StrictMinors)) == ""
}

// NotAgreed refuses an athlete's line while consent is missing, and asks for it; nil when it is there.
func NotAgreed(st rehab.State, t rehab.Team, now time.Time) error {
	const unheard = "That was not kept and nobody was told. "
	switch st.Consent.Lacks(ConsentVersion, st.Athlete.Minor(now, t.StrictMinors)) {
	case rehab.ByAthlete:
		return &Refusal{Says: strings.Join(append([]string{unheard + "I need your yes or no first:"}, consentText(t)...), "\n"), Buttons: consentButtons()}
	case rehab.ByGuardian:
		return refuse("%sA parent or guardian has to agree too: medical staff ask them. If something is wrong, tell medical staff; if it is bad, call emergency services.", unheard)
	}
	return nil
}

// unasked says for medical staff whose consent is still to come; "" when it is there, or was refused,
// which they were told of then.
func unasked(st rehab.State, env *Env) string {
	switch st.Consent.Lacks(ConsentVersion, st.Athlete.Minor(env.Now, env.Team.StrictMinors)) {
	case rehab.ByAthlete:
		if st.Consent.Athlete.Silent(ConsentVersion) {
			return "no consent yet"
		}
	case rehab.ByGuardian:
		if st.Consent.Guardian.Silent(ConsentVersion) {
			return fmt.Sprintf("no consent of a parent or guardian yet: guardian %d agreed", st.Athlete.Shirt)
		}
	}
	return ""
}

// oneself is the athlete who writes about themselves, with their record locked.
func (e *Env) oneself(ctx context.Context, command string) (rehab.Athlete, rehab.State, error) {
	if e.Actor.Athlete == 0 || !e.Direct {
		return rehab.Athlete{}, rehab.State{}, refuse("%s is for athletes, in a direct message to me.", command)
	}
	if _, err := e.Records.Lock(ctx, e.Actor.Athlete); err != nil {
		return rehab.Athlete{}, rehab.State{}, err
	}
	a, err := e.Records.Athlete(ctx, e.Actor.Athlete)
	if err != nil {
		return a, rehab.State{}, err
	}
	entries, err := e.Records.Entries(ctx, a.ID)
	return a, rehab.Fold(a, entries), err
}

// consented is the entry of someone's yes or no. It happened when it was said, not when it was asked.
func (e *Env) consented(a rehab.Athlete, given bool, by rehab.Party) []rehab.Entry {
	return []rehab.Entry{{Athlete: a.ID, At: e.Now, Body: rehab.Consented{Version: ConsentVersion, Given: given, By: by}}}
}

var (
	yesOrNo       = NewWords(Word{"yes", []string{"agree", "i agree", "agreed"}}, Word{"no", []string{"refuse", "refused"}})
	guardianWords = NewWords(Word{"agreed", []string{"agrees", "yes", "consented", "consents"}}, Word{"withdrew", []string{"withdraws", "withdrawn", "no", "refused"}})
)

type consentArgs struct {
	Answer  string
	Version float64
}

// ConsentCmd asks an athlete for consent and takes the answer.
var ConsentCmd = New(Def[consentArgs]{
	Name:          consentName,
	Summary:       "What you agree to: shows it, and takes your yes or no.",
	Exact:         true,
	BeforeConsent: true,
	Needs:         rehab.ReportSelf,
	Privacy:       OwnOnly,
	Fields: func(a *consentArgs) []Field {
		return []Field{
			Opt(Choice("answer", &a.Answer, yesOrNo)),
			Opt(Keyed("version", &a.Version, 1, 999, true, "version")),
		}
	},
	Examples: []string{"consent", "consent yes", "consent no"},
	Run:      takeConsent,
})

func takeConsent(ctx context.Context, env *Env, a consentArgs) (Reply, error) {
	me, st, err := env.oneself(ctx, consentName)
	if err != nil {
		return Reply{}, err
	}
	minor := me.Minor(env.Now, env.Team.StrictMinors)
	switch {
	case a.Answer == "" || a.Version != 0 && a.Version != ConsentVersion: // what was read is not what would be agreed to
		reply := lines(consentText(env.Team)...)
		if st.Consent.Lacks(ConsentVersion, false) == "" {
			reply.Lines = append(reply.Lines, "You agreed on "+st.Consent.Athlete.At.In(env.Now.Location()).Format("Mon 2 Jan 2006")+".")
			return reply, nil
		}
		reply.Buttons = consentButtons()
		return reply, nil
	case a.Answer == "no":
		return refused(env, me, st), nil
	}
	reply := lines("Thank you, that is kept. Type help for what you can send me, consent to read this again.")
	reply.Entries = env.consented(me, true, rehab.ByAthlete)
	st.Consent.Athlete = rehab.Agreement{Version: ConsentVersion, Given: true, At: env.Now}
	if !Agreed(st, env.Team, env.Now) {
		reply.Lines = []string{"Thank you, that is kept. A parent or guardian has to agree too: medical staff ask them. Nothing else is sent before."}
		reply.Alerts = []string{fmt.Sprintf("%s agreed. Under 18, or no date of birth: ask a parent or guardian too, then type: guardian %d agreed", me.Label(), me.Shirt)}
	} else if minor {
		reply.Lines[0] += " Your parent or guardian has agreed too."
	}
	return reply, nil
}

// Withdraw takes consent back.
var Withdraw = New(Def[struct{}]{
	Name:          "withdraw",
	Summary:       "Stop: nothing more is asked of you or sent to you.",
	Exact:         true,
	BeforeConsent: true,
	Needs:         rehab.ReportSelf,
	Privacy:       OwnOnly,
	Examples:      []string{"withdraw"},
	Run: func(ctx context.Context, env *Env, _ struct{}) (Reply, error) {
		me, st, err := env.oneself(ctx, "withdraw")
		if err != nil {
			return Reply{}, err
		}
		return refused(env, me, st), nil
	},
})

// refused records that an athlete does not agree, or no longer, and tells medical staff.
func refused(env *Env, me rehab.Athlete, st rehab.State) Reply {
	reply := lines("Nothing is asked of you or sent to you from now on. What was kept before stays in the medical record; ask medical staff about it. If you change your mind, type consent.")
	if c := st.Consent.Athlete; !c.Silent(ConsentVersion) && !c.Given {
		return reply // said already
	}
	reply.Entries = env.consented(me, false, rehab.ByAthlete)
	says := " did not agree to being asked."
	if st.Consent.Athlete.Given {
		says = " withdrew consent."
	}
	reply.Alerts = []string{me.Label() + says + " I ask and send them nothing; ask them yourself."}
	return reply
}

type guardianArgs struct {
	Athlete rehab.Athlete
	Word    string
}

// GuardianCmd records what a minor's parent or guardian said to medical staff.
var GuardianCmd = New(Def[guardianArgs]{
	Name:    "guardian",
	Also:    []string{"parent"},
	Summary: "Record that a minor's parent or guardian agreed, or withdrew.",
	Exact:   true,
	Needs:   rehab.LogMedical,
	Privacy: MedicalOnly,
	Fields: func(a *guardianArgs) []Field {
		return []Field{Athlete(&a.Athlete), Choice("answer", &a.Word, guardianWords)}
	},
	Subject:  func(a *guardianArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"guardian 7 agreed", "guardian 7 withdrew"},
	Run:      guardian,
})

func guardian(ctx context.Context, env *Env, a guardianArgs) (Reply, error) {
	if !a.Athlete.Minor(env.Now, env.Team.StrictMinors) {
		if a.Athlete.Born == "" {
			return Reply{}, refuse("No birth is known of %s. Put it in first: change %d born 2010-05-02", a.Athlete.Label(), a.Athlete.Shirt)
		}
		return Reply{}, refuse("%s is not under 18: only their own consent counts.", a.Athlete.Label())
	}
	entries, err := env.Records.Entries(ctx, a.Athlete.ID)
	if err != nil {
		return Reply{}, err
	}
	st := rehab.Fold(a.Athlete, entries)
	before := Agreed(st, env.Team, env.Now)
	given := a.Word == "agreed"
	st.Consent.Guardian = rehab.Agreement{Version: ConsentVersion, Given: given, At: env.Now}
	reply := lines(fmt.Sprintf("%s: parent or guardian %s, as told to you.", a.Athlete.Label(), a.Word))
	reply.Entries = env.consented(a.Athlete, given, rehab.ByGuardian)
	after, tell := Agreed(st, env.Team, env.Now), ""
	switch {
	case after && !before:
		reply.Lines[0] += " Both have agreed: they can be asked and written to."
		tell = "Your parent or guardian has agreed. Type help for what you can send me."
	case given && !after:
		reply.Lines[0] += " Their own consent is still missing: they find it with consent, in a direct message to me."
	case !given:
		reply.Lines[0] += " Nothing is asked of them or sent to them."
	}
	if before && !after {
		tell = "Your parent or guardian has withdrawn their consent: nothing is asked of you or sent to you from now on."
	}
	accounts, err := env.Records.Accounts(ctx)
	if holder := accounts[a.Athlete.ID]; holder.ID != 0 && tell != "" {
		reply.Asides = []Aside{{Account: holder.Key, Lines: []string{tell}}}
	}
	return reply, err
}
