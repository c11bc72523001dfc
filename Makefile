# The chores of the house. `make setup` leaves the command at .venv/bin/batchwright; every other target sets up first.
SHELL := /bin/sh
VENV := .venv
RUN := $(VENV)/bin/python
PIP := $(RUN) -m pip --quiet --disable-pip-version-check
LOCKED := $(PIP) install --require-hashes
BENCH ?= bench

.PHONY: setup demo test check fix bench bench-labels torture published docs lock pins clean
.DEFAULT_GOAL := setup

setup: $(VENV)/.ready-run

# The first of these that is Python 3.11 to 3.13 and has venv is used; PYTHON=... chooses another.
$(VENV)/.ready-python:
	@sh requirements/make_venv.sh "$(VENV)" $(PYTHON)
	@touch $@

$(VENV)/.ready-run: $(VENV)/.ready-python requirements/runtime.lock requirements/build.lock pyproject.toml hatch_build.py \
		$(wildcard src/batchwright/original/sampling/*.c)
	@echo "Setting up batchwright in $(VENV) ..."
	@$(LOCKED) -r requirements/build.lock
	@$(LOCKED) -r requirements/runtime.lock
	@$(PIP) install --no-deps --no-build-isolation --editable .
	@touch $@

$(VENV)/.ready-test: $(VENV)/.ready-run requirements/test.lock
	@$(LOCKED) -r requirements/test.lock
	@touch $@

$(VENV)/.ready-bench: $(VENV)/.ready-test requirements/bench.lock
	@$(LOCKED) -r requirements/bench.lock
	@touch $@

$(VENV)/.ready-check: $(VENV)/.ready-test requirements/check.lock
	@$(LOCKED) -r requirements/check.lock
	@touch $@

# An invented packaged food, from its packet to a recipe card, in a browser; without one, in words.
demo: $(VENV)/.ready-run
	@$(VENV)/bin/batchwright demo --book

# Lists what it skipped; with BATCHWRIGHT_SKIP_IS_FAILURE=1 (.ci/run sets it) a skip is a failure.
test: $(VENV)/.ready-test
	$(RUN) -m pytest -n 2 --dist loadfile -r s

check: $(VENV)/.ready-check
	$(VENV)/bin/ruff check .
	$(VENV)/bin/mypy

fix: $(VENV)/.ready-check
	$(VENV)/bin/ruff check --fix .

# Speed and accuracy beside peers in the same run. Label cases with known truth come from a folder (BENCH=folder).
bench: $(VENV)/.ready-bench
	$(RUN) benchmarks/recipes.py
	$(RUN) benchmarks/store_load.py
	$(RUN) benchmarks/pages_load.py
	@test -f "$(BENCH)/cases_dev.jsonl" || echo "No label cases in $(BENCH): make bench BENCH=folder measures decoding too."
	@test ! -f "$(BENCH)/cases_dev.jsonl" || $(MAKE) --no-print-directory bench-labels

bench-labels: $(VENV)/.ready-bench
	$(RUN) benchmarks/accuracy.py "$(BENCH)/cases_dev.jsonl" "$(BENCH)/truth_dev.jsonl"
	$(RUN) benchmarks/accuracy.py "$(BENCH)/cases_dev_noise.jsonl" "$(BENCH)/truth_dev_noise.jsonl"
	$(RUN) benchmarks/planted_faults.py "$(BENCH)/cases_dev.jsonl" --truth "$(BENCH)/truth_dev.jsonl"

# A program that writes into a book, killed a thousand times at random moments: is anything lost that it said was kept?
# TORTURE="--kills 100 --book postgresql://user@host/name" changes how often and where.
torture: $(VENV)/.ready-test
	$(RUN) benchmarks/torture.py $(TORTURE)

# Every outside value: ours, theirs, the difference, the source.
published: $(VENV)/.ready-test
	$(RUN) -m pytest -r s --show-published tests/published

# Writes docs/reference/commands.md from the program's own help, then checks every link among the pages.
docs: $(VENV)/.ready-run
	$(RUN) docs/write_reference.py

# Writes requirements/*.lock anew from pyproject.toml (needs `uv`).
lock:
	sh requirements/lock.sh

# Takes the tables as they stand for right: tests/contracts/pins.json is the diff to read.
pins: $(VENV)/.ready-test
	$(RUN) -m tests.contracts.pins

clean:
	rm -rf "$(VENV)" build dist
