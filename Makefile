# Everything here needs only Python 3.11 or newer with venv, and make.
# It installs into .venv-demo and .venv inside this folder and touches nothing else.

PYTHON ?= $(shell for p in python3 python3.14 python3.13 python3.12 python3.11 python; do \
	$$p -c 'import sys; raise SystemExit(sys.version_info < (3, 11))' 2>/dev/null && { echo $$p; break; }; done)
JOBS ?= 2
# One job at a time inside numpy: two test workers on two cores, and times that mean something.
export OMP_NUM_THREADS ?= 1
export OPENBLAS_NUM_THREADS ?= 1

DEMO := .venv-demo/bin/drybuild
PY := .venv/bin/python
SOURCES := $(shell find src -type f -not -name '*.pyc' 2>/dev/null)
ROWS := build/validation.jsonl

.DEFAULT_GOAL := help
.PHONY: help demo test lint types floors guarded tidy docs tables moves record bench lock clean python

help:
	@echo "make demo    install into .venv-demo and examine the demo build"
	@echo "make test    install into .venv and run every test"
	@echo "make lint    ruff, mypy, floors between rooms"
	@echo "make docs    make the tables and build the pages into site/"
	@echo "make bench   time the examination of the demo build"
	@echo "make moves   which findings of the demo moved since they were last recorded"
	@echo "make record  record the findings of the demo anew"
	@echo "make lock    choose new versions of what is depended on"
	@echo "make clean   remove what was made here"

python:
	@test -n "$(PYTHON)" || { echo "Python 3.11 or newer was not found. Install it, or say: make PYTHON=/path/to/python3 ..." >&2; exit 1; }
	@$(PYTHON) -c 'import ensurepip, venv' 2>/dev/null || { echo "This Python has no venv. On Debian and its kin: apt install python3-venv" >&2; exit 1; }

# The demo gets the package as a user would, from a built wheel: a data file left out of the
# wheel shows here, not at the user's.
.venv-demo/.ready: requirements/run.lock pyproject.toml README.md $(SOURCES) | python
	@test -x .venv-demo/bin/python || $(PYTHON) -m venv .venv-demo
	@echo "Installing into .venv-demo, about a minute the first time"
	@.venv-demo/bin/python -m pip install --quiet --require-hashes -r requirements/run.lock
	@.venv-demo/bin/python -m pip install --quiet --no-build-isolation --no-deps --force-reinstall .
	@touch $@

.venv/.ready: requirements/dev.lock pyproject.toml | python
	@test -x .venv/bin/python || $(PYTHON) -m venv .venv
	@echo "Installing into .venv, about a minute the first time"
	@$(PY) -m pip install --quiet --require-hashes -r requirements/dev.lock
	@$(PY) -m pip install --quiet --no-build-isolation --no-deps -e .
	@touch $@

demo: .venv-demo/.ready
	@mkdir -p results
	@$(DEMO) check examples/plover --json > results/plover.json
	@$(DEMO) check examples/plover --page results/plover.html
	@echo
	@echo "The results lie in:"
	@echo "  results/plover.html   the page: open it in a browser"
	@echo "  results/plover.json   the same as data"
	@echo "Where it says drybuild, type $(DEMO); look further with:"
	@echo "  $(DEMO) check examples/plover --all"
	@echo "  $(DEMO) serve my-car    your own car, in a browser"
	@echo "The Fennick Plover, its maker and its parts are invented."

# The tests write down what each check against the world measured; docs and guarded read it.
test: .venv/.ready
	@mkdir -p build && rm -f $(ROWS)
	@$(PY) -m compileall -q src # once, not in each app and command that the tests start
	DRYBUILD_VALIDATION=$(ROWS) $(PY) -m pytest -n $(JOBS)

$(ROWS): .venv/.ready $(SOURCES) $(wildcard tests/outside/*.py)
	@mkdir -p build && rm -f $(ROWS)
	DRYBUILD_VALIDATION=$(ROWS) $(PY) -m pytest -n $(JOBS) tests/outside

lint: types floors
	$(PY) -m ruff check

types: .venv/.ready
	$(PY) -m mypy --strict src tools benchmarks

floors: .venv/.ready
	$(PY) tools/floors.py src/drybuild

guarded: $(ROWS)
	$(PY) tools/guarded.py --rows $(ROWS)

tidy: | python
	@$(PYTHON) tools/tidy.py

tables: $(ROWS)
	$(PY) tools/validation_table.py --rows $(ROWS) --out docs/generated/validation.md
	$(PY) tools/checks_table.py --out docs/generated/checks.md
	$(PY) tools/reference_tables.py --out docs/generated

docs: tables
	$(PY) -m mkdocs build --strict --site-dir site
	@echo "The pages lie in site/index.html"

results/plover.json: .venv-demo/.ready $(wildcard examples/plover/*.toml examples/plover/parts/*.toml)
	@mkdir -p results
	@$(DEMO) check examples/plover --json > $@

moves: results/plover.json
	@$(PYTHON) tools/demo_moves.py results/plover.json

record: results/plover.json
	@$(PYTHON) tools/demo_moves.py results/plover.json --record

bench: .venv/.ready
	$(PY) benchmarks/examine.py

# Universal: one lock for every system and Python from 3.11 on, with hashes, naming no registry.
UV := .venv-lock/bin/uv pip compile pyproject.toml --quiet --universal --python-version 3.11 \
	--generate-hashes --no-emit-index-url --no-header --extra page --extra plan --extra paper --extra serve --extra certificate
lock: | python
	@test -x .venv-lock/bin/uv || { $(PYTHON) -m venv .venv-lock && .venv-lock/bin/python -m pip install --quiet uv; }
	$(UV) --group dev -o requirements/dev.lock
	$(UV) --group build -c requirements/dev.lock --no-annotate -o requirements/run.lock

clean:
	rm -rf .venv .venv-demo .venv-lock build results site docs/generated .pytest_cache .mypy_cache .ruff_cache .hypothesis
