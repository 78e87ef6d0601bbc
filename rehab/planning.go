package rehab

// Planning is how today's drills are chosen: package plan reads it.
type Planning struct {
	Minutes     int            `toml:"minutes"`      // of a session when nobody says
	MostMinutes int            `toml:"most_minutes"` // that may be asked for
	LeastDrill  int            `toml:"least_drill"`  // minutes that any drill takes, with changing over to it
	Kit         []string       `toml:"kit"`          // that is there when nobody says, of Kits
	SpacedUntil string         `toml:"spaced_until"` // the stage from which contacts may come on days that follow each other
	TeamSession map[string]int `toml:"team_session"` // ground contacts of a team session, by its kind
	Jumping     []string       `toml:"jumping"`      // words of a restriction that forbid ground contacts
	Running     []string       `toml:"running"`      // words that forbid running
	Caps        []ContactCap   `toml:"cap"`
	Weights     Weights        `toml:"weights"`
	Source      string         `toml:"source"`
}

// ContactCap is how often the foot may land in a stage. A stage without one has no contacts.
type ContactCap struct {
	Stage   string `toml:"stage"`
	Session int    `toml:"session"` // on one day
	Week    int    `toml:"week"`    // in any seven days running
	Source  string `toml:"source"`
}

// Weights say what makes a drill worth its minutes, in points.
type Weights struct {
	Base    int   `toml:"base"`    // of any drill of the stage
	Lacks   int   `toml:"lacks"`   // a test of its quality keeps the next gate shut
	Unknown int   `toml:"unknown"` // a test of its quality is missing or too old for the next gate
	Deficit int   `toml:"deficit"` // for each 10 % that its quality falls short
	Day     int   `toml:"day"`     // for each day its quality was not trained
	Days    int   `toml:"days"`    // at most so many of them
	Fresh   int   `toml:"fresh"`   // for each day the drill itself was not done, up to the same number
	Again   []int `toml:"again"`   // per cent of its points that the first, second, … drill of a quality counts
}

// Cap finds the contact cap of a stage; a stage without one allows none.
func (pl Planning) Cap(stage string) ContactCap {
	for _, c := range pl.Caps {
		if c.Stage == stage {
			return c
		}
	}
	return ContactCap{Stage: stage}
}

// Prevention is the block after a return and for athletes at risk.
type Prevention struct {
	Weeks        int    `toml:"weeks"`
	PerWeek      int    `toml:"per_week"`
	Sprains      int    `toml:"sprains"`            // so many of one side …
	WithinMonths int    `toml:"within_months"`      // … in so many months flag an athlete
	Instability  string `toml:"instability"`        // the test whose warning flags an athlete
	StandsMonths int    `toml:"instability_months"` // for how long, when nobody asks again; 0 for within_months
	FollowUps    []int  `toml:"follow_ups"`         // months after return
	Lead         int    `toml:"lead"`               // days before a follow-up from which an examination counts as it
	Source       string `toml:"source"`
}
