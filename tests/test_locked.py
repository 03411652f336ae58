"""The versions with hashes are those a check ran with, and leave out nothing the program needs."""

from __future__ import annotations

import re
import tomllib

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.running import REPO

_PINNED = re.compile(r"^([A-Za-z0-9_.-]+)==(\S+)", re.MULTILINE)


def _versions(name: str) -> dict[str, str]:
    text = (REPO / ".ci" / name).read_text(encoding="utf-8")
    return {canonicalize_name(found[0]): found[1] for found in _PINNED.findall(text)}


def test_every_locked_version_with_a_hash_is_one_a_check_ran_with() -> None:
    hashed, locked = _versions("hashes.txt"), _versions("locked.txt")
    assert hashed == {name: locked[name] for name in hashed}


def test_everything_the_program_needs_has_its_hashes() -> None:
    with (REPO / "pyproject.toml").open("rb") as file:
        needed = tomllib.load(file)["project"]["dependencies"]
    hashed = _versions("hashes.txt")
    for line in needed:
        requirement = Requirement(line)
        assert hashed[canonicalize_name(requirement.name)] in requirement.specifier
    text = (REPO / ".ci" / "hashes.txt").read_text(encoding="utf-8")
    for part in _PINNED.split(text)[3::3]:
        assert re.search(r"--hash=sha256:[0-9a-f]{64}", part)
