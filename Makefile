# Each target does its own set-up. `make demo` and `make test` are all a newcomer needs.
PORT ?= 8000
PY := .venv/bin/python
SHELL := /bin/bash
.SHELLFLAGS := -eu -o pipefail -c
.PHONY: demo test test-all bench tables figures fmt lock lint types pytest js browser migration

demo: .venv/.runtime
	@$(PY) -m seed_demo.run --port $(PORT)

test: lint types pytest js browser

lint: .venv/.dev
	.venv/bin/ruff check .
	.venv/bin/ruff format --check .

types: .venv/.dev .venv/.tsc
	.venv/bin/mypy
	for each in page worker strict strict_worker; do node .venv/tsc/node_modules/typescript/bin/tsc -p tests/js/types/$$each.json; done

pytest: .venv/.dev .venv/.tsc
	$(PY) -m pytest -n 2 -m "not browser and not full"

js: .venv/.node
	node --test tests/js/

browser: .venv/.dev .venv/.chromium
	$(PY) -m pytest -n 2 --dist loadfile -m "browser and not full"

test-all: lint types js .venv/.dev .venv/.chromium
	$(PY) -m pytest -n 2 -m "not browser" --hypothesis-profile=search
	$(PY) -m pytest -m browser

bench: .venv/.dev .venv/.chromium
	$(PY) -m tests.bench.bench

# The tables of docs/METHODS.md, worked out anew.
tables: .venv/.dev
	$(PY) -m tests.bench.characteristics

# Every picture of the shipped regimes, to be looked at: figures/*.png.
figures: .venv/.dev .venv/.chromium
	$(PY) -m tests.figures.contact_sheet

fmt: .venv/.dev
	.venv/bin/ruff check --fix .
	.venv/bin/ruff format .

lock: .venv/.dev
	.venv/bin/pip install -q uv
	.venv/bin/uv pip compile -q --universal --python-version 3.11 --generate-hashes pyproject.toml -o requirements.lock
	.venv/bin/uv pip compile -q --universal --python-version 3.11 --generate-hashes --extra dev pyproject.toml -o requirements-dev.lock

# --- set-up: each stamp is made once and again when what it stands on changes ---
.venv/bin/python:
	@bash .ci/need python3-venv "python3 -c 'import ensurepip, venv'"
	@bash .ci/python

.venv/.runtime: requirements.lock | .venv/bin/python
	@echo "Installing what Homeprog runs on (once) ..."
	@.venv/bin/pip install -q --disable-pip-version-check --require-hashes -r requirements.lock
	@touch $@

.venv/.dev: requirements-dev.lock .venv/.runtime
	@echo "Installing what the tests run on (once) ..."
	@.venv/bin/pip install -q --disable-pip-version-check --require-hashes -r requirements-dev.lock
	@touch $@

.venv/.node: | .venv/bin/python
	@bash .ci/need nodejs "node --version"
	@touch $@

.venv/.tsc: package.json package-lock.json | .venv/.node
	@bash .ci/need npm "npm --version"
	@echo "Installing what the types of the phone's scripts are checked with (once) ..."
	@mkdir -p .venv/tsc && cp package.json package-lock.json .venv/tsc/
	@cd .venv/tsc && npm ci --silent --ignore-scripts --no-audit --no-fund
	@touch $@

.venv/.chromium: | .venv/bin/python
	@bash .ci/need chromium "test -x /usr/bin/chromium"
	@touch $@
