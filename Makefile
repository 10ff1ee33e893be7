# The two commands: make demo, make test. The rest is for working on faultgrain.
GO ?= go
PYTHON ?= python3
BIN := bin/faultgrain
CHARTS := report/assets/built/echarts.js

.PHONY: demo test build assets bench calibrate reference text-score screenshots race torture licences check clean

demo: build ## the made-up shop, end to end
	$(BIN) demo --out demo-out

test: assets ## every test
	$(GO) vet ./...
	$(GO) test -timeout 40m ./...

# Where goroutines share anything; simulations and browsers are left out, for the detector slows them tenfold.
RACED := ./cmd/faultgrain ./ingest/... ./analysis/tally/... ./analysis/batches

race: assets ## the tests of what runs side by side, under the race detector
	$(GO) test -race -short -skip 'Monstrous|FullDisk' -timeout 30m $(RACED)

torture: assets ## kills, interrupts, full disks and monstrous logs, TORTURE times as many as make test does
	FAULTGRAIN_TORTURE=$(TORTURE) $(GO) test -count=1 -timeout 6h -v -run 'Killed|Interrupted|AtOnce|Monstrous|Full|ReadOnly|Stopped|Clock' ./cmd/faultgrain ./ingest/history

TORTURE ?= 20

licences: ## writes docs/licences.md: what others wrote, and its licences
	$(GO) run ./cmd/licences > licences.tmp && mv licences.tmp docs/licences.md

check: assets ## staticcheck and govulncheck; the latter needs its database: on the network, or in the folder VULNDB names
	$(GO) run honnef.co/go/tools/cmd/staticcheck@v0.8.2 ./...
	$(GO) run golang.org/x/vuln/cmd/govulncheck@v1.9.0 $(if $(VULNDB),-db file://$(VULNDB)) ./...

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
