# The two commands: make demo, make test. The rest is for working on faultgrain.
GO ?= go
PYTHON ?= python3
BIN := bin/faultgrain
CHARTS := report/assets/built/echarts.js

.PHONY: demo test build assets bench calibrate reference text-score screenshots clean

demo: build ## the made-up shop, end to end
	$(BIN) demo --out demo-out

test: assets ## every test
	$(GO) vet ./...
	$(GO) test -timeout 40m ./...

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
