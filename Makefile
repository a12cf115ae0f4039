# The door to Upsides. `make run` and `make test` need make and a Python >= 3.11; they install the rest into .venv.
VENV := .venv
BIN := $(VENV)/bin
READY := $(VENV)/.ready
SHELL := /bin/bash
# Bytecode is kept: without it every process reads and compiles the whole source anew.
unexport PYTHONDONTWRITEBYTECODE
# One BLAS thread a process: two that wait for each other on a busy machine are slower than one.
export OPENBLAS_NUM_THREADS := 1
export OMP_NUM_THREADS := 1
# Tests spread over the processors; each process has a folder and a database of its own.
# A file's tests stay together, so that what they share is made once. One process more than processors: many tests wait.
WORKERS := $(shell echo $$(( $$(getconf _NPROCESSORS_ONLN) + 1 )))
PYTEST := $(BIN)/pytest -n $(WORKERS) --maxprocesses 8 --dist loadfile --no-loadscope-reorder --durations=15 --durations-min=10

.PHONY: run test chromium compiled lint types layers suite unit web browser fuzz fuzz-hour postgres postgres-books bench docs setup clean

run: $(READY)
	$(BIN)/upsides demo --library var/demo
	$(BIN)/upsides serve --library var/demo

test: $(READY)
	$(MAKE) --no-print-directory -j 3 --output-sync=target chromium compiled lint types layers
	$(MAKE) --no-print-directory suite
	$(MAKE) --no-print-directory browser

setup: $(READY)

$(READY): pyproject.toml uv.lock tools/setup.sh
	bash tools/setup.sh $(VENV)
	touch $(READY)

# What is compiled when it is loaded is compiled once here, tests too, not in every process that tests.
compiled: $(READY)
	$(BIN)/python -m tools.compile
	$(BIN)/pytest --collect-only -qq > /dev/null

lint: $(READY)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types: $(READY)
	$(BIN)/mypy

layers: $(READY)
	$(BIN)/lint-imports --no-cache

suite: $(READY)
	$(PYTEST) --ignore=tests/browser

unit: $(READY)
	$(PYTEST) --ignore=tests/web --ignore=tests/browser

web: $(READY)
	$(PYTEST) tests/web

# Installed, where it is not there, while the source is looked at.
chromium:
	bash tools/browser.sh

browser: $(READY)
	bash tools/browser.sh $(BIN)/pytest -n auto --maxprocesses 8 --dist loadfile --durations=15 --durations-min=10 tests/browser

# Readers of recordings against bytes that nobody would write; the corpus is kept in build/fuzz, so it goes on where it was.
fuzz: $(READY)
	$(BIN)/python -m tools.fuzz --all --seconds 120

# An hour of them in all, by turns; killed, it goes on where it was when asked again.
fuzz-hour: $(READY)
	$(BIN)/python -m tools.fuzz --all --seconds 300 --in-all 3600

# What depends on the database itself: who writes at once, what is refused, what is read as of a moment.
postgres-books: $(READY)
	bash tools/postgres.sh $(PYTEST) tests/books/test_jobs*.py tests/books/test_diary*.py tests/books/test_moments.py \
		tests/books/test_sales.py

postgres: $(READY)
	bash tools/postgres.sh $(PYTEST) tests/books tests/web tests/cli

bench: $(READY)
	$(BIN)/python -m benchmarks

docs: $(READY)
	$(BIN)/python tools/docs.py

clean:
	rm -rf $(VENV) var build dist
