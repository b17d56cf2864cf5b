# Everything a developer runs. Needs make, and Python 3.11 to 3.13 with venv and pip.
PYTHON ?= python3
VENV := .venv
PY := $(VENV)/bin/python
CHROMIUM ?= $(shell command -v chromium || command -v chromium-browser || command -v google-chrome)
export CHROMIUM

.PHONY: setup demo test lint bench lock

setup: $(VENV)/.installed

# The stamp is touched last: an installation that broke off is done again. What the environment already holds is
# left as it is where nothing in the lock file changed.
$(VENV)/.installed: requirements/dev.txt
	@$(PYTHON) -c 'import sys; sys.exit(None if (3, 11) <= sys.version_info[:2] < (3, 14) else "Python 3.11 to 3.13 is needed, and $(PYTHON) is " + sys.version.split()[0] + ". Name another: make setup PYTHON=python3.12")'
	$(PYTHON) -m venv $(VENV)
	$(PY) -m pip install --quiet --disable-pip-version-check --require-hashes --only-binary=:all: -r requirements/dev.txt
	@touch $@

demo: setup
	$(PY) manage.py demo

# The browser tests have a run of their own, since their driver would hide mistakes of the others (an event loop runs).
test: setup
	$(PY) -m pytest
	@if [ -n "$(CHROMIUM)" ]; then \
		echo "$(PY) -m pytest tests/browser"; $(PY) -m pytest tests/browser; \
	elif [ "$(CI)" = true ]; then \
		echo "CHROMIUM IS MISSING, and with CI=true the browser tests may not be left out. Debian: apt-get install chromium" >&2; exit 1; \
	else \
		echo "==== BROWSER TESTS LEFT OUT: there is no Chromium here (Debian: apt-get install chromium) ====" >&2; \
	fi

lint: setup
	$(PY) -m ruff check .
	$(PY) -m mypy

bench: setup
	$(PY) -m tests.benchmarks

# Pins that still fit are kept; make lock UPGRADE=--upgrade takes the newest. uv lives only as long as the recipe does.
lock:
	@tools=$$(mktemp -d) && trap 'rm -rf "$$tools"' EXIT && \
	$(PYTHON) -m venv "$$tools" && "$$tools/bin/python" -m pip install --quiet --disable-pip-version-check uv && \
	compile() { "$$tools/bin/uv" pip compile --quiet pyproject.toml --universal --generate-hashes --no-header $(UPGRADE) "$$@"; } && \
	compile --extra postgres -o requirements/runtime.txt && \
	compile --extra postgres --group dev -c requirements/runtime.txt -o requirements/dev.txt
