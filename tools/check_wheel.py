"""Build the wheel, unpack it somewhere else and run a command from it: missing data files show."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def main() -> None:
    """Fail loudly if a file of the source tree is missing from the wheel or the wheel does not run."""
    with tempfile.TemporaryDirectory() as folder:
        build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", folder]
        subprocess.run(build, cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
        wheel = next(Path(folder).glob("*.whl"))
        with zipfile.ZipFile(wheel) as archive:
            inside = {name for name in archive.namelist() if name.startswith("wetline/")}
            archive.extractall(Path(folder) / "wheel")
        source = {
            str(path.relative_to(ROOT / "src"))
            for path in (ROOT / "src" / "wetline").rglob("*")
            if path.is_file() and "__pycache__" not in path.parts
        }
        if missing := sorted(source - inside):
            raise SystemExit(f"missing from the wheel: {', '.join(missing)}")
        environment = dict(os.environ, PYTHONPATH=str(Path(folder) / "wheel"))
        command = [sys.executable, "-m", "wetline", "drop", "--class", "twin_engine_scooper", "--json"]
        done = subprocess.run(command, cwd=folder, env=environment, check=True, stdout=subprocess.PIPE)
        where = subprocess.run(
            [sys.executable, "-c", "import wetline; print(wetline.__file__)"],
            cwd=folder,
            env=environment,
            check=True,
            stdout=subprocess.PIPE,
        )
        if folder not in where.stdout.decode():
            raise SystemExit("the wheel was not the one that ran")
        print(f"wheel: {len(inside)} files, `drop` answered {len(done.stdout)} bytes from it")


if __name__ == "__main__":
    main()
