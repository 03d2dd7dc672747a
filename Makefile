# `make demo` and `make test` do all the set-up they need. `make help` lists the rest.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
INSTALL = $(BIN)/python -m pip install --quiet --disable-pip-version-check
RUN := $(VENV)/.installed-to-run
DEV := $(VENV)/.installed-to-develop
PROOF := $(VENV)/.installed-to-prove
DOCS := $(VENV)/.installed-to-document

.DEFAULT_GOAL := help
.PHONY: help demo open test check bench published proof words pictures docs lock clean

help: ## show this list
	@grep -E '^[a-z]+:.*## ' $(MAKEFILE_LIST) | sed 's/:.*## /\t/' | expand -t 12

$(VENV)/bin/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "Littoral needs Python 3.11 or newer; $(PYTHON) is $$($(PYTHON) -V 2>&1). Try: make PYTHON=python3.12 ..."; exit 1; }
	@$(PYTHON) -m venv $(VENV) || \
	  { echo "Python's venv module is missing; on Debian and Ubuntu: apt-get install python3-venv"; exit 1; }

$(RUN): requirements/run.txt pyproject.toml | $(VENV)/bin/python
	$(INSTALL) --require-hashes -r requirements/run.txt
	$(INSTALL) --no-deps -e .
	@touch $@

$(DEV): $(RUN) requirements/dev.txt
	$(INSTALL) --require-hashes -r requirements/dev.txt
	@touch $@

$(PROOF): $(DEV) requirements/proof.txt
	$(INSTALL) --require-hashes -r requirements/proof.txt
	@touch $@

$(DOCS): $(DEV) requirements/docs.txt
	$(INSTALL) --require-hashes -r requirements/docs.txt
	@touch $@

demo: $(RUN) ## the whole job once, on the rendered demo trial
	$(BIN)/littoral demo --out build/demo

open: $(RUN) ## open the page: of the demo where it was made, else of your own logbook
	$(BIN)/littoral open $(if $(wildcard build/demo/logbook/logbook.sqlite3),build/demo/logbook)

test: $(DEV) ## all tests but the slow proof
	$(BIN)/pytest -n 2 -m "not slow" tests

check: $(DEV) ## lint, types, rooms
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

bench: $(DEV) ## speed against references in the same run, and growth -> build/{bench,growth}.json, build/growth.svg
	$(BIN)/python benchmarks/bench.py

published: $(DEV) ## checks against published values -> build/published.json
	$(BIN)/python benchmarks/published.py

proof: $(PROOF) ## truth, faults, slow tests, packages, versions, licences, mutants -> build/{proof,faults,shipped}.json
	$(BIN)/python benchmarks/photo_proof.py
	$(BIN)/python benchmarks/proof.py
	$(BIN)/python benchmarks/fault_table.py
	$(BIN)/python benchmarks/bad_inputs.py
	$(BIN)/pytest -n 2 -m slow tests
	$(BIN)/python benchmarks/shipped.py

words: $(DEV) ## gather what is said to people, bring the catalogues up to it and compile them
	$(BIN)/python -m littoral.speech.gather

pictures: $(DEV) ## every page in both themes on a phone and on a desk (after make demo) -> build/pictures
	$(BIN)/python -m tests.browser.every_page.pictures build/demo/logbook build/pictures

docs: $(DOCS) ## tutorial, how-to, reference and explanation, with pictures of the demo -> build/docs
	$(BIN)/python -m docs.building build/docs

lock: ## renew the locked requirements (needs uv)
	uv pip compile pyproject.toml --extra all --universal --python-version 3.11 --generate-hashes --no-header -q -o requirements/run.txt
	uv pip compile pyproject.toml --extra all --group dev --universal --python-version 3.11 --generate-hashes --no-header -q -o requirements/dev.txt
	uv pip compile pyproject.toml --extra all --group proof --universal --python-version 3.11 --generate-hashes --no-header -q -c requirements/dev.txt -o requirements/proof.txt
	uv pip compile pyproject.toml --extra all --group docs --universal --python-version 3.11 --generate-hashes --no-header -q -c requirements/dev.txt -o requirements/docs.txt

clean: ## remove everything that was made
	rm -rf $(VENV) build dist
