package bot

import (
	"context"
	"fmt"
	"strings"
	"time"

	"footing/commands"
	"footing/rehab"
	"footing/store"
)

// itself is the key of the member that stands for the bot: its questions to a room are asked of nobody else.
const itself = "footing"

// say writes what a slot is for. It is false when there is nothing to say.
func (l *look) say(ctx context.Context, s rehab.Slot) (bool, error) {
	if s.Athlete != 0 {
		return l.remind(ctx, s)
	}
	place, cards, err := MedicalRoom, []commands.Reply(nil), error(nil)
	l.env.Medical = true
	switch s.What {
	case rehab.MorningReport:
		place = StaffRoom
		cards, err = l.report(ctx, s)
	case rehab.ClinicList:
		cards, err = commands.ClinicCard(ctx, l.env)
	case rehab.WeekSummary:
		cards, err = commands.WeekCard(ctx, l.env)
	}
	if err != nil || len(cards) == 0 {
		return false, err
	}
	bot, err := l.account(ctx, itself)
	if err != nil {
		return false, err
	}
	return true, l.send(ctx, s, place, bot, cards)
}

// report is the morning report, and keeps what it tells of each athlete.
func (l *look) report(ctx context.Context, s rehab.Slot) ([]commands.Reply, error) {
	l.env.Medical = false
	text, told, err := commands.Availability(ctx, l.env)
	if err != nil {
		return nil, err
	}
	return []commands.Reply{{Lines: text}}, l.tx.PutTold(ctx, s.Day.Format(time.DateOnly), told)
}

// remind writes to an athlete, who reads and answers as themselves.
func (l *look) remind(ctx context.Context, s rehab.Slot) (bool, error) {
	a, err := l.tx.Athlete(ctx, s.Athlete)
	if err != nil {
		return false, err
	}
	accounts, err := l.env.Records.Accounts(ctx)
	if err != nil {
		return false, err
	}
	m := accounts[a.ID]
	m.Roles = []rehab.Role{rehab.AthleteRole}
	l.env.Actor, l.env.Medical, l.env.Direct = m, false, true
	var cards []commands.Reply
	switch s.What {
	case rehab.MorningQuestion:
		cards, err = commands.MorningCards(ctx, l.env, a)
	case rehab.DrillCard:
		cards, err = commands.DrillCards(ctx, l.env, a)
	case rehab.Nudge:
		cards, err = commands.NudgeCards(ctx, l.env, a)
	case rehab.ConsentQuestion:
		cards = commands.ConsentCard(l.env)
	}
	if err != nil || len(cards) == 0 {
		return false, err
	}
	if teams, err := l.tx.LinkedTeams(ctx, m.Key); err != nil {
		return false, err
	} else if len(teams) > 1 {
		for i := range cards {
			cards[i].Lines = append([]string{l.team.Name + ":"}, cards[i].Lines...)
		}
	}
	return true, l.send(ctx, s, DirectTo(m.Key), m, cards)
}

// send writes the cards of a slot into the outbox, keeps their buttons, asked of one member, and what they record.
func (l *look) send(ctx context.Context, s rehab.Slot, place Place, of rehab.Member, cards []commands.Reply) error {
	for i, card := range cards {
		key := fmt.Sprintf("%s/%d/%s/%d", strings.ReplaceAll(occurrence(s), " ", "."), l.team.ID, s.Day.Format(time.DateOnly), i)
		if card.Health {
			card.Lines = append(card.Lines, l.env.Protocol.Caution)
		}
		parts := split(strings.Join(card.Lines, "\n"))
		for j, text := range parts {
			part, m := fmt.Sprintf("%s.%d", key, j), body{Text: text}
			if j == len(parts)-1 {
				var err error
				m.Buttons, err = l.pending(ctx, card.Buttons, store.Pending{
					Group: part, Place: string(place), Source: key, SourceRow: itsOwn, AskedOf: of.ID, Anyone: s.Athlete == 0, Asked: l.tx.Now(), Expires: l.tx.Now().Add(questionLife),
				})
				if err != nil {
					return err
				}
			}
			if err := l.post(ctx, place, kindOf(s), part, m, l.tx.Now(), s.Until); err != nil {
				return err
			}
		}
		for j := range card.Entries {
			card.Entries[j].Author, card.Entries[j].Source = of.ID, key
		}
		if err := l.tx.Append(ctx, card.Entries); err != nil {
			return err
		}
	}
	return nil
}

func kindOf(s rehab.Slot) string {
	if s.Athlete == 0 {
		return "report"
	}
	return "reminder"
}

func (l *look) post(ctx context.Context, place Place, kind, key string, m body, due, until time.Time) error {
	o, err := outgoing(l.team, place, kind, key, m)
	if err != nil {
		return err
	}
	o.Due, o.Expires = due, until
	_, err = l.tx.Enqueue(ctx, o)
	return err
}

// tellMissed tells staff in one message each what did not go out in time, never in quiet hours.
func (l *look) tellMissed(ctx context.Context) error {
	var reports, whats []string
	var days []time.Time
	count := map[string]int{}
	for _, s := range l.missed {
		switch {
		case s.What == rehab.MorningReport:
			reports = append(reports, s.Day.Format("Mon 2 Jan"))
			continue
		case s.What == rehab.Nudge: // nobody misses that
			continue
		case count[s.What] == 0:
			whats = append(whats, s.What)
		}
		count[s.What]++
		days = append(days, s.Day)
	}
	if len(reports) > 0 {
		says := fmt.Sprintf("The morning report of %s did not go out in time. Type report for the state now.", strings.Join(reports, ", "))
		if err := l.tell(ctx, StaffRoom, says); err != nil {
			return err
		}
	}
	if len(whats) == 0 {
		return nil
	}
	for i, what := range whats {
		whats[i] = fmt.Sprintf("%s (%d)", missedSay[what], count[what])
	}
	from, to := days[0].Format("Mon 2 Jan"), days[len(days)-1].Format("Mon 2 Jan")
	if from != to {
		from += " to " + to
	}
	return l.tell(ctx, MedicalRoom, fmt.Sprintf("Not sent in time, %s: %s. Ask and tell them yourself; clinic shows the list now.", from, strings.Join(whats, ", ")))
}

// missedSay names what was missed.
var missedSay = map[string]string{
	rehab.ClinicList: "clinic lists", rehab.WeekSummary: "summaries", rehab.MorningQuestion: "morning questions", rehab.DrillCard: "drills", rehab.ConsentQuestion: "questions for consent",
}

// tell says something to a room once for this look, at the end of quiet hours when it is in them.
func (l *look) tell(ctx context.Context, place Place, says string) error {
	due, local := l.tx.Now(), l.env.Now
	if at := rehab.Clock(local.Hour()*60 + local.Minute()); l.habits.Silent(at) {
		due = l.habits.Ends(local)
	}
	return l.post(ctx, place, "notice", fmt.Sprintf("missed/%d/%d/%s", l.team.ID, l.tx.Now().UnixMicro(), place), body{Text: says}, due, time.Time{})
}
