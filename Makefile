# make demo    open the touch app on a throw-away copy of the demo logbook
# make check   lint, types, import contract and every test
# make bench   speed, as ratios against a baseline in the same run
# make torture worlds of devices and clubs, kills, mutated recordings and spoilt logbooks (half an hour on two cores)
# make package-source lay out what goes into a package for Android, see assets/packaging
# make accessibility hold every page of the club against axe-core, which npm brings
# make screens draw every room at three sizes and both themes into assets/screens
#
# Each makes its own virtual environment in .venv, and needs only Python 3.11 or newer and make.

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
PACKAGE := build/package

.PHONY: demo check bench torture accessibility screens package-source clean

demo: $(VENV)/.ready-demo
	@sh .ci/screen-libraries
	@$(BIN)/leadline --demo

check: $(VENV)/.ready-check
	@sh .ci/screen-libraries
	@sh .ci/postgresql
	@sh .ci/chromium
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports --no-cache
	$(BIN)/python -m pytest -n auto --dist loadfile

bench: $(VENV)/.ready-check
	@sh .ci/screen-libraries
	$(BIN)/python -m pytest tests/benchmarks -o python_files='bench_*.py' -s -q

torture: $(VENV)/.ready-check
	$(BIN)/python -m tests.torture $$(date +%s)

accessibility: $(VENV)/.ready-check
	@sh .ci/chromium
	@mkdir -p build/axe && cd build/axe && npm pack --silent axe-core >/dev/null && tar -xzf axe-core-*.tgz
	$(BIN)/python -m tests.server.accessibility build/axe/package/axe.min.js

screens: $(VENV)/.ready-demo
	@sh .ci/screen-libraries
	$(BIN)/python -m logbook_app.screens.portraits assets/screens

package-source:
	@rm -rf "$(PACKAGE)" && mkdir -p "$(PACKAGE)"
	@git ls-files -z logbook_app assets demo_data | tar -c --null -T - | tar -x -C "$(PACKAGE)"
	@cp assets/packaging/main.py "$(PACKAGE)/main.py"

clean:
	rm -rf $(VENV) build dist .pytest_cache .mypy_cache .ruff_cache .import_linter_cache .hypothesis

$(VENV)/bin/python:
	@sh .ci/virtual-environment "$(PYTHON)" $(VENV)

$(VENV)/.ready-demo: pyproject.toml | $(VENV)/bin/python
	@echo "Installing Leadline into $(VENV) (the first time takes a minute or two) ..."
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check -e .
	@touch $@

$(VENV)/.ready-check: pyproject.toml | $(VENV)/bin/python
	@echo "Installing Leadline and its test tools into $(VENV) ..."
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[test]'
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps 'scikit-diveMove==1.0.0'  # for one recording in it
	@touch $@ $(VENV)/.ready-demo
