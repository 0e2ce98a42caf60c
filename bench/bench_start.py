"""How long a person waits for `wetline --help`, against an empty Python and a plain argparse script.

Fresh: no compiled bytecode anywhere, as on the first run after installing (standard library included, for
all three alike). Warm: best of several runs. Also says which heavy packages the help loads: none may.
Run: `python bench/bench_start.py`.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time

REPEATS = 7
HEAVY = {"llvmlite", "mgrs", "numba", "numpy", "pyproj", "rasterio", "scipy", "shapely", "typst"}
ARGPARSE = """
import argparse
parser = argparse.ArgumentParser("wetline")
commands = parser.add_subparsers()
for name in ("demo", "check", "sizeup", "water", "drop", "circuits", "plan", "brief"):
    command = commands.add_parser(name, help="one line about it")
    command.add_argument("incident")
    command.add_argument("--json", action="store_true")
parser.parse_args(["--help"])
"""
LOADED = """
import json, sys
from wetline.cli import main
try:
    main(["--help"])
except SystemExit:
    print(json.dumps(sorted({name.partition(".")[0] for name in sys.modules})), file=sys.stderr)
"""
CASES = {
    "python -c pass": [sys.executable, "-c", "pass"],
    "argparse, 8 commands": [sys.executable, "-c", ARGPARSE],
    "wetline --help": [sys.executable, "-m", "wetline", "--help"],
}


def seconds(command: list[str], bytecode: str) -> float:
    environment = {**os.environ, "PYTHONPYCACHEPREFIX": bytecode}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)  # warm means that the bytecode of the last run is there
    begin = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True, env=environment)
    return time.perf_counter() - begin


def main() -> None:
    fresh, warm = {}, {}
    for name, command in CASES.items():
        with tempfile.TemporaryDirectory() as bytecode:
            fresh[name] = seconds(command, bytecode)
            warm[name] = min(seconds(command, bytecode) for _ in range(REPEATS))
    bare, plain = (list(CASES)[i] for i in (0, 1))
    print(f"warm: best of {REPEATS}; ratios to `{bare}` and to `{plain}` in the same run")
    for name in CASES:
        for label, taken in (("fresh", fresh), ("warm", warm)):
            print(
                f"{name:<21} {label:<6} {taken[name] * 1e3:7.0f} ms   {taken[name] / taken[bare]:5.1f} ×"
                f"   {taken[name] / taken[plain]:5.1f} ×"
            )
    done = subprocess.run([sys.executable, "-c", LOADED], check=True, capture_output=True, text=True)
    modules = set(json.loads(done.stderr.splitlines()[-1]))
    heavy = sorted(modules & HEAVY)
    print(f"{len(modules)} top-level modules loaded by the help; heavy ones: {', '.join(heavy) or 'none'}")
    if heavy:
        raise SystemExit(1)


if __name__ == "__main__":
    main()
