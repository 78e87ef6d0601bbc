package commands

import (
	"cmp"
	"context"
	"fmt"
	"time"

	"footing/rehab"
)

// The commands whose lines buttons carry.
const (
	linkMeName  = "link-me"
	linkName    = "link"
	notThemName = "not-them"
)

const (
	inviteLife = 90 * 24 * time.Hour // a part of a season
	askLife    = 14 * 24 * time.Hour // what someone may answer when they next look
)

// InviteCmd posts a card with which athletes say who they are.
var InviteCmd = New(Def[struct{}]{
	Name:     "invite",
	Summary:  "Post the card with which athletes link their account; use it in a channel they read.",
	Exact:    true,
	Needs:    rehab.ManageRoster,
	Privacy:  Anyone,
	Examples: []string{"invite"},
	Run: func(_ context.Context, env *Env, _ struct{}) (Reply, error) {
		if env.Channel == "" {
			return Reply{}, refuse("Use invite in a channel that the athletes read: the card is posted there.")
		}
		reply := lines(fmt.Sprintf("The card is posted and works for %d days. Each athlete who presses it is confirmed in the medical channel.", int(inviteLife.Hours()/24)))
		reply.Asides = []Aside{{
			Channel: env.Channel, Anyone: true, Life: inviteLife, Buttons: []Button{{Label: "This is me", Line: linkMeName}},
			Lines: []string{
				"Athletes of " + env.Team.Name + ": press the button and choose your shirt number.",
				"Medical staff confirm it; then I ask in a direct message what you agree to. Nothing is kept before.",
			},
		}}
		return reply, nil
	},
})

type linkMeArgs struct {
	Shirt int
	After float64
}

// shownShirts is how many shirts are offered at once.
const shownShirts = 20

// LinkMe is how someone says which athlete they are. Nothing follows from it until medical staff confirm.
var LinkMe = New(Def[linkMeArgs]{
	Name:          linkMeName,
	Also:          []string{"this is me"},
	Summary:       "Say which shirt you wear; medical staff confirm it.",
	Exact:         true,
	BeforeConsent: true,
	Needs:         rehab.Claim,
	Privacy:       Anyone,
	Fields: func(a *linkMeArgs) []Field {
		return []Field{Opt(ShirtField(&a.Shirt)), Opt(Keyed("after", &a.After, 0, 999, true, "after"))}
	},
	Examples: []string{"link-me 7", "link-me"},
	Run: func(ctx context.Context, env *Env, a linkMeArgs) (Reply, error) {
		roster, err := env.Records.Athletes(ctx)
		if err != nil {
			return Reply{}, err
		}
		accounts, err := env.Records.Accounts(ctx)
		if err != nil {
			return Reply{}, err
		}
		for _, own := range roster {
			if own.ID == env.Actor.Athlete {
				return Reply{}, refuse("You are linked already, as number %d. If that is not you, tell the medical staff.", own.Shirt)
			}
		}
		if waits, err := env.Records.Claiming(ctx, env.Actor.ID); err != nil {
			return Reply{}, err
		} else if waits {
			return Reply{}, refuse("You have asked already. Medical staff confirm it; you hear of it in a direct message.")
		}
		if a.Shirt == 0 {
			return askShirt(roster, accounts, int(a.After))
		}
		for _, wearer := range roster {
			if wearer.Shirt == a.Shirt {
				return claim(env, wearer, accounts[wearer.ID]), nil
			}
		}
		return Reply{}, refuse("Nobody on the roster wears %d. Ask the medical staff to put you on it first.", a.Shirt)
	},
})

// askShirt offers the shirts that have no account. Numbers only: anyone may look.
func askShirt(roster []rehab.Athlete, accounts map[int64]rehab.Member, after int) (Reply, error) {
	var free []int
	for _, a := range roster {
		if accounts[a.ID].ID == 0 && a.Shirt > after {
			free = append(free, a.Shirt)
		}
	}
	if len(free) == 0 {
		return Reply{}, refuse("No more shirts without an account. If yours is taken, type link-me and your number: medical staff decide.")
	}
	reply := lines("Which shirt do you wear? If yours is not here, type link-me and your number.")
	for _, n := range free[:min(shownShirts, len(free))] {
		reply.Buttons = append(reply.Buttons, Button{Label: fmt.Sprint(n), Line: fmt.Sprintf("%s %d", linkMeName, n)})
	}
	if len(free) > shownShirts {
		reply.Buttons = append(reply.Buttons, Button{Label: "More", Line: fmt.Sprintf("%s after %d", linkMeName, free[shownShirts-1])})
	}
	return reply, nil
}

// claim asks medical staff whether someone wears a shirt.
func claim(env *Env, wearer rehab.Athlete, holder rehab.Member) Reply {
	reply := lines(fmt.Sprintf("Medical staff are asked whether you wear %d. You hear of it in a direct message.", wearer.Shirt))
	now := ""
	if holder.ID != 0 {
		now = ", who is linked with " + calls(holder) + " now"
	}
	// Anyone may call themselves anything: what the account is goes with the name.
	says := fmt.Sprintf("%s (account %s) says they wear %s%s. Confirm only if you know that account to be theirs.", cmp.Or(env.Actor.Name, "Someone"), accountRef.mention(env.Actor.Key), wearer.Label(), now)
	tail := fmt.Sprintf(" %d %s", wearer.Shirt, accountRef.list("account", []string{env.Actor.Key}))
	reply.Asides = []Aside{{
		Lines: []string{says}, Shows: env.Actor.Key, Life: askLife,
		Buttons: []Button{{Label: "Confirm", Line: linkName + tail, About: wearer.ID}, {Label: "Not them", Line: notThemName + tail, About: wearer.ID}},
	}}
	return reply
}

// calls is how a member is named in a message.
func calls(m rehab.Member) string {
	if m.Name == "" {
		return "the account " + accountRef.mention(m.Key)
	}
	return m.Name
}
