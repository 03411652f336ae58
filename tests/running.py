"""Run the command line as its user does: a real process."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

REPO = Path(__file__).resolve().parents[1]


def run_stash(*words: object, home: Path | None = None, **options: Any):
    """Run ``stash`` with these words; gives the finished process with its texts."""
    environment = {**os.environ, "PYTHONPATH": str(REPO)}
    environment.pop("STASH_HOME", None)
    environment["STASH_TRACE"] = "1"  # a fault of ours shows its trace, and fails the test
    if home is not None:
        environment["STASH_HOME"] = str(home)
    return subprocess.run(
        [sys.executable, "-m", "stash", *map(str, words)],
        capture_output=True,
        text=True,
        env=environment,
        timeout=600,
        check=False,
        **options,
    )


def answer_of(*words: object, home: Path | None = None) -> Any:
    """Run ``stash ... --json`` and give its answer; a problem fails the test with its words."""
    done = run_stash(*words, "--json", home=home)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)
