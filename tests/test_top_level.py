"""The top level of the project holds what it should, and nothing a run left there."""

from __future__ import annotations

import shutil
import subprocess

import pytest

from tests.running import REPO

MAY_BE = {"README.md", "DEVELOPERS.md", "pyproject.toml", "stash", "tests", "fixtures", "docs"}


def test_nothing_else_lies_at_the_top_level() -> None:
    if not (REPO / ".git").exists() or shutil.which("git") is None:
        pytest.skip("this is no checkout, or there is no git")
    listed = subprocess.run(
        ["git", "ls-files"], cwd=REPO, capture_output=True, text=True, check=False
    )
    if listed.returncode:
        pytest.skip("git cannot list this checkout")
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    assert {name for name in top if not name.startswith(".")} == MAY_BE
