package store

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"footing/rehab"
)

type teamRow struct {
	ID           int64
	Key          string
	Name         string
	Zone         string
	ReportAt     string  `db:"report_at"`
	StrictMinors bool    `db:"strict_minors"`
	ProtocolHash string  `db:"protocol_hash"`
	CreatedAt    instant `db:"created_at"`
	MedicalRoles string  `db:"medical_roles"`
	CoachRoles   string  `db:"coach_roles"`
	Medical      string  `db:"medical_channel"`
	Staff        string  `db:"staff_channel"`
	Sport        string
	SetUpBy      string  `db:"set_up_by"`
	ReadyAt      instant `db:"ready_at"`
	GoneAt       instant `db:"gone_at"`
	RoomFault    string  `db:"room_fault"`
	ReportFrom   instant `db:"report_from"`
}

func (r teamRow) team() rehab.Team {
	return rehab.Team{
		ID: r.ID, Key: r.Key, Name: r.Name, Zone: r.Zone, ReportAt: r.ReportAt, StrictMinors: r.StrictMinors, Protocol: r.ProtocolHash, Created: r.CreatedAt.Time,
		Sport: r.Sport, SetUpBy: r.SetUpBy, Ready: !r.ReadyAt.IsZero(), Gone: r.GoneAt.Time, RoomFault: r.RoomFault, ReportFrom: r.ReportFrom.Time,
		Rooms: rehab.Rooms{MedicalRoles: strings.Fields(r.MedicalRoles), CoachRoles: strings.Fields(r.CoachRoles), Medical: r.Medical, Staff: r.Staff},
	}
}

const teamColumns = `id, key, name, zone, report_at, strict_minors, protocol_hash, created_at, medical_roles, coach_roles, medical_channel, staff_channel, sport, set_up_by, ready_at, gone_at, room_fault, report_from`

const teamByKey = `SELECT ` + teamColumns + ` FROM teams WHERE key = $1`

// Team finds a team by the chat side's key. ErrNotFound when it was never set up.
func (t *Tx) Team(ctx context.Context, key string) (rehab.Team, error) {
	var r teamRow
	err := t.get(ctx, "finding the team", &r, teamByKey, key)
	return r.team(), err
}

// Team is a team by the chat side's key, as it stands now. ErrNotFound when it was never set up.
func (s *Store) Team(ctx context.Context, key string) (rehab.Team, error) {
	var r teamRow
	err := s.get(ctx, "finding the team", &r, teamByKey, key)
	return r.team(), err
}

// TeamByID reads a team.
func (t *Tx) TeamByID(ctx context.Context, id int64) (rehab.Team, error) {
	var r teamRow
	err := t.get(ctx, "reading the team", &r, `SELECT `+teamColumns+` FROM teams WHERE id = $1`, id)
	return r.team(), err
}

// Teams lists every team by id. It holds no health data.
func (t *Tx) Teams(ctx context.Context) ([]rehab.Team, error) {
	var rows []teamRow
	if err := t.list(ctx, "listing teams", &rows, `SELECT `+teamColumns+` FROM teams ORDER BY id`); err != nil {
		return nil, err
	}
	out := make([]rehab.Team, len(rows))
	for i, r := range rows {
		out[i] = r.team()
	}
	return out, nil
}

// Join makes the row of a team the bot has come to, not yet set up. One that is there keeps all it has,
// but for its name, and is no longer gone: what fell due meanwhile is not made up for.
func (t *Tx) Join(ctx context.Context, team rehab.Team) (rehab.Team, error) {
	var r teamRow
	err := t.get(ctx, "joining the team", &r, `INSERT INTO teams (key, name, zone, report_at, strict_minors, protocol_hash, created_at)
		VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT (key) DO UPDATE SET name = $2, gone_at = NULL,
			report_from = CASE WHEN teams.gone_at IS NULL THEN teams.report_from ELSE $7 END RETURNING `+teamColumns,
		team.Key, team.Name, team.Zone, team.ReportAt, team.StrictMinors, team.Protocol, at(t.now))
	if err != nil {
		return rehab.Team{}, err
	}
	return r.team(), t.watch(ctx, r.ID)
}

// LockTeam takes the team's row for this transaction and gives it as it stands: of two who set it up at
// once the second sees what the first has done.
func (t *Tx) LockTeam(ctx context.Context) (rehab.Team, error) {
	var r teamRow
	err := t.get(ctx, "locking the team", &r, `UPDATE teams SET name = name WHERE id = $1 RETURNING `+teamColumns, t.team)
	return r.team(), err
}

// PutTeam makes a team or changes its settings, by key. What only events change is kept: its protocol,
// whether the bot was removed, and the fault of its medical room. Another report time or zone counts from
// now on.
func (t *Tx) PutTeam(ctx context.Context, team rehab.Team) (rehab.Team, error) {
	var r teamRow
	var ready instant
	if team.Ready {
		ready = at(t.now)
	}
	err := t.get(ctx, "storing the team", &r, `INSERT INTO teams (key, name, zone, report_at, strict_minors, protocol_hash, created_at, medical_roles, coach_roles, medical_channel, staff_channel, sport, set_up_by, ready_at, report_from)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $7)
		ON CONFLICT (key) DO UPDATE SET name = $2, zone = $3, report_at = $4, strict_minors = $5, medical_roles = $8, coach_roles = $9,
			medical_channel = $10, staff_channel = $11, sport = $12, set_up_by = $13, ready_at = COALESCE(teams.ready_at, $14),
			report_from = CASE WHEN teams.zone <> $3 OR teams.report_at <> $4 OR teams.ready_at IS NULL THEN $7 ELSE teams.report_from END
		RETURNING `+teamColumns, team.Key, team.Name, team.Zone, team.ReportAt, team.StrictMinors, team.Protocol, at(t.now),
		strings.Join(team.Rooms.MedicalRoles, " "), strings.Join(team.Rooms.CoachRoles, " "), team.Rooms.Medical, team.Rooms.Staff, team.Sport, team.SetUpBy, ready)
	if err != nil {
		return rehab.Team{}, err
	}
	return r.team(), t.watch(ctx, r.ID)
}

// SetGone notes that the bot was removed from a team's server, or with a zero time that it is back.
func (t *Tx) SetGone(ctx context.Context, key string, when time.Time) error {
	return t.exec(ctx, "noting whether the bot is there", `UPDATE teams SET gone_at = $2 WHERE key = $1`, key, at(when))
}

// SetRoomFault keeps why the team's medical room is not private, or that it is.
func (t *Tx) SetRoomFault(ctx context.Context, says string) error {
	return t.exec(ctx, "keeping the fault of the medical room", `UPDATE teams SET room_fault = $2 WHERE id = $1`, t.team, says)
}

// Member finds or makes the row of whoever wrote, keeping the roles they were seen with.
func (t *Tx) Member(ctx context.Context, key string, roles []rehab.Role) (rehab.Member, error) {
	names := make([]string, len(roles))
	for i, r := range roles {
		names[i] = string(r)
	}
	var row struct {
		ID      int64
		Athlete *int64 `db:"athlete_id"`
		Name    string
	}
	err := t.get(ctx, "storing the member", &row, `INSERT INTO members (team_id, key, roles, created_at) VALUES ($1, $2, $3, $4)
		ON CONFLICT (team_id, key) DO UPDATE SET roles = $3 RETURNING id, athlete_id, name`, t.team, key, strings.Join(names, " "), at(t.now))
	if err != nil {
		return rehab.Member{}, err
	}
	m := rehab.Member{ID: row.ID, Key: key, Name: row.Name, Roles: slices.Clone(roles)}
	if row.Athlete != nil {
		m.Athlete = *row.Athlete
	}
	return m, nil
}

// Rename keeps what a member is called in the chat now.
func (t *Tx) Rename(ctx context.Context, member int64, name string) error {
	return t.exec(ctx, "keeping a member's name", `UPDATE members SET name = $3 WHERE team_id = $1 AND id = $2`, t.team, member, name)
}

// MemberNames gives what every member is called in the chat, or the chat side's key of whom no name is known.
func (t *Tx) MemberNames(ctx context.Context) (map[int64]string, error) {
	var rows []struct {
		ID   int64
		Name string
	}
	err := t.list(ctx, "listing members", &rows, `SELECT id, CASE WHEN name = '' THEN key ELSE name END AS name FROM members WHERE team_id = $1`, t.team)
	out := map[int64]string{}
	for _, r := range rows {
		out[r.ID] = r.Name
	}
	return out, err
}

type athleteRow struct {
	ID       int64
	Shirt    int
	Name     string
	Nick     string
	Position string
	Sex      string
	Born     string
	Leg      float64 `db:"leg_cm"`
	Active   bool
}

func (r athleteRow) athlete() rehab.Athlete { return rehab.Athlete(r) }

const athleteColumns = `id, shirt, name, nick, position, sex, born, leg_cm, active`

// Athletes lists the active roster by shirt.
func (t *Tx) Athletes(ctx context.Context) ([]rehab.Athlete, error) {
	var rows []athleteRow
	if err := t.list(ctx, "listing athletes", &rows, `SELECT `+athleteColumns+` FROM athletes WHERE team_id = $1 AND active IS TRUE ORDER BY shirt`, t.team); err != nil {
		return nil, err
	}
	out := make([]rehab.Athlete, len(rows))
	for i, r := range rows {
		out[i] = r.athlete()
	}
	return out, nil
}

// Athlete reads one athlete's row, on the roster or not; ErrNotFound when the team has none.
func (t *Tx) Athlete(ctx context.Context, id int64) (rehab.Athlete, error) {
	var r athleteRow
	err := t.get(ctx, "finding the athlete", &r, `SELECT `+athleteColumns+` FROM athletes WHERE team_id = $1 AND id = $2`, t.team, id)
	return r.athlete(), err
}

// ErrShirtTaken means another active athlete wears that number.
var ErrShirtTaken = errors.New("that shirt is taken")

// AddAthlete puts an athlete on the roster and gives them their id. fold makes a name comparable.
// ErrShirtTaken when someone active wears the number.
func (t *Tx) AddAthlete(ctx context.Context, a rehab.Athlete, fold func(string) string) (rehab.Athlete, error) {
	var r athleteRow
	err := t.get(ctx, "adding the athlete", &r, `INSERT INTO athletes
		(team_id, shirt, name, nick, name_folded, nick_folded, position, sex, born, leg_cm, active, created_at)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, TRUE, $11)
		ON CONFLICT (team_id, shirt) WHERE active IS TRUE DO NOTHING RETURNING `+athleteColumns,
		t.team, a.Shirt, a.Name, a.Nick, fold(a.Name), fold(a.Nick), a.Position, a.Sex, a.Born, a.Leg, at(t.now))
	if errors.Is(err, ErrNotFound) {
		return rehab.Athlete{}, fmt.Errorf("adding the athlete: %w", ErrShirtTaken)
	}
	if err != nil {
		return rehab.Athlete{}, err
	}
	return r.athlete(), t.exec(ctx, "starting the athlete's log", `INSERT INTO athlete_state (team_id, athlete_id) VALUES ($1, $2)`, t.team, r.ID)
}

// ChangeAthlete rewrites an athlete's row, by id.
func (t *Tx) ChangeAthlete(ctx context.Context, a rehab.Athlete, fold func(string) string) error {
	n, err := t.changed(ctx, "changing the athlete", `UPDATE athletes SET shirt = $3, name = $4, nick = $5, name_folded = $6, nick_folded = $7,
		position = $8, sex = $9, born = $10, leg_cm = $11, active = $12 WHERE team_id = $1 AND id = $2`,
		t.team, a.ID, a.Shirt, a.Name, a.Nick, fold(a.Name), fold(a.Nick), a.Position, a.Sex, a.Born, a.Leg, a.Active)
	if err == nil && n == 0 {
		return fmt.Errorf("changing the athlete: %w", ErrNotFound)
	}
	return err
}

// PutProtocol keeps the text of a protocol under its hash. embedded says that it came with the program.
func (t *Tx) PutProtocol(ctx context.Context, hash, name, body string, embedded bool) error {
	return t.exec(ctx, "storing the protocol", `INSERT INTO protocols (hash, name, body, embedded, added_at) VALUES ($1, $2, $3, $4, $5) ON CONFLICT (hash) DO NOTHING`, hash, name, body, embedded, at(t.now))
}

// FollowEmbedded moves every team whose protocol came with the program on to the one that comes with it
// now. Open episodes keep theirs.
func (t *Tx) FollowEmbedded(ctx context.Context, hash string) error {
	return t.exec(ctx, "moving teams to the present protocol", `UPDATE teams SET protocol_hash = $1 WHERE protocol_hash <> $1 AND protocol_hash IN (SELECT hash FROM protocols WHERE embedded IS TRUE)`, hash)
}

// ChooseProtocol gives the team entered another protocol for new episodes.
func (t *Tx) ChooseProtocol(ctx context.Context, hash string) error {
	return t.exec(ctx, "choosing the protocol", `UPDATE teams SET protocol_hash = $2 WHERE id = $1`, t.team, hash)
}

// Protocol reads the text of a protocol.
func (t *Tx) Protocol(ctx context.Context, hash string) (string, error) {
	var body string
	err := t.get(ctx, "reading the protocol", &body, `SELECT body FROM protocols WHERE hash = $1`, hash)
	return body, err
}
