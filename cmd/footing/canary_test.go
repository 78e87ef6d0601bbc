package main

import (
	"database/sql"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"footing/bot"
	"footing/bot/discord/discordtest"
	"footing/rehab"
	"footing/store"
	"footing/store/storetest"
)

// Words that stand for what somebody's record holds. None of them may leave by the log, the metrics, the
// health page or an error.
const (
	cTeam, cGuild, cRole, cRoom   = "Qzxvteam", "Qzxvguild", "Qzxvrole", "qzxvroom"
	cMedic, cAthlete, cStranger   = "qzxvmedic", "qzxvaccount", "qzxvstranger"
	cName, cNick, cPosition       = "Qzxvfore Qzxvsur", "Qzxvnick", "Qzxvposition"
	cBorn, cValue, cTyped, cOdd   = "1987-11-23", "41.7371", "qzxvtyped", `qzxv"odd\ñ%`
	cNote, cReason, cModal        = "qzxvnote", "qzxvreason", "qzxvmodal"
	cAlarm, cDirect, cEdit        = "qzxvalarm", "qzxvdirect", "qzxvedit"
	cFile, cRow, cButton, cDetail = "qzxvfile", "Qzxvrow", "qzxvbutton", "qzxvdetail"
	cPanic, cPassword, cOption    = "qzxvpanic", "qzxvpassword", "qzxvoption"
)

var canaries = []string{
	cTeam, cGuild, cRole, cRoom, cMedic, cAthlete, cStranger, cName, cNick, cPosition, cBorn, cValue, cTyped, cOdd, cNote, cReason, cModal,
	cAlarm, cDirect, cEdit, cFile, cRow, cButton, cDetail, cPanic, cPassword, cOption, "Qzxv",
	"token-", // how the stand-in begins an interaction's token, which is good for 15 minutes
}

// leaks lists the canaries in a text, however they may be written.
func leaks(text string, more ...string) (out []string) {
	low := strings.ToLower(text)
	for _, c := range append(more, canaries...) {
		q, a := strconv.Quote(c), strconv.QuoteToASCII(c)
		for _, form := range []string{
			c, q[1 : len(q)-1], a[1 : len(a)-1], strconv.Quote(q), url.QueryEscape(c), url.PathEscape(c), hex.EncodeToString([]byte(c)),
			fmt.Sprintf("%v", []byte(c)), base64.StdEncoding.EncodeToString([]byte(c)),
		} {
			if strings.Contains(low, strings.ToLower(form)) && !slices.Contains(out, form) {
				out = append(out, form)
			}
		}
	}
	return out
}

// Every form is found: the search itself can fail.
func TestCanariesAreFound(t *testing.T) {
	for _, text := range []string{"a QZXVNOTE b", `{"x":"qzxv\"odd\\ñ%"}`, "qzxv%22odd%5C%C3%B1%25", hex.EncodeToString([]byte(cNote)), `"qzxv\"odd\\\u00f1%"`} {
		if len(leaks(text)) == 0 {
			t.Errorf("nothing found in %s", text)
		}
	}
	if found := leaks("outbox=41 why=failed kind=reply took=41.73ms"); len(found) > 0 {
		t.Errorf("found %q", found)
	}
}

// Everything personal that can come in comes in, all goes wrong that can, and nothing of it is in the log at
// its most talkative, on the health page, in the metrics or in an error.
func TestNothingPersonalLeaves(t *testing.T) {
	for _, format := range []string{"text", "json"} {
		t.Run(format, func(t *testing.T) {
			storetest.Each(t, func(t *testing.T, db store.Config) {
				c := openWatched(t, db, format)
				c.usual()
				c.refusals()
				c.broken()
				c.get("/health")
				c.get("/metrics")
				c.stop()
				c.search()
			})
		})
	}
}

// usual is a day on which nothing fails: every way in is used.
func (c *watched) usual() {
	c.line("add 7 " + cName + ", " + cPosition + ", born " + cBorn + ", nick " + cNick)
	c.line("sprain 7 left match inversion note: " + cNote)
	c.line("screen 7 tender none, walked, walks, circulation ok, squeeze -, er -, no modifiers")
	c.line("test 7 ktw " + cValue + "/12")
	c.line("test 7 knee-to-wall L 9.5 R 12, pain-walking 1, gait normal")
	c.line("note 7: " + cNote + " " + cOdd)
	c.line("unavailable 7 illness until fri note: " + cReason)
	c.line(cTyped + " 7 " + cOdd)
	c.line("add 12 " + cRow + " <script>" + cOdd)
	var id string
	c.answered(c.medical, func() { id = c.sam.Says(c.medical, "note 7: "+cEdit) })
	c.answered(c.medical, func() { c.sam.Edits(id, "note 7: "+cEdit+" again") })
	c.answered(c.medical, func() { c.sam.Deletes(id) })
	ready := c.final(c.sam.Slash(c.medical, "ready", discordtest.Opts{"athlete": "7"}))
	for _, row := range ready.Rows {
		c.final(c.sam.Presses(ready.ID, row[0].CustomID))
		break
	}
	form := c.sam.Slash(c.medical, "note", discordtest.Opts{"athlete": "7"})
	c.w.Wait("a form", form.Answered)
	_, inputs, _ := form.Modal()
	c.final(c.sam.Submits(form, map[string]string{inputs[0]: cModal}))
	c.final(c.sam.Slash(c.medical, "sprain", discordtest.Opts{"athlete": cOption, "side": "left"}))
	typing := c.sam.Autocompletes(c.medical, "sprain", "athlete", cOption, nil)
	c.w.Wait("suggestions", typing.Answered)
	c.answered(c.medical, func() {
		c.sam.Says(c.medical, "import", discordtest.File{Name: cFile + ".csv", Type: "text/csv", Data: []byte("shirt,name\n31," + cRow + "\n" + cRow + ",x\n")})
	})
	c.answered(c.x.DM(), func() { c.x.Says(c.x.DM(), cDirect) })
	c.answered(c.mez.DM(), func() { c.sam.Says(c.medical, "link 7 account "+c.mez.Mention()) })
	c.answered(c.mez.DM(), func() { c.mez.Says(c.mez.DM(), "consent yes") })
	c.answered(c.medical, func() { c.mez.Says(c.mez.DM(), "wrong : "+cAlarm) })
	if code, text := c.get("/health"); code != http.StatusOK {
		c.t.Errorf("/health says %d %s", code, text)
	}
	if c.count("footing_gateways_leading") != 1 || c.count("footing_gateways_connected") != 1 {
		c.t.Error("the gateway is not counted")
	}
}

// refusals are faults of Discord and of the network that repeat what was asked.
func (c *watched) refusals() {
	failed := func(why string) float64 {
		return c.count(`footing_send_failures_total{kind="reply",why="` + why + `"}`)
	}
	post := func(status, code int) quote {
		return quote{"POST", "/channels/" + c.medical.ID + "/messages", status, code}
	}
	for _, f := range []struct {
		why string
		q   quote
	}{
		{"failed", post(500, 0)}, {"failed", post(502, 0)}, {"failed", post(503, 0)}, {"failed", post(0, 0)}, {"failed", post(-1, 0)}, {"busy", post(429, 0)},
		{"refused", post(400, 50035)}, {"forbidden", post(403, 50013)}, {"gone", post(404, 10003)},
	} {
		before := failed(f.why)
		c.way.order(f.q)
		c.sam.Says(c.medical, "note 7: "+cNote+" for a fault")
		c.wait("a failed send: "+f.why, func() bool {
			c.w.Advance(time.Minute) // what was put back is due again
			c.errs = append(c.errs, c.b.Schedule(c.t.Context()))
			counted := failed(f.why) > before
			if counted {
				c.way.forget()
			} else if c.way.left() == 0 { // who met it had lost its lease to the clock meanwhile, which counts for nothing
				c.way.order(f.q)
				c.sam.Says(c.medical, "note 7: "+cNote+" for a fault")
			}
			return counted
		})
	}
	for _, f := range []struct {
		quote
		again bool // the promise is made once more, which must not meet the next fault
	}{
		{quote{"POST", "/callback", 400, 50035}, false}, {quote{"POST", "/callback", 0, 0}, true},
		{quote{"POST", "/callback", -1, 0}, false}, {quote{"POST", "/callback", 502, 0}, true},
	} {
		c.way.order(f.quote)
		asked := c.sam.Slash(c.medical, "history", discordtest.Opts{"athlete": "7"})
		c.wait("a promise that failed", func() bool { return c.way.left() == 0 })
		if f.again {
			c.final(asked)
		}
	}
	c.way.order(quote{"PATCH", "/webhooks/", 400, 50035})
	c.sam.Slash(c.medical, "history", discordtest.Opts{"athlete": "7"})
	c.wait("an answer that failed", func() bool { return c.way.left() == 0 })
	c.way.order(quote{"POST", "/callback", 400, 50035}) // what a proxy refuses is tried again
	c.sam.Autocompletes(c.medical, "sprain", "athlete", cOption, nil)
	c.wait("suggestions that failed", func() bool { return c.way.left() == 0 })
	c.way.order(quote{"GET", cFile, 0, 0})
	c.sam.Says(c.medical, "import", discordtest.File{Name: cFile + ".csv", Type: "text/csv", Data: []byte("shirt,name\n32," + cRow + "\n")})
	c.wait("a file that failed", func() bool { return c.way.left() == 0 })
	for _, q := range []quote{post(500, 0), post(502, 0), post(400, 50035), post(0, 0), post(-1, 0)} {
		c.way.order(q)
		c.wait("a direct send that failed", func() bool { // a limit may keep the first tries from Discord
			_, err := c.a.Send(c.t.Context(), bot.Message{Team: c.g.ID, Place: bot.MedicalRoom, Channel: c.medical.ID, Key: "k", Kind: "reply", Text: cNote + cOdd})
			c.errs = append(c.errs, err)
			return c.way.left() == 0
		})
	}
}

// broken are faults inside: a command that panics, and a database that fails in the middle and says with what.
func (c *watched) broken() {
	c.badStep.Store("ran")
	before := c.count(`footing_panics_total{place="event"}`)
	c.sam.Says(c.medical, "note 7: "+cNote+" "+cPanic)
	c.wait("a panic of a command", func() bool { return c.count(`footing_panics_total{place="event"}`) > before })
	c.badStep.Store("")

	repair := c.breakDatabase()
	before = c.count(`footing_events_total{kind="created",outcome="failed"}`)
	c.sam.Says(c.medical, "note 7: "+cNote+" for the database")
	c.wait("a failed event", func() bool { return c.count(`footing_events_total{kind="created",outcome="failed"}`) > before })
	in := bot.Inbound{Kind: bot.Created, Team: c.g.ID, Message: "999999999", Author: c.sam.ID, ChatRoles: []string{c.medic.ID}, Channel: c.medical.ID, Name: cMedic, Text: "note 7: " + cNote, Sent: c.w.Now()}
	err := c.b.Handle(c.t.Context(), in)
	if err == nil {
		c.t.Error("the database did not fail")
	}
	c.errs = append(c.errs, err)
	repair()
	c.day()
}

// day is the morning after: a report that fails and one that is missed, dead letters, a connection that
// breaks, a channel that others may read, and the bot's removal.
func (c *watched) day() {
	c.way.order(quote{"POST", "/channels/" + c.staff.ID + "/messages", 400, 50035})
	for _, until := range []time.Duration{0, 24 * time.Hour} {
		zone, err := time.LoadLocation("Pacific/Auckland")
		if err != nil {
			c.t.Fatal(err)
		}
		next := rehab.Clock(7*60+30).On(c.w.Now().In(zone).AddDate(0, 0, 1), zone)
		c.w.SetClock(next.Add(until / 8)) // the second 3 hours late
		c.errs = append(c.errs, c.b.Schedule(c.t.Context()))
		c.wait("the report's end", func() bool { return c.way.left() == 0 })
	}
	for _, outcome := range []string{"sent", "missed"} {
		if n := c.count(`footing_occurrences_total{kind="report",outcome="` + outcome + `"}`); n == 0 {
			c.t.Errorf("no report was %s", outcome)
		}
	}
	c.errs = append(c.errs, c.b.Drain(c.t.Context()))
	c.w.Gateway().Cut()
	c.wait("another connection", func() bool {
		return c.count("footing_gateway_opened_total") > 1 && c.count("footing_gateways_connected") == 1
	})
	c.medical.Overwrite(c.g.Role(cRole+"two"), discordtest.ViewChannel, 0)
	c.wait("the room's fault", func() bool {
		team, err := c.b.Team(c.t.Context(), c.g.ID)
		return err == nil && strings.Contains(team.RoomFault, cRole)
	})
	c.g.Expel()
}

// breakDatabase makes storing an entry fail with what it holds in the engine's own words.
func (c *watched) breakDatabase() (repair func()) {
	if c.store.Engine() == "sqlite" {
		_, err := c.store.DB().Exec(`CREATE TRIGGER boom BEFORE INSERT ON entries BEGIN SELECT RAISE(ABORT, '` + cDetail + `'); END`)
		c.must(err)
		return func() {
			_, err := c.store.DB().Exec(`DROP TRIGGER boom`)
			c.must(err)
		}
	}
	owner, err := sql.Open("postgres", c.config.OwnerURL)
	c.must(err)
	_, err = owner.Exec(`CREATE FUNCTION boom() RETURNS trigger LANGUAGE plpgsql AS $$
		BEGIN RAISE EXCEPTION '` + cDetail + ` %', NEW USING DETAIL = 'Failing row contains ' || NEW::text, HINT = '` + cDetail + `', ERRCODE = '23514'; END $$;
		CREATE TRIGGER boom BEFORE INSERT ON entries FOR EACH ROW EXECUTE FUNCTION boom()`)
	c.must(err)
	return func() {
		_, err := owner.Exec(`DROP TRIGGER boom ON entries; DROP FUNCTION boom()`)
		c.must(errors.Join(err, owner.Close()))
	}
}

// search looks everywhere for every canary, and that what should be logged was.
func (c *watched) search() {
	token := strings.TrimPrefix(c.w.Token(), "Bot ")
	text := c.log.String()
	for _, want := range []string{"panicked", "event not handled", "message not sent", "message given up", "commands not uploaded", "an interaction could not be answered in time",
		"suggestions came too late", "an attachment could not be read", "storing the entry"} {
		if !strings.Contains(text, want) {
			c.t.Errorf("%q was not logged: the faults did not happen", want)
		}
	}
	if found := leaks(text, token); len(found) > 0 {
		c.t.Errorf("the log holds %q:\n%s", found, text)
	}
	for _, page := range c.said {
		if found := leaks(page, token); len(found) > 0 {
			c.t.Errorf("a page holds %q:\n%s", found, page)
		}
	}
	for _, err := range c.errs {
		if found := leaks(fmt.Sprintf("%v %+v %q", err, err, err), token); err != nil && len(found) > 0 {
			c.t.Errorf("an error holds %q: %v", found, err)
		}
	}
}

// What a password or a token is set to is said by no error, however it is mistyped.
func TestNoSecretIsSaid(t *testing.T) {
	t.Setenv("FOOTING_TOKEN", cPassword+"token")
	for _, db := range []string{
		"postgres://u:" + cPassword + "@127.0.0.1:1/x?sslmode=disable", "postgres://u:" + cPassword + "@127.0.0.1:port/x", "postgres://u:" + cPassword + "%zz@127.0.0.1:1/x",
		"postgres://u:" + cPassword + "@127.0.0.1:1/x?sslmode=" + "wrong", "postgres//u:" + cPassword + "@h/x", "host=h password=" + cPassword,
		"postgres://u:" + cPassword + "/@127.0.0.1:1/x", "postgres://u:" + cPassword + "@[::1/x", "mysql://u:" + cPassword + "@h/x", " postgres://u:" + cPassword + "@127.0.0.1:1/x",
		"postgres://u:" + cPassword + "@127.0.0.1:1/x?connect_timeout=soon", "u:" + cPassword + "@h:5432/x",
	} {
		for _, args := range [][]string{{"serve", "--db", db}, {"check", "--db", db}, {"serve", "--db", "postgres://127.0.0.1:1/x", "--owner-db", db}, {"serve", db}, {"serve", "--db=x", "--" + db}} {
			out, err := footing(t, "", args...)
			if err == nil {
				t.Errorf("%q worked", args)
			}
			if found := leaks(out + fmt.Sprint(err)); len(found) > 0 {
				t.Errorf("%q: %q in %v\n%s", args, found, err, out)
			}
		}
	}
}
