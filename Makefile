# Two commands do everything on a fresh machine: `make demo` and `make test`.

.PHONY: demo test check bench lock setup

PYTHON := .venv/bin/python
DEMO := demo

demo: setup  ## set everything up, plan the invented incident, print its sheets
	@$(PYTHON) tools/run_demo.py $(DEMO)

test: setup check  ## set everything up and run every check and test
	@$(PYTHON) -m pytest
	@$(PYTHON) tools/check_wheel.py

check: setup  ## style, types, direction of imports
	@.venv/bin/ruff check .
	@.venv/bin/ruff format --check .
	@.venv/bin/mypy
	@.venv/bin/lint-imports

bench: setup  ## measure speed; never part of the tests
	@for file in bench/bench_*.py; do echo "== $$file"; \
		PYTHONPATH=tests $(PYTHON) -m bench.$$(basename $$file .py) || exit 1; done

lock: setup  ## resolve the dependencies of pyproject.toml anew
	@$(PYTHON) -m pip install -q uv
	@.venv/bin/uv pip compile pyproject.toml --group dev --universal --generate-hashes \
		--no-emit-index-url --no-header --python-version 3.11 -q -o requirements.lock

setup:
	@tools/setup.sh
