package rehab_test

import (
	"testing"

	"footing/rehab"
)

// Walked then, not now: the rule is negative, yet it gets worse. Still unable at 72 h means an image.
func TestStillUnableAt72Hours(t *testing.T) {
	const unable = "held; image: unable-72h; recheck: deteriorating; films: ankle+foot"
	worse := func(c *chart) { c.screen(after(1), negative, "walked, cannot-walk") }
	for _, r := range []struct {
		what string
		log  func(c *chart)
		at   float64
		want string
	}{
		{"cannot walk now, an hour after", worse, 2, "cleared; recheck: deteriorating"},
		{"a minute before 72 h", worse, 71.98, "cleared; recheck: deteriorating"},
		{"at 72 h", worse, 72, unable},
		{"days later", worse, 200, unable},
		{"walks again at 60 h: nothing at 72 h", func(c *chart) {
			worse(c)
			c.screen(after(60), "walks")
		}, 80, "cleared"},
		{"walked all along, cannot on day 4", func(c *chart) {
			c.screen(after(1), negative)
			c.screen(after(100), "cannot-walk")
		}, 101, unable},
		{"at 72 h with a tender heel: referred as well", func(c *chart) { c.screen(after(1), negative, "cannot-walk, heel") }, 73,
			"held; image: unable-72h; refer: heel; recheck: deteriorating; films: ankle+foot"},
		{"at 72 h with a tender fifth metatarsal: that series only", func(c *chart) { c.screen(after(1), negative, "cannot-walk, fifth-metatarsal") }, 73,
			"held; image: ottawa-fifth-metatarsal; image: unable-72h; recheck: deteriorating; films: foot"},
		{"films clear at 24 h and lifted, still unable at 72 h: image again or refer", func(c *chart) {
			c.screen(after(1), negative, "could-not-walk, cannot-walk")
			c.lift(after(24), "lateral")
		}, 73, "held; image: unable-72h; films: ankle+foot"},
		{"lifted at 80 h after films", func(c *chart) {
			worse(c)
			c.lift(after(80), "lateral")
		}, 81, "cleared; recheck: deteriorating"},
		{"held at 72 h, walks at 80 h: only a clinician lifts it", func(c *chart) {
			worse(c)
			c.screen(after(80), "walks")
		}, 81, "held; image: unable-72h; films: ankle+foot"},
		{"lifted at 80 h, walked at 100 h, cannot again at 140 h: holds anew", func(c *chart) {
			worse(c)
			c.lift(after(80), "lateral")
			c.screen(after(100), "walks")
			c.screen(after(140), "cannot-walk")
		}, 141, unable},
		{"walks again at 60 h; a note from before is edited days later: nothing", func(c *chart) {
			worse(c)
			seq := c.log(after(2), rehab.Noted{Text: "ice"})
			c.screen(after(60), "walks")
			c.edit(seq, after(200), rehab.Noted{Text: "iced"})
		}, 201, "cleared"},
		{"a new sprain starts the clock again", func(c *chart) {
			c.screen(after(1), negative)
			c.log(after(100), rehab.Sprained{Side: rehab.Left, Again: true})
			c.screen(after(101), negative, "cannot-walk")
			c.lift(after(102), "lateral")
		}, 120, "cleared; recheck: deteriorating"},
	} {
		t.Run(r.what, func(t *testing.T) {
			c := sprain(t, adult)
			r.log(c)
			want(t, r.what, verdict(c.view(after(r.at))), r.want, practice)
		})
	}
}
