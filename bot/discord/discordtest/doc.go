// Package discordtest is a local stand-in for Discord: its v9 gateway and REST API on real sockets, over a
// small world that a test drives. A client that passes here has been refused what Discord refuses.
//
//	w := discordtest.New(t)
//	g := w.Guild("harbour")
//	room := g.Channel("treatment-room")
//	mere := g.Member("mere", g.Role("medic"))
//	w.Connect(session)
//	mere.Says(room, "7 left ankle, inversion")
//	w.Wait("an answer", func() bool { return len(room.Messages()) == 2 })
//
// People in the world act through *User (Says, Edits, Deletes, Presses, Slash, Autocompletes, Selects,
// Submits), and what they would see is read back through Channel.Messages and User.Sees. The connection is
// hurt through Gateway, requests through Fail, LimitRoute and LimitGlobal; Violations lists what a careful
// client would not have done. A person doing what Discord's own app would not let them do (pressing a button
// that is not there, leaving out a required option) is a mistake in the test and fails it.
//
// Each refusal names the part of Discord's developer documentation it follows (read in 2026), or says
// "from memory" where the documentation does not settle it. The world's clock stands still until the test
// moves it; only rate limit windows and the heartbeat run on real time, because the client waits them out.
//
// Not modelled: threads, reactions, stickers, polls, voice, webhooks other than those of interactions,
// components V2 and Label rows (refused), the pause between two IDENTIFYs, and the 5 follow-ups of
// user-installed apps.
package discordtest
