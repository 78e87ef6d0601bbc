package commands

import (
	"context"
	"fmt"

	"footing/rehab"
)

type linkArgs struct {
	Athlete rehab.Athlete
	Account []string
}

func (a *linkArgs) fields() []Field {
	account := accountRef.field("account", 1, &a.Account)
	account.Optional = false
	return []Field{Athlete(&a.Athlete), account}
}

// LinkCmd gives an athlete the chat account that speaks for them from then on. Only medical staff do
// that: whoever has the account answers in the athlete's name and reads what is meant for them.
var LinkCmd = New(Def[linkArgs]{
	Name:     linkName,
	Summary:  "Confirm that a chat account is an athlete's.",
	Exact:    true,
	Needs:    rehab.Decide,
	Privacy:  MedicalOnly,
	Fields:   (*linkArgs).fields,
	Subject:  func(a *linkArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"link 7 account <@1>"},
	Run:      link,
})

func link(ctx context.Context, env *Env, a linkArgs) (Reply, error) {
	who, err := env.known(ctx, a.Account[0])
	if err != nil {
		return Reply{}, err
	}
	accounts, err := env.Records.Accounts(ctx)
	if err != nil {
		return Reply{}, err
	}
	holder := accounts[a.Athlete.ID]
	switch other, err := env.linkedTo(ctx, who); {
	case err != nil:
		return Reply{}, err
	case other.ID == a.Athlete.ID:
		return Reply{}, refuse("%s is linked with %s already.", a.Athlete.Label(), calls(who))
	case other.ID != 0:
		return Reply{}, refuse("%s is linked with %s already: one account is one athlete. Part them first: unlink %d. Nothing was changed.", calls(who), other.Label(), other.Shirt)
	case holder.ID != 0 && !env.Confirmed:
		return Reply{}, &Refusal{
			Says:    fmt.Sprintf("%s is linked with %s. Move it to %s? %s can then neither answer nor read for them.", a.Athlete.Label(), calls(holder), calls(who), capital(calls(holder))),
			Buttons: []Button{{Label: "Move it", Line: env.Call.Text(), Confirmed: true, Strict: true, About: a.Athlete.ID}}, // from whom it says, or it is asked anew
		}
	}
	reply := lines(fmt.Sprintf("%s is linked with %s. They are asked for consent in a direct message; nothing else is sent before.", a.Athlete.Label(), calls(who)))
	if a.Athlete.Minor(env.Now, env.Team.StrictMinors) {
		reply.Lines = append(reply.Lines, fmt.Sprintf("Under 18: a parent or guardian has to agree too. Ask them, then type: guardian %d agreed", a.Athlete.Shirt))
	}
	reply.Link = &Link{Athlete: a.Athlete.ID, Account: who.Key}
	reply.Entries = []rehab.Entry{{Athlete: a.Athlete.ID, At: env.Now, Body: rehab.Linked{Account: who.Key}}}
	reply.Asides = []Aside{{
		Account: who.Key, Life: askLife, Buttons: consentButtons(),
		Lines: append([]string{fmt.Sprintf("You are linked with %s, number %d. One question first:", env.Team.Name, a.Athlete.Shirt)}, consentText(env.Team)...),
	}}
	if holder.ID != 0 {
		reply.Asides = append(reply.Asides, parted(env, a.Athlete, holder))
	}
	return reply, nil
}

// known finds the member of an account. Who was mentioned need not have written yet.
func (e *Env) known(ctx context.Context, account string) (rehab.Member, error) {
	m, err := e.Records.Account(ctx, account)
	if err == nil && m.ID == 0 {
		if !digits.MatchString(account) {
			return m, refuse("Nobody with the account %s has written here. They press This is me on the invite card, or type link-me and their number.", account)
		}
		m.Key = account
	}
	return m, err
}

// linkedTo is the athlete on the roster whom an account is linked with, the zero Athlete when none is.
func (e *Env) linkedTo(ctx context.Context, m rehab.Member) (rehab.Athlete, error) {
	roster, err := e.Records.Athletes(ctx)
	for _, a := range roster {
		if m.Athlete != 0 && a.ID == m.Athlete {
			return a, err
		}
	}
	return rehab.Athlete{}, err
}

// parted tells an account that it speaks for an athlete no longer.
func parted(env *Env, a rehab.Athlete, holder rehab.Member) Aside {
	return Aside{Account: holder.Key, Lines: []string{fmt.Sprintf("You are no longer linked with %s, number %d. If that is wrong, tell the medical staff.", env.Team.Name, a.Shirt)}}
}

// NotThem answers that an account is not the athlete's it says.
var NotThem = New(Def[linkArgs]{
	Name:     notThemName,
	Summary:  "Answer that a chat account is not the athlete's it says.",
	Exact:    true,
	Needs:    rehab.Decide,
	Privacy:  MedicalOnly,
	Fields:   (*linkArgs).fields,
	Subject:  func(a *linkArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"not-them 7 account <@1>"},
	Run: func(ctx context.Context, env *Env, a linkArgs) (Reply, error) {
		who, err := env.known(ctx, a.Account[0])
		if err != nil {
			return Reply{}, err
		}
		reply := lines(fmt.Sprintf("Nothing was linked: %s is told that medical staff did not confirm it.", calls(who)))
		reply.Asides = []Aside{{Account: who.Key, Lines: []string{fmt.Sprintf("Medical staff of %s did not confirm that you wear %d. If you do, speak to them.", env.Team.Name, a.Athlete.Shirt)}}}
		return reply, nil
	},
})

type unlinkArgs struct{ Athlete rehab.Athlete }

// Unlink parts an athlete from their account.
var Unlink = New(Def[unlinkArgs]{
	Name:     "unlink",
	Summary:  "Part an athlete from their chat account.",
	Exact:    true,
	Needs:    rehab.Decide,
	Privacy:  MedicalOnly,
	Fields:   func(a *unlinkArgs) []Field { return []Field{Athlete(&a.Athlete)} },
	Subject:  func(a *unlinkArgs) *rehab.Athlete { return &a.Athlete },
	Examples: []string{"unlink 7"},
	Run: func(ctx context.Context, env *Env, a unlinkArgs) (Reply, error) {
		accounts, err := env.Records.Accounts(ctx)
		if err != nil {
			return Reply{}, err
		}
		holder := accounts[a.Athlete.ID]
		if holder.ID == 0 {
			return Reply{}, refuse("%s has no account linked.", a.Athlete.Label())
		}
		reply := lines(fmt.Sprintf("%s is parted from %s, who can neither answer nor read for them now.", a.Athlete.Label(), calls(holder)))
		reply.Link = &Link{Athlete: a.Athlete.ID}
		reply.Entries = []rehab.Entry{{Athlete: a.Athlete.ID, At: env.Now, Body: rehab.Linked{}}}
		reply.Asides = []Aside{parted(env, a.Athlete, holder)}
		return reply, nil
	},
})
