//go:build race

package discord_test

// raced says whether the race detector is at work: it makes everything many times slower.
const raced = true
