# On a fresh machine with Go, Node and make:
#   make demo            builds, imports the invented town, plans a walk, serves it
#   make demo MAP=path   does the same on any OpenStreetMap extract
#   make test            runs every test

GO      ?= go
BIN     := bin/wideberth
LISTEN  ?= 127.0.0.1:8080
MAP     ?=
FROM    ?=
DEPART  ?=
VERSION := $(shell git describe --tags --always --dirty 2>/dev/null || echo unversioned)
PAGE    := api/web/dist/index.html
# The catalogue of texts is built into the program and into the page.
SOURCES  = $(wildcard $(shell git ls-files -co --exclude-standard $(1)))
TEXTS   := $(call SOURCES,'routing/briefing/text/*')
GOFILES := $(call SOURCES,'*.go' '*.sql' 'testdata/town/*' 'testdata/worlds/*' 'routing/briefing/draw/sheet/*') $(TEXTS)
# The go tool leaves folders named testdata out of ./..., so they are named.
PACKAGES := ./... ./testdata ./testdata/town/generate
# What the race detector runs: packages that share memory between goroutines. The others
# run on one, where it finds nothing, eight times as slowly; so do the tests that -short
# leaves out, which search long in code that shorter tests run as well.
SHARING = $(shell $(GO) list -f '{{range .Imports}}{{if or (eq . "sync") (eq . "sync/atomic") (eq . "wideberth/osmdata/parallel") (eq . "golang.org/x/sync/semaphore")}}{{$$.ImportPath}}{{"\n"}}{{end}}{{end}}' ./... | sort -u) wideberth/api/store

.PHONY: help
help: ## list the targets
	@awk -F':.*## ' '/^[a-z0-9-]+:.*## /{printf "  %-10s %s\n", $$1, $$2}' $(MAKEFILE_LIST)

.PHONY: build
build: $(BIN) ## build the program, with the page inside

$(BIN): $(GOFILES) go.mod go.sum $(PAGE)
	CGO_ENABLED=0 $(GO) build -trimpath -ldflags '-X main.version=$(VERSION)' -o $@ ./cmd/wideberth

.PHONY: page
page: $(PAGE) ## build the page

api/web/node_modules: api/web/package.json api/web/package-lock.json
	cd api/web && npm ci --no-audit --no-fund --silent
	@touch $@

$(PAGE): api/web/node_modules $(TEXTS) $(filter-out api/web/test/%,$(call SOURCES,api/web))
	cd api/web && npm run --silent build
	@touch $@

.PHONY: demo
demo: $(BIN) ## import the invented town (or MAP=extract), plan a walk, serve it
	@mkdir -p demo
	$(BIN) import $(MAP) --out demo/map.wb
	$(BIN) demo --snapshot demo/map.wb --dir demo --listen="$(LISTEN)" $(if $(FROM),--from $(FROM)) $(if $(DEPART),--depart $(DEPART))

.PHONY: test
test: tools lint $(PAGE) ## every test; those that share memory with the race detector, too
	$(GO) test -timeout 10m $(PACKAGES)
	$(GO) test -race -short -timeout 15m $(SHARING)
	$(MAKE) --no-print-directory browser

.PHONY: browser
browser: $(BIN) api/web/node_modules ## tests in a real browser
	cd api/web && npm run --silent test

# golangci-lint has a module of its own, so that its two hundred dependencies stay out
# of the program's. The go tool builds it once for a machine.
.PHONY: lint
lint: api/web/node_modules ## formatting, vet, linters, and the page's types and rules
	@test -z "$$(gofmt -l $$(git ls-files '*.go'))" || { gofmt -l $$(git ls-files '*.go'); exit 1; }
	$(GO) tool -modfile=.ci/lint.mod golangci-lint run $(PACKAGES)
	$(GO) run ./cmd/wideberth openapi | node api/web/types/generate.mjs --check
	cd api/web && npm run --silent lint

.PHONY: types
types: api/web/node_modules ## write the page's types anew from the server's description of its interface
	$(GO) run ./cmd/wideberth openapi | node api/web/types/generate.mjs

.PHONY: tools
tools: ## install what the tests need (Debian packages)
	@.ci/packages /usr/bin/chromium=chromium /usr/lib/postgresql/15/bin/initdb=postgresql pdftotext=poppler-utils g++=g++ osmium=osmium-tool

.PHONY: slow
slow: ## the long tests: simulations, proofs, coverage, odd days
	WIDEBERTH_SLOW=1 $(GO) test -timeout 60m $(PACKAGES)
	$(MAKE) --no-print-directory dates

# When every browser test begins and where: the last seconds before the clocks change
# in Europe and in America, and of a year; a leap day; a Monday.
DATES := 2027-03-28T00:59:55Z=Europe/London 2027-03-14T06:59:55Z=America/New_York \
	2026-12-31T23:59:55Z=UTC 2028-02-29T12:00:00Z=UTC 2026-11-30T08:00:00Z=UTC

.PHONY: dates
dates: $(BIN) api/web/node_modules ## the browser tests on days that are odd
	@for d in $(DATES); do echo "$$d"; \
		(cd api/web && WIDEBERTH_CLOCK=$${d%=*} WIDEBERTH_ZONE=$${d#*=} npm run --silent test) || exit 1; done

.PHONY: fuzz
fuzz: ## half a minute for each fuzz target, none of it lost to making inputs small
	@for p in $$(grep -rl --include='*_test.go' '^func Fuzz' . | xargs -n1 dirname | sort -u); do \
		for f in $$(grep -hoE '^func Fuzz[A-Za-z0-9]+' $$p/*_test.go | cut -c6-); do \
			echo "$$p $$f"; $(GO) test -run '^$$' -fuzz "^$$f$$" -fuzztime 30s -fuzzminimizetime 1s $$p || exit 1; done; done

# The program as it was before flows went from homes to what draws them, by country and
# density: what an import may cost is held against it.
BEFORE := 4661328

bin/before-$(BEFORE):
	rm -rf $@.src && mkdir -p $@.src && git archive $(BEFORE) | tar -x -C $@.src
	cd $@.src && CGO_ENABLED=0 $(GO) build -trimpath -o $(CURDIR)/$@ ./cmd/wideberth
	rm -rf $@.src

.PHONY: figures
figures: $(BIN) api/web/node_modules bin/before-$(BEFORE) ## the table of measured figures
	WIDEBERTH_FIGURES=1 WIDEBERTH_BIN=$(CURDIR)/$(BIN) WIDEBERTH_BEFORE=$(CURDIR)/bin/before-$(BEFORE) $(GO) test -count=1 -timeout 60m -run 'Figures|BaselineRatios' -v $(PACKAGES) | grep -E '^ +|^(---|ok|FAIL)' 
	cd api/web && WIDEBERTH_FIGURES=1 node --enable-source-maps --import ./test/loader.mjs --test test/figures.test.ts | grep -E '^#  |^(not )?ok'

.PHONY: month
month: $(BIN) ## live through a month with an invented dog on a real map, over HTTP
	@mkdir -p demo
	@test -s demo/delaware.wb || $(BIN) import "$$($(GO) list -m -f '{{.Dir}}' github.com/paulmach/osm)/testdata/delaware-latest.osm.pbf" --out demo/delaware.wb
	WIDEBERTH_MONTH=$(CURDIR)/demo/delaware.wb $(GO) test -count=1 -run TestMonth -v ./cmd/wideberth | grep -E '^  |^(---|ok|FAIL)|_test.go'

SOAK ?= 10m

.PHONY: soak
soak: $(BIN) ## a busy shelter and 200 owners on a real map for ten minutes (SOAK=3m); prints a table
	@mkdir -p demo
	@test -s demo/delaware.wb || $(BIN) import "$$($(GO) list -m -f '{{.Dir}}' github.com/paulmach/osm)/testdata/delaware-latest.osm.pbf" --out demo/delaware.wb
	WIDEBERTH_SOAK=$(SOAK) WIDEBERTH_SOAK_MAP=$(CURDIR)/demo/delaware.wb WIDEBERTH_BIN=$(CURDIR)/$(BIN) $(GO) test -count=1 -timeout 90m -run TestSoak -v ./cmd/wideberth | grep -E '^  |^(---|ok|FAIL)|_test.go'

.PHONY: golden
golden: ## rewrite the golden files, to be looked at as a diff
	$(GO) test ./... -run Golden -update
