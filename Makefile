# Two commands on a fresh machine: `make demo` and `make test`. Nothing is installed outside .venv.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
CODE := __init__.py errors.py ledger.py words executors ingest metrics records reports web cli sample_streams tests
PIP_QUIET := -q --disable-pip-version-check

# Where nothing may be written beside a module, each of the tests' processes compiles all of ownmark anew, and each
# worker all tests: a quarter of the run's time. Empty means that it is not set.
export PYTHONDONTWRITEBYTECODE :=

.PHONY: demo page test format lint types layers tests outside recordings soak mutants bench screens clean

demo: $(VENV)/.run
	$(BIN)/ownmark demo

page: $(VENV)/.run
	$(BIN)/ownmark page

test: lint types layers tests

$(VENV)/bin/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' \
		|| { echo "ownmark needs Python 3.11 or newer; try: make PYTHON=python3.12 $(MAKECMDGOALS)"; exit 1; }
	@$(PYTHON) -m venv $(VENV) || { rm -rf $(VENV); echo "This Python cannot make a private environment; on Debian: apt-get install python3-venv"; exit 1; }

$(VENV)/.run: $(VENV)/bin/python pyproject.toml constraints.txt
	@echo "Installing ownmark into $(VENV) (once) ..."
	@$(BIN)/python -m pip install $(PIP_QUIET) -c constraints.txt -e .
	@touch $@

$(VENV)/.test: $(VENV)/bin/python pyproject.toml constraints.txt
	@echo "Installing ownmark and its checks into $(VENV) (once) ..."
	@$(BIN)/python -m pip install $(PIP_QUIET) -c constraints.txt -e '.[test,bench]'
	@touch $@ $(VENV)/.run

format: $(VENV)/.test
	$(BIN)/ruff format $(CODE)
	$(BIN)/ruff check --fix $(CODE)

lint: $(VENV)/.test
	$(BIN)/ruff format --check $(CODE)
	$(BIN)/ruff check $(CODE)

types: $(VENV)/.test
	$(BIN)/basedpyright

layers: $(VENV)/.test
	$(BIN)/lint-imports

# Recordings and a browser for the checks, as far as they can be had here. What cannot is named in the run's last lines.
outside: $(VENV)/.test
	@$(BIN)/python -m tests.outside || true

recordings: $(VENV)/.test
	$(BIN)/python -m tests.outside recordings

tests: outside
	$(BIN)/python -m pytest -q -n 2 --dist worksteal -m "not soak"

soak: $(VENV)/.test
	$(BIN)/python -m pytest -q -m soak -o faulthandler_timeout=4000

# Small wrong changes, one at a time: which ones does no test notice? It goes on where the last run stood.
MUTANTS ?= --most 12 --minutes 60
mutants: $(VENV)/.test
	$(BIN)/python -m tests.mutants $(MUTANTS)

bench: $(VENV)/.test
	$(BIN)/python -m tests.bench

# A picture of every screen of the page, for people to look at: desk and phone, light and dark.
screens: $(VENV)/.test
	$(BIN)/python -m tests.web.screens screens

clean:
	rm -rf $(VENV) build dist *.egg-info .pytest_cache .ruff_cache .hypothesis
