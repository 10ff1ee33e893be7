# The two commands: make demo, make test. The rest is for working on faultgrain.
GO ?= go
PYTHON ?= python3
BIN := bin/faultgrain
CHARTS := report/assets/built/echarts.js

.PHONY: demo test build assets bench calibrate reference text-score screenshots race torture licences check fuzz clean

demo: build ## the made-up shop, end to end
	$(BIN) demo --out demo-out

test: assets ## every test
	$(GO) vet ./...
	$(GO) test -timeout 40m ./...

# Where goroutines share anything. Simulations, processes killed and browsers are left out: the detector slows them tenfold,
# and they share nothing. Of the report that leaves whole reports being drawn.
RACED := ./cmd/faultgrain ./ingest/... ./analysis ./analysis/tally/... ./analysis/batches

race: assets ## the tests of what runs side by side, under the race detector
	$(GO) test -race -short -skip 'Monstrous|FullDisk|Killed|Flipped' -timeout 30m $(RACED)
	$(GO) test -race -short -run 'SameBytes|QuietMonth|BadTable' -timeout 30m ./report

torture: assets ## kills, interrupts, full disks and monstrous logs, TORTURE times as many as make test does
	FAULTGRAIN_TORTURE=$(TORTURE) $(GO) test -count=1 -timeout 6h -v -run 'Killed|Interrupted|AtOnce|Monstrous|Full|ReadOnly|Stopped|Clock|Flipped' ./cmd/faultgrain ./ingest/history

TORTURE ?= 20

licences: ## writes docs/licences.md: what others wrote, and its licences
	$(GO) run ./cmd/licences > licences.tmp && mv licences.tmp docs/licences.md

check: assets ## go vet, staticcheck and govulncheck; the latter's database is on the network, or in the folder VULNDB names
	$(GO) vet ./...
	$(GO) run honnef.co/go/tools/cmd/staticcheck@v0.8.2 ./...
	GOBIN="$(CURDIR)/bin" $(GO) install golang.org/x/vuln/cmd/govulncheck@v1.9.0
	bin/govulncheck $(if $(VULNDB),-db file://$(VULNDB)) ./... || { code=$$?; [ $$code -eq 1 ] || exit $$code; \
		echo "make: govulncheck found nothing out, as told above; set VULNDB to a folder with its database" >&2; }

FUZZTIME ?= 5m

fuzz: ## every fuzz target for FUZZTIME (5m), one at a time; what crashes is kept in testdata
	@grep -rn --include='*_test.go' -o '^func Fuzz[A-Za-z]*' . | sed 's|/[^/]*_test.go:[0-9]*:func | |' | sort | while read -r folder target; do \
		echo "$$folder $$target"; \
		$(GO) test "$$folder" -run '^$$' -fuzz "^$$target\$$" -fuzztime $(FUZZTIME) -fuzzminimizetime 10x -parallel 1 || exit 1; \
	done

build: assets
	$(GO) build -o $(BIN) ./cmd/faultgrain

assets: $(CHARTS)

$(CHARTS): report/assets/package-lock.json report/assets/build.js report/assets/echarts.entry.js
	@command -v npm >/dev/null || { echo "make: npm is missing; the chart library is fetched with it (Debian: apt-get install npm)" >&2; exit 1; }
	cd report/assets && npm ci --ignore-scripts --no-fund --no-audit && node build.js

bench: build ## ten thousand to ten million visits, log to report, beside DuckDB's copy and a pandas script; writes docs/performance.md
	$(GO) run ./cmd/bench --out docs/performance.md --program $(BIN) --python $(PYTHON)

calibrate: ## simulate what intervals, tests and alarms promise; writes docs/calibration.md and .csv
	$(GO) run ./analysis/calibrate --out docs

text-score: ## score the lexicon on the labelled texts in the folder FAULTGRAIN_OPENDATA names
	@test -n "$$FAULTGRAIN_OPENDATA" || { echo "make: set FAULTGRAIN_OPENDATA to the folder with labelled_tablets.csv" >&2; exit 1; }
	$(GO) run ./ingest/lexicon/score "$$FAULTGRAIN_OPENDATA"

reference: ## recompute the reference values of the statistics with R (Debian: r-base-core r-cran-survival)
	Rscript analysis/stat/testdata/reference.R > reference.tmp && mv reference.tmp analysis/stat/testdata/reference.csv

screenshots: demo ## the picture of the README, drawn from the demo
	FAULTGRAIN_SCREENSHOT="$(CURDIR)/docs/screenshot.png" FAULTGRAIN_BRIEF="$(CURDIR)/demo-out/thimble-lane/brief" \
	FAULTGRAIN_SHOP="$(CURDIR)/demo-out/thimble-lane/shop.toml" $(GO) test ./report -run TestScreenshot -count=1

clean:
	rm -rf bin demo-out report/assets/node_modules
	find report/assets/built -type f ! -name .keep -delete
