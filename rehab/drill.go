package rehab

import "slices"

// Drill is something to do, in some of the stages, at one of a few levels.
type Drill struct {
	Key     string            `toml:"key"`
	Name    string            `toml:"name"`
	Stages  []string          `toml:"stages"`
	Quality string            `toml:"quality"` // one of Qualities
	Kit     []string          `toml:"kit"`     // all that it needs, of Kits; empty for nothing
	Cue     string            `toml:"cue"`
	Stop    string            `toml:"stop"`
	Runs    bool              `toml:"runs"` // running: counted in minutes, never in ground contacts
	Ball    map[string]string `toml:"ball"` // how it is done with that sport's ball
	Levels  []DrillLevel      `toml:"level"`
	Source  string            `toml:"source"`
}

// DrillLevel is one step of a drill's ladder, the easiest first.
type DrillLevel struct {
	Dose     string `toml:"dose"`     // sets × reps, s, m or rounds, per side
	Minutes  int    `toml:"minutes"`  // of a session, both sides and rests in it
	Contacts int    `toml:"contacts"` // ground contacts of the injured leg, all sets
	From     string `toml:"from"`     // the earliest stage for it and the levels after it; the drill's own when empty
	Source   string `toml:"source"`   // of its numbers, where it is not the drill's
}

// What a drill trains, in the order a session goes through them.
const (
	Mobility       = "mobility"
	Strength       = "strength"
	StaticBalance  = "static balance"
	DynamicBalance = "dynamic balance"
	Impact         = "impact"
	Landing        = "landing"
	Power          = "power"
)

// Qualities lists what drills train.
var Qualities = []string{Mobility, Strength, StaticBalance, DynamicBalance, Impact, Landing, Power}

// Kits lists what a drill may need besides the ground.
var Kits = []string{"band", "wall", "ball", "partner", "step"}

// Sports lists those whose ball a drill may be done with.
var Sports = []string{"basketball", "cricket", "football", "handball", "hockey", "netball", "rugby", "volleyball"}

// Balances reports whether the drill trains balance, standing or moving.
func (d Drill) Balances() bool { return d.Quality == StaticBalance || d.Quality == DynamicBalance }

// In reports whether the drill belongs to a stage.
func (d Drill) In(stage string) bool { return slices.Contains(d.Stages, stage) }

// Drill finds a drill by key.
func (p *Protocol) Drill(key string) (Drill, bool) { return find(p.Drills, key) }

// Highest is the highest level of a drill that a stage allows, from 1, and 0 when it allows none.
func (p *Protocol) Highest(d Drill, stage string) int {
	if !d.In(stage) {
		return 0
	}
	_, rank := p.Stage(stage)
	highest := 0
	for i, l := range d.Levels {
		if _, from := p.Stage(l.From); l.From != "" && from > rank {
			break
		}
		highest = i + 1
	}
	return highest
}

func (d Drill) key() string { return d.Key }
