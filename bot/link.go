package bot

import (
	"context"
	"fmt"
	"strings"
	"unicode"

	"footing/commands"
	"footing/rehab"
	"footing/store"
)

// maxName is the longest name shown, in letters.
const maxName = 60

// named is what someone calls themselves, on one line and not too long: they choose it, and medical staff
// read it. Without angle brackets it cannot pass for a role, a channel or somebody else's account.
func named(name string) string {
	name = strings.Join(strings.FieldsFunc(name, func(r rune) bool {
		return unicode.IsSpace(r) || unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || r == '<' || r == '>'
	}), " ")
	if letters := []rune(name); len(letters) > maxName {
		name = string(letters[:maxName])
	}
	return strings.ToValidUTF8(name, "")
}

// Link ties a chat account to the athlete who wears a shirt, and records the consent of all who must
// give it. It is for fronts that have nobody to ask, as a terminal; a chat server's athletes link
// themselves. store.ErrNotFound when nobody wears the shirt.
func (b *Bot) Link(ctx context.Context, team, author string, shirt int) error {
	return b.Store.Do(ctx, b.Clock(), func(tx *store.Tx) error {
		t, err := tx.Team(ctx, team)
		if err != nil {
			return err
		}
		if err := tx.Enter(ctx, t.ID); err != nil {
			return err
		}
		roster, err := tx.Athletes(ctx)
		if err != nil {
			return err
		}
		for _, a := range roster {
			if a.Shirt == shirt {
				return link(ctx, tx, t, a, author)
			}
		}
		return fmt.Errorf("linking shirt %d: %w", shirt, store.ErrNotFound)
	})
}

func link(ctx context.Context, tx *store.Tx, t rehab.Team, a rehab.Athlete, author string) error {
	if _, err := tx.Lock(ctx, a.ID); err != nil {
		return err
	}
	m, err := tx.Member(ctx, author, []rehab.Role{rehab.AthleteRole})
	if err != nil {
		return err
	}
	if m.Athlete == a.ID {
		return nil // what they said since stands
	}
	if err := tx.Part(ctx, a.ID); err != nil {
		return err
	}
	if err := tx.Link(ctx, m.ID, a.ID); err != nil {
		return err
	}
	said := []rehab.Body{rehab.Linked{Account: author}, rehab.Consented{Version: commands.ConsentVersion, Given: true, By: rehab.ByAthlete}}
	if a.Minor(tx.Now(), t.StrictMinors) {
		said = append(said, rehab.Consented{Version: commands.ConsentVersion, Given: true, By: rehab.ByGuardian})
	}
	for _, b := range said {
		e := rehab.Entry{Athlete: a.ID, At: tx.Now(), Source: "link/" + author, Body: b}
		if err := tx.Append(ctx, []rehab.Entry{e}); err != nil {
			return err
		}
	}
	return nil
}
