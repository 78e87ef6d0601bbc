package discord

import (
	"strings"
	"unicode"
)

// mostMarks is how many marks are stacked on one letter: more than any script writes only hides the lines
// above and below.
const mostMarks = 4

// calm is a text without what changes how the text around it reads: turns of the writing direction, letters
// nobody sees, control characters, and towers of marks. What was typed is kept as it is; only showing it is
// calmed. Joiners stay: scripts need them.
func calm(text string) string {
	marks := 0
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.Is(unicode.Mn, r) || unicode.Is(unicode.Me, r):
			if marks++; marks > mostMarks {
				return -1
			}
			return r
		case r == '\u200c' || r == '\u200d' || r == '\n':
		case r == '\t':
			return ' '
		case unicode.Is(unicode.Cf, r) || unicode.IsControl(r):
			return -1
		}
		marks = 0
		return r
	}, text)
}
