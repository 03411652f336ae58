"""Run the command line as its user does: a real process."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from tests.loaded import REPO, can_run, run_loaded

__all__ = ["REPO", "answer_of", "run_stash"]


def run_stash(
    *words: object,
    home: Path | None = None,
    environment: Mapping[str, str] = MappingProxyType({}),
    **options: Any,
):
    """Run ``stash`` with these words; gives the finished process with its texts."""
    around = {**os.environ, "PYTHONPATH": str(REPO)}
    around.pop("STASH_HOME", None)
    around["STASH_SETTINGS"] = os.devnull  # not those of whoever runs the tests
    around["STASH_TRACE"] = "1"  # a fault of ours shows its trace, and fails the test
    if home is not None:
        around["STASH_HOME"] = str(home)
    around.update(environment)
    if can_run(environment, options):
        text = options.get("input")
        done = run_loaded([str(word) for word in words], around, options.get("cwd"), text)
        if done is not None:
            return done
    return subprocess.run(
        [sys.executable, "-m", "stash", *map(str, words)],
        capture_output=True,
        text=True,
        env=around,
        timeout=600,
        check=False,
        **options,
    )


def answer_of(*words: object, home: Path | None = None) -> Any:
    """Run ``stash ... --json`` and give its answer; a problem fails the test with its words."""
    done = run_stash(*words, "--json", home=home)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)
