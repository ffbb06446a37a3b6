# make lists the targets.

# .ci/need puts a Go into .cache where the system's is too old. Go's installer uses
# /usr/local/go, and not every shell has that in its PATH.
export PATH := $(CURDIR)/.cache/go/bin:$(PATH):/usr/local/go/bin

# Some distributions keep their Go from fetching the version that go.mod names.
export GOTOOLCHAIN ?= auto

# Lists what the program is built from, for a release.
export CYCLONEDX = github.com/CycloneDX/cyclonedx-gomod/cmd/cyclonedx-gomod@v1.9.0

GOLANGCI_LINT = github.com/golangci/golangci-lint/v2/cmd/golangci-lint@v2.15.0

# How long each fuzz test runs in make test-long.
FUZZTIME ?= 60s

# ./... leaves out folders named testdata; the packages in there that hold
# tests are named beside it.
PACKAGES = ./... $(shell find testdata -name '*_test.go' -exec dirname {} \; | sort -u | sed 's|^|./|')

# These packages and their tests start no goroutine. The race detector can find nothing in
# them, and they take a fifth of the time without it. A test in internal holds them to that.
# make test-long runs them with it all the same. What callers share in them is shared by the
# tests of internal/mount/mounttest, internal/batch and internal/httpapi, which do have it.
SEQUENTIAL = internal/wire api internal internal/form internal/mount internal/note internal/catalog internal/coverage internal/damping internal/drawing internal/enum internal/fault internal/fit internal/guide internal/linkage internal/measure internal/ride internal/unit

# All other packages, but for the pages' (BROWSER_TESTS) and the program that tests compile
# where they need a container. Those that take longest begin first, so that none runs alone
# in the end.
LONGEST = ./cmd/midstroke $(addprefix ./internal/,httpapi table outage)
CONCURRENT = $$(go list $(LONGEST) $(PACKAGES) | grep -vxE "midstroke/($$(echo $(SEQUENTIAL) | tr ' ' '|')|internal/widget(/.*)?|internal/postgres/pgtest/container)")

# Some packages mostly wait, for a database or for time to pass: one more runs at once than
# there are processors. make vet looks at the tests as well.
AT_ONCE = $(shell expr $$(getconf _NPROCESSORS_ONLN) + 1)

# The debuggers' tables take a seventh of compiling and a third of linking, and nothing here
# reads them. What tests build for themselves gets these flags too, so that each package is
# compiled once.
NO_DWARF = -gcflags=all=-dwarf=false -ldflags=-w
export GOFLAGS := $(strip $(filter-out $(NO_DWARF),$(shell go env GOFLAGS 2>/dev/null)) $(NO_DWARF))

# These run after the others, which would slow the browser down. The service inside is the
# one that httpapi's tests run with the race detector, so only make test-long uses it here.
BROWSER_TESTS = -vet=off -tags browser ./internal/widget

# The compiler spends a fifth of its time on collecting its garbage. With this it collects
# none before it has so much memory, which few packages need.
COMPILE = GOGC=off GOMEMLIMIT=640MiB

# The tests build the program with the same flags, so that each package is compiled
# once for both.
BUILD = test -x bin/midstroke || echo "building bin/midstroke (the first time takes 1 to 4 minutes)"; \
	$(COMPILE) CGO_ENABLED=0 go build -o bin/midstroke ./cmd/midstroke

# What the lock file names, and none of its scripts.
NPM_CI = npm ci --silent --ignore-scripts --no-audit --no-fund

.PHONY: help
help: ## list the targets
	@awk -F ':.*## ' '/^[a-z-]+:.*## / {printf "make %-12s  %s\n", $$1, $$2}' $(MAKEFILE_LIST)
	@echo
	@echo "Settings: DATABASE_URL (make run), TEST_DATABASE_URL (tests) name a Postgres, 14 or newer, instead of a private one."

.PHONY: run
run: ## start the service on 127.0.0.1:8080, with a private Postgres unless DATABASE_URL is set
	@.ci/need run
	@$(BUILD)
	@exec bin/midstroke serve --foreground

.PHONY: test
test: ## all tests with few random cases, with the race detector where goroutines run, then the pages in Chromium
	@.ci/need test
	@echo "compiling (the first time takes some minutes)"
	@$(COMPILE) CGO_ENABLED=0 go list -export -deps -test -tags browser $(SEQUENTIAL:%=./%) ./internal/widget >/dev/null
	@$(COMPILE) go list -race -export -deps -test $(CONCURRENT) >/dev/null
	CGO_ENABLED=0 go test -vet=off -p $(AT_ONCE) $(SEQUENTIAL:%=./%)
	@echo "go test -race ... (all other packages)"
	@go test -race -vet=off -p $(AT_ONCE) -timeout 20m $(CONCURRENT)
	CGO_ENABLED=0 go test $(BROWSER_TESTS)

.PHONY: test-browser
test-browser: ## only the tests of the widget and the pages in Chromium
	@.ci/need test
	CGO_ENABLED=0 go test $(BROWSER_TESTS)

.PHONY: test-calc
test-calc: ## LibreOffice opens the workbooks and shows what the service answers
	@.ci/need calc
	go test -count=1 -tags calc -run 'Cells|Workbooks' ./internal/httpapi

.PHONY: pictures
pictures: ## the README's pictures, from the running service
	@.ci/need test
	MIDSTROKE_PICTURES=$(CURDIR)/testdata/pictures go test -count=1 -tags browser -run '^TestPictures$$' ./internal/widget

.PHONY: test-long
test-long: test-calc test-clients check-deploy ## all tests at full length, and each fuzz test for FUZZTIME (60s)
	@.ci/need test
	MIDSTROKE_TEST_LONG=1 go test -race -timeout 60m $(PACKAGES)
	MIDSTROKE_TEST_LONG=1 go test -race -timeout 60m $(BROWSER_TESTS)
	@set -e; grep -rl --include='*_test.go' '^func Fuzz' . | sort | while read -r file; do \
		for name in $$(sed -n 's/^func \(Fuzz[A-Za-z0-9_]*\)(.*/\1/p' "$$file"); do \
			echo "go test -run '^$$' -fuzz '^$$name\$$' -fuzztime $(FUZZTIME) $$(dirname "$$file")"; \
			go test -run '^$$' -fuzz "^$$name\$$" -fuzztime $(FUZZTIME) "$$(dirname "$$file")"; \
		done; \
	done

.PHONY: test-faults
test-faults: ## break the database, flood and restart the real program; prints a line for each fault (under 15 minutes)
	@.ci/need test
	MIDSTROKE_TEST_FAULTS=1 go test -count=1 -timeout 30m -v -run '^TestFaults$$' ./internal/outage

.PHONY: test-majors
test-majors: ## carry data over from another major version of Postgres and back, and test with it: OTHER_POSTGRES=/folder/of/its/server/programs
	@test -x "$(OTHER_POSTGRES)/postgres" || { echo "OTHER_POSTGRES must name a folder with the server programs of another major version of Postgres"; exit 1; }
	@.ci/need test
	MIDSTROKE_TEST_OTHER_POSTGRES="$(OTHER_POSTGRES)" go test -count=1 -v -run '^TestAnotherMajor' ./cmd/midstroke
	PATH="$(OTHER_POSTGRES):$$PATH" go test -race -count=1 -p $(AT_ONCE) ./internal/postgres/... ./internal/backup ./internal/jobs ./internal/pglocal ./migrations ./cmd/midstroke

.PHONY: test-clients
test-clients: ## the client in TypeScript and its till, run against the real service (needs Node)
	@DATABASE_URL= .ci/need run
	@.ci/need web
	api/clients/typescript/test/run

.PHONY: clients
clients: ## make the clients of api/clients from the contract (needs Node)
	@.ci/need build
	@.ci/need web
	cd api/clients/go && GOFLAGS=-mod=readonly go generate .
	cd api/clients/typescript && npm ci --no-audit --no-fund && npm run build

.PHONY: bench
bench: ## the real program beside what it stands on: one table, in some minutes
	@.ci/need test
	MIDSTROKE_TEST_SPEED=1 go test -count=1 -timeout 30m -v -run '^TestTable$$' ./internal/speed

.PHONY: bench-all
bench-all: ## all benchmarks of single parts
	@.ci/need test
	go test -tags browser -run '^$$' -bench . -benchmem $(PACKAGES)

.PHONY: web
web: ## after a change of the pages: types from the contract, type check, bundles (needs Node)
	@.ci/need web
	cd internal/widget && $(NPM_CI) && npm run --silent types && npm run --silent check
	go generate ./internal/widget

.PHONY: check-web
check-web: ## fail where the pages don't agree with their types, or these with the contract, or bundles with sources (needs Node)
	@.ci/need web
	cd internal/widget && $(NPM_CI) && npm run --silent check
	$(COMPILE) CGO_ENABLED=0 go test ./internal/widget/bundle

.PHONY: build
build: ## bin/midstroke, one static binary
	@.ci/need build
	@$(BUILD)

.PHONY: release
release: ## dist/: binaries for each system, checksums, parts list and licences, from the commit's tag (DRY_RUN=1: without a tag)
	@.ci/need build
	env -u GOFLAGS .ci/release

.PHONY: check-deploy
check-deploy: ## build the Kubernetes manifests and validate them as the API server does
	@.ci/need build
	cd deploy/kubernetes/check && go test ./...

.PHONY: fmt
fmt: ## format all Go files
	gofmt -l -w .

.PHONY: generate
generate: ## make the generated files again
	go generate $(PACKAGES)

.PHONY: vet
vet: ## fail on unformatted files and on what go vet finds
	@unformatted=$$(gofmt -l .); if [ -n "$$unformatted" ]; then echo "not formatted (make fmt):"; echo "$$unformatted"; exit 1; fi
	$(COMPILE) CGO_ENABLED=1 go vet -race -tags browser $(PACKAGES)

.PHONY: lint
lint: ## golangci-lint with .golangci.yml (its first use builds it, for some minutes)
	$(COMPILE) CGO_ENABLED=0 GOBIN=$(CURDIR)/.cache/bin go install $(GOLANGCI_LINT)
	GOGC=400 CGO_ENABLED=1 GOFLAGS="$$(go env GOFLAGS) -race" .cache/bin/golangci-lint run $(PACKAGES)

.PHONY: check
check: ## what CI runs
	.ci/run
