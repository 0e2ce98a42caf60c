"""The main job on the invented incident: build it, check it, plan it, brief it.

Ends with where the plan, the map and the sheets lie, and the three answers.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

WHERE = {"plan": "plan", "layers": "map layers", "pdf": "map page and sheets"}


def say(words: str) -> None:
    """Progress goes to stderr."""
    print(f"demo: {words}", file=sys.stderr)


def run(*words: str) -> dict[str, object]:
    """One `wetline` command with `--json`; its messages go straight to the terminal."""
    command = [sys.executable, "-m", "wetline", *words, "--json"]
    done = subprocess.run(command, stdout=subprocess.PIPE, check=False)
    if done.returncode not in {0, 3}:
        sys.stdout.buffer.write(done.stdout)
        raise SystemExit(done.returncode)
    answer: dict[str, object] = json.loads(done.stdout)
    return answer


def main(folder: str) -> None:
    """Run the job in `folder`, which is made anew."""
    incident, out = str(Path(folder) / "incident"), Path(folder) / "out"
    if Path(folder).exists() and not (Path(folder) / "incident" / "incident.toml").exists():
        raise SystemExit(f"{folder} is there and holds no demo incident: name another folder")
    shutil.rmtree(folder, ignore_errors=True)
    Path(folder).mkdir(parents=True)
    say("writing the invented incident and checking its folder")
    run("demo", incident)
    run("check", incident)
    say("planning (the first time ever compiles the models: about a minute)")
    plan = run("plan", incident, "--out", str(out))
    say("printing the map and the sheets")
    brief = run("brief", incident, "--out", str(out))
    answers = plan["answers"]
    if not isinstance(answers, dict):
        raise SystemExit("plan gave no answers")
    files = [f for answer in (plan, brief) for f in answer.get("files", [])]  # type: ignore[attr-defined]
    print()
    print("Where does the next load do most good?  ", answers["next_load"])
    print("Are we winning?                         ", answers["winning_words"])
    print("Who could this hurt?                    ", answers["hurt"])
    print()
    for file in files:
        print(f"{WHERE.get(file['kind'], file['kind']):<20} {file['path']}")
    print()
    for caution in plan["cautions"]:  # type: ignore[attr-defined]
        print(caution)


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "demo")
