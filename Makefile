# make run     from nothing to the workshop's first page (PORT=8123 make run chooses the port)
# make test    everything that CI runs
# make lint    the checks that read code; part of make test
# make bench   times the busy pages on a large shop; never part of make test
# make soak    cuts the network 200 times, kills what runs TURNS times over, walks all pages, times a slow tablet
# make mutants plants faults in the sums, one after the other, and lists those that no test finds (an hour)
# make coverage shows which branches of the sums no test takes; it fails below all of them
# make lock    writes the lock files anew after a change in pyproject.toml
# make clean   removes what can be made again; never var/, where the workshop's data is

SHELL := /bin/bash
.SHELLFLAGS := -eu -o pipefail -c
.DEFAULT_GOAL := run
.PHONY: run test lint bench soak mutants coverage lock clean prepare prepare-tests

PYTHON ?= python3
TURNS ?= 10
BIN := .venv/bin

run: prepare
	@exec $(BIN)/python manage.py up

test: prepare-tests lint
	@$(BIN)/python -m pytest -n 2 --dist worksteal --durations=20

prepare:
	@PYTHON=$(PYTHON) .ci/prepare run

prepare-tests:
	@PYTHON=$(PYTHON) .ci/prepare test

lint: prepare-tests
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/djlint --quiet --lint templates
	$(BIN)/lint-imports --no-logo
	$(BIN)/python manage.py makemigrations --check --dry-run
	TLS=1 HOST=0.0.0.0 TRUST_PROXY=1 ALLOWED_HOSTS=workshop.example \
	  $(BIN)/python manage.py check --deploy --fail-level WARNING

bench: prepare-tests
	@$(BIN)/python tests/performance/bench.py

soak: prepare-tests
	CUTS=200 $(BIN)/python -m pytest -q tests/journeys/test_offline.py -k cuts
	CRASHES=100 $(BIN)/python -m pytest -q tests/workshop/test_reminders_sweep.py -k crash_loses
	for turn in $$(seq $(TURNS)); do $(BIN)/python -m pytest -q tests/faults; done
	$(BIN)/python -m pytest -q tests/journeys/walk
	@$(BIN)/python tests/performance/vitals.py

mutants: prepare-tests
	@rm -rf mutants && $(BIN)/mutmut run --max-children 2
	@$(BIN)/python tests/performance/mutants.py

coverage: prepare-tests
	@$(BIN)/coverage run --branch --source=batches/calc,workshop/calc --data-file=build/coverage -m pytest -q tests/calc
	@$(BIN)/coverage report --data-file=build/coverage --skip-covered --show-missing --fail-under=100

lock:
	uv pip compile pyproject.toml --universal --generate-hashes --no-emit-index-url -o requirements.lock
	uv pip compile pyproject.toml --group dev --universal --generate-hashes --no-emit-index-url -o requirements-dev.lock

clean:
	rm -rf .venv .mypy_cache .ruff_cache .pytest_cache .import_linter_cache .hypothesis build
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
