.DEFAULT_GOAL := help
.PHONY: help demo kiosk build test lint generate picture screenshots fuzz bench drill clean

BENCH ?= .
BENCH_FLAGS ?= -benchmem
FUZZ_SECONDS ?= 20
KILLS ?= 200
RECORDS ?= 1000000

help: ## show what can be made
	@awk -F ':.*## ' '/^[a-z]+:.*## / { printf "make %-10s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

demo: ## start the server with the demonstration shop, kept in .demo/shop.db; needs Go, and has the kiosk's page where Node is
	@mkdir -p .demo
	@.ci/kiosk --optional
	go run ./deploy/arrisd --demo --store .demo/shop.db

kiosk: ## build the kiosk's page, which the programs built after it have; needs Node
	.ci/kiosk

build: ## build the programs into bin/, with the kiosk's page if it is built
	go build -trimpath -o bin/ ./deploy/...

test: ## run every check and test; installs what is missing (root on Debian) or lists it
	@FUZZ_SECONDS=$(FUZZ_SECONDS) .ci/test

lint: ## run the Go linter and the schema linter
	go tool -modfile=.ci/lint.mod golangci-lint run
	go run ./proto/internal/imports .proto-imports
	.ci/buf lint
	.ci/buf format --diff --exit-code proto

generate: ## lay out the schema and write again what is generated from it
	.ci/generate
	.ci/buf format -w proto

picture: ## draw the README's pictures again
	go run ./deploy/arris solve bowl-50 --station north --svg deploy/pictures/bowl-50.svg >/dev/null
	go run ./deploy/picture > deploy/pictures/gouge.png

screenshots: ## take the README's pictures of the kiosk again; needs Chromium, and `make demo` running elsewhere
	node client/kiosk/pictures.mjs

fuzz: ## run the fuzz targets for FUZZ_SECONDS in all
	.ci/fuzz $(FUZZ_SECONDS)

bench: ## run the benchmarks; BENCH picks by name, RECORDS is how many the stores are filled with
	ARRIS_BENCH_RECORDS=$(RECORDS) go test -run '^$$' -bench '$(BENCH)' $(BENCH_FLAGS) -timeout 2h ./...

drill: ## kill the server KILLS times, stop its database and fill its disk (make test does it 40 times)
	ARRIS_DRILL_KILLS=$(KILLS) go test -count=1 -timeout 60m -v ./deploy/drill

clean: ## remove what was built, printed or installed here
	rm -rf bin .proto-imports .openapi-parts .tools client/kiosk/node_modules
	find client/kiosk/dist -mindepth 1 ! -name placeholder.html -delete
