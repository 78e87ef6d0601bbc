FUZZTIME ?= 60s
GOLDEN = ./commands ./bot ./rehab/protocol

.PHONY: help test calibration season scale speed endurance quick lint fuzz golden need-go need-cc

help: ## list the targets
	@awk -F ':.*## ' '/^[a-z]+:.*## / { printf "make %-11s %s\n", $$1, $$2 }' Makefile

# The translated C of modernc.org takes minutes when it is race-checked, and
# its races would not be ours. Only the translated C is left out: without the
# check in the driver itself, false races are reported elsewhere.
test: need-go need-cc ## all tests on SQLite and PostgreSQL with the race detector
	.ci/with-postgres go test -race -gcflags='modernc.org/libc/...=-race=false' -gcflags='modernc.org/sqlite/lib=-race=false' -timeout 25m ./...
	@$(MAKE) --no-print-directory calibration

# Thousands of forecasts, so without the race detector, under which the test skips itself.
calibration: need-go ## whether the outlook's ranges hold what they say, as a table
	go test ./rehab/outlook -run '^TestCalibration$$' -count=1 -v -timeout 3m

season: need-go ## five months of a club of 40 on both engines, message by message; minutes
	FOOTING_SEASON=1 .ci/with-postgres go test ./bot -run '^TestASeason$$' -count=1 -v -timeout 30m

scale: need-go ## 1 to 10,000 teams due at one minute, as a table; minutes
	FOOTING_SCALE=1,100,1000,10000 go test ./bot/discord -run '^TestScale$$' -count=1 -v -timeout 60m

speed: need-go ## from an event to its answer, against the same SQL in a bare transaction, as a table; minutes
	FOOTING_SPEED=40 .ci/with-postgres go test ./bot/discord -run '^TestSpeed$$' -count=1 -v -timeout 20m

endurance: need-go ## what 100,000 interactions leave behind in memory; minutes
	FOOTING_ENDURANCE=100000 go test ./bot/discord -run '^TestEndurance$$' -count=1 -v -timeout 40m

quick: need-go ## tests on SQLite only, without the race detector, in seconds
	env -u FOOTING_TEST_PG_OWNER -u FOOTING_TEST_PG_APP -u FOOTING_REQUIRE_PG go test -short -timeout 1m ./...

lint: need-go ## formatting, go vet, staticcheck, go.mod
	@bad=$$(gofmt -l .) || exit 1; [ -z "$$bad" ] || { echo "not formatted, run gofmt -w:"; echo "$$bad"; exit 1; }
	go vet ./...
	go tool -modfile=.ci/tools.mod staticcheck ./...
	go mod tidy -diff

fuzz: need-go ## fuzz the command parser, by line and by options, the roster and the calendar reader for FUZZTIME (60s) each
	go test ./commands -run '^$$' -fuzz '^FuzzParse$$' -fuzztime $(FUZZTIME)
	go test ./commands -run '^$$' -fuzz '^FuzzBind$$' -fuzztime $(FUZZTIME)
	go test ./commands -run '^$$' -fuzz '^FuzzReadRoster$$' -fuzztime $(FUZZTIME)
	go test ./commands/ics -run '^$$' -fuzz '^FuzzReadICS$$' -fuzztime $(FUZZTIME)

golden: need-go ## rewrite the golden files; review them with git diff
	go test $(GOLDEN) -update

need-go:
	@command -v go >/dev/null || { echo "Go is missing: see the version in go.mod and https://go.dev/dl/"; exit 1; }

# The race detector needs cgo.
need-cc:
	@set -- $$(go env CC); command -v "$$1" >/dev/null || \
		{ echo "a C compiler ($$1) is missing, the race detector needs it (Debian: apt-get install gcc libc6-dev)"; exit 1; }
