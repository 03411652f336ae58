"""A fault that nobody thought of reads as one sentence too, whatever kind it is."""

from __future__ import annotations

import sys

import pytest

import stash.cli.app
from stash.__main__ import main


@pytest.mark.parametrize(
    "fault",
    [OSError("Truncated File Read"), ImportError("no such name"), KeyError("x"), OSError(28, "x")],
    ids=repr,
)
def test_a_fault_ends_with_one_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], fault: Exception
) -> None:
    def fail(_words: object) -> None:
        raise fault

    monkeypatch.setattr(stash.cli.app, "make_app", fail)
    monkeypatch.setattr(sys, "argv", ["stash", "scraps"])
    monkeypatch.delenv("STASH_TRACE", raising=False)
    with pytest.raises(SystemExit) as ended:
        main()
    said = capsys.readouterr().err
    assert ended.value.code == 1
    assert said.startswith("stash: something went wrong that is no fault of yours (")
    assert said.count("\n") == 1
