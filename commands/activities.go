package commands

import (
	"regexp"
	"slices"
	"strings"
)

// activityWords are the words that a limit may be made of. Coaches read a limit as it stands, so a word that
// could tell what is wrong with somebody, a part of the body above all, is not among them.
var activityWords = stems(`
	contact full part team own programme program training session drill match game play live play
	run jog sprint walk speed pace shuttle agility cut turn pivot twist stop start direction change
	jump hop skip land bound impact plyometrics
	ball kick shoot pass throw catch dribble head header serve smash spike bowl bat field keep goalkeeping dive
	tackle scrum ruck maul lineout lift jackal block press defend attack mark
	gym weights squat lunge row swim cycle bike ski skate pool circuit conditioning warm-up
	travel set-piece small-sided scrimmage one-on-one reactive skills standing overhead backwards sideways
	hard artificial grass turf sand uneven surface pitch court hill stairs
	no not only alone any all or and in on at of to the a with without after before from more than over under up down for
	high low max maximal half first second minutes min reps sets straight line big small long short`)

var (
	sideSizes = regexp.MustCompile(`^[0-9vx]+$`) // 3v3, 20 minutes
	reasons   = "Reasons go behind note:, which only medical staff read."
)

// unknownActivity is the first word of a limit that names no activity, or "".
func unknownActivity(what string) string {
	for i, stem := range stems(what) {
		if !slices.Contains(activityWords, stem) && !sideSizes.MatchString(stem) {
			return words(what)[i]
		}
	}
	return ""
}

// notAnActivity refuses a word that coaches would read and that names no activity.
func notAnActivity(what, word string) error {
	named := "“" + what + "”"
	if word != strings.ToLower(what) {
		named += " (" + word + ")"
	}
	return refuse("%s is no activity I know, and coaches read these words. Name what they cannot do: contact, run, sprint, jump, cut, kick, tackle, scrums, gym, matches. %s", named, reasons)
}
