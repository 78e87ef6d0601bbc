package commands

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"footing/commands/ics"
	"footing/rehab"
)

// drawn is a calendar file of a few events at a few times, so that they meet.
func drawn(t *rapid.T, label string) ics.File {
	var f ics.File
	slots := map[string]bool{}
	for i := range rapid.IntRange(0, 8).Draw(t, label) {
		at := func(what string) time.Time {
			return tuesday.Add(time.Duration(rapid.IntRange(1, 5).Draw(t, fmt.Sprint(label, i, what))) * 24 * time.Hour)
		}
		s := ics.Session{
			UID: rapid.SampledFrom([]string{"a", "b", "c"}).Draw(t, fmt.Sprint(label, i, "uid")), Slot: at("slot"), Start: at("start"),
			Minutes: rapid.SampledFrom([]int{60, 90}).Draw(t, fmt.Sprint(label, i, "minutes")), Sequence: rapid.IntRange(0, 2).Draw(t, fmt.Sprint(label, i, "sequence")),
			Summary: rapid.SampledFrom([]string{"Training", "v Rovers"}).Draw(t, fmt.Sprint(label, i, "title")),
		}
		if key := s.UID + s.Slot.String(); !slots[key] {
			slots[key] = true
			f.Sessions, f.UIDs = append(f.Sessions, s), append(f.UIDs, s.UID)
		}
	}
	return f
}

// A file that was just taken changes nothing when it comes again, whatever stood before and whatever staff
// moved or cancelled in between (the brief of every import: once is enough; common practice).
func TestAFileThatWasTakenChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		env := &Env{Now: tuesday, Told: tuesday}
		var log []rehab.Entry
		add := func(b rehab.Body) { log = append(log, rehab.Entry{Seq: int64(len(log) + 1), Body: b}) }
		add(rehab.Scheduled{Session: rehab.Training, Start: tuesday.Add(48 * time.Hour), Minutes: 60})
		for i := range rapid.IntRange(1, 3).Draw(t, "files") {
			file := drawn(t, fmt.Sprint("file ", i))
			f := env.compare(rehab.FoldCalendar(log), file)
			add(f.Imported)
			after := rehab.FoldCalendar(log)
			for _, s := range f.Sessions {
				if got, stands := after.Find(s.Session, s.Start); !stands || got.Filed != s || got.Minutes != s.Minutes {
					t.Fatalf("%+v was taken and does not stand: %+v", s, got)
				}
			}
			if again := env.compare(after, file); len(again.Sessions)+len(again.Gone) > 0 {
				t.Fatalf("taken again it changes %+v", again.Imported)
			}
			if len(after.Sessions) == 0 {
				continue
			}
			s := rapid.SampledFrom(after.Sessions).Draw(t, "session")
			if rapid.Bool().Draw(t, "moved") {
				add(rehab.Moved{Session: s.What, From: s.Start, To: s.Start.Add(6 * time.Hour)})
			} else {
				add(rehab.Cancelled{Session: s.What, Start: s.Start})
			}
			again := env.compare(rehab.FoldCalendar(log), file)
			back := slices.ContainsFunc(again.Sessions, func(f rehab.Filed) bool { return f.UID == s.Filed.UID && f.Slot.Equal(s.Filed.Slot) })
			if s.Filed.UID != "" && (back || len(again.Gone) > 0) {
				t.Fatalf("%+v was changed by staff, and the file undoes it: %+v", s, again.Imported)
			}
		}
	})
}
