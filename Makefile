# The two commands: make demo, make test. The rest is for working on faultgrain.
GO ?= go
BIN := bin/faultgrain
CHARTS := report/assets/built/echarts.js

.PHONY: demo test build assets bench calibrate reference text-score screenshots clean

demo: build ## the made-up shop, end to end
	$(BIN) demo --out demo-out

test: assets ## every test
	$(GO) vet ./...
	$(GO) test ./...

build: assets
	$(GO) build -o $(BIN) ./cmd/faultgrain

assets: $(CHARTS)

$(CHARTS): report/assets/package-lock.json report/assets/build.js report/assets/echarts.entry.js
	@command -v npm >/dev/null || { echo "make: npm is missing; the chart library is fetched with it (Debian: apt-get install npm)" >&2; exit 1; }
	cd report/assets && npm ci --ignore-scripts --no-fund --no-audit && node build.js

reference: ## recompute the reference values of the statistics with R (Debian: r-base-core r-cran-survival)
	cd analysis/stat/testdata && Rscript reference.R

clean:
	rm -rf bin demo-out report/assets/node_modules
	find report/assets/built -type f ! -name .keep -delete
