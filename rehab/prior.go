package rehab

// Prior is what is known of how long a course takes before a club has any of its own to tell: the
// figures of a published population, and how clubs differ from each other. Package outlook explains
// the model that its numbers belong to.
type Prior struct {
	Population string        `toml:"population"` // whose figures they are: "college athletes"
	PaceA      float64       `toml:"pace_a"`     // pace of a club, p ~ Beta(pace_a, pace_b)
	PaceB      float64       `toml:"pace_b"`
	PaceSource string        `toml:"pace_source"`
	Enough     int           `toml:"enough"`   // finished stages of its own before a club's are said to count
	Likely     float64       `toml:"likely"`   // chance from which an event is called likely
	Possible   float64       `toml:"possible"` // and possible; below is unlikely
	Source     string        `toml:"source"`   // of the words and of enough
	Courses    []CoursePrior `toml:"course"`
	Stages     []StagePrior  `toml:"stage"`
	Grades     []GradePrior  `toml:"grade"`
}

// CoursePrior is the time from injury to return on one course, in days, as printed, and the two
// numbers fitted to it.
type CoursePrior struct {
	Course string  `toml:"course"`
	Lower  int     `toml:"lower"` // quartile
	Median int     `toml:"median"`
	Upper  int     `toml:"upper"`  // quartile
	Within int     `toml:"within"` // days by which the fit may miss any of the three
	Source string  `toml:"source"`
	Size   float64 `toml:"size"` // of the negative binomial: how even the times are
	Odds   float64 `toml:"odds"` // how long this course takes beside the first, the club's pace being the same
	Fitted string  `toml:"fitted_source"`
}

// StagePrior is the part of the whole that a stage takes.
type StagePrior struct {
	Stage  string  `toml:"stage"`
	Share  float64 `toml:"share"` // of all stages together 1
	Source string  `toml:"source"`
}

// GradePrior is how many times as long a grade takes as one that is not known.
type GradePrior struct {
	Grade  int     `toml:"grade"` // 1–3
	Times  float64 `toml:"times"`
	Source string  `toml:"source"`
}
