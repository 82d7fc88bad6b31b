# On a fresh machine with Go, Node and make:
#   make demo            builds, imports the invented town, plans a loop, serves it
#   make demo MAP=path   does the same on any OpenStreetMap extract
#   make test            runs every test

BIN    := bin/wideberth
MAP    ?=
FROM   ?=
LISTEN ?= 127.0.0.1:8080
GO     ?= go
VERSION := $(shell git describe --tags --always --dirty 2>/dev/null || echo unversioned)
SOURCES := $(shell git ls-files '*.go' 'testdata/**' 'api/web/dist/**' 2>/dev/null) go.mod go.sum

.PHONY: build
build: $(BIN) ## build the program

$(BIN): $(SOURCES) api/web/dist/index.html
	CGO_ENABLED=0 $(GO) build -trimpath -ldflags '-X main.version=$(VERSION)' -o $@ ./cmd/wideberth

.PHONY: help
help: ## list the targets
	@awk -F':.*## ' '/^[a-z-]+:.*## /{printf "  %-10s %s\n", $$1, $$2}' $(MAKEFILE_LIST)
