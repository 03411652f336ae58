"""The first question of a shape: the same whether asked at once or one by one, and resumable."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from stash.shape.containment.piece_fit import find_placement
from stash.shape.templates.template import make_template
from stash.shape.templates.turning import Turning
from stash.storage.sqlite_store import FolderStore
from stash.usecases.pieces import what_scraps_give as giving
from stash.usecases.pieces.piece_counts import CutRule, usable_outline
from stash.usecases.pieces.what_scraps_give import what_scraps_give
from stash.wiring import open_store, open_to_ask
from tests.usecases.cloth import NAVY, put, rectangle

SQUARE = make_template("square", "4")
_SCRAPS = 24


@pytest.fixture
def many(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> FolderStore:
    """A stash that counts as a large one, in portions of seven."""
    monkeypatch.setattr(giving, "_MANY", 5)
    monkeypatch.setattr(giving, "_PORTION", 7)
    store, rng = open_store(tmp_path / "stash"), np.random.default_rng(20)
    for number in range(_SCRAPS):
        sides = rng.uniform(4.2, 6.0, 2)
        put(store, NAVY, rectangle(*sides, error_in=0.03), washed=bool(number % 2))
    return store


def _fits(store: FolderStore) -> list[bool]:
    return [bool(one) for one in what_scraps_give(store, SQUARE, CutRule(), at_once=0).fits]


def test_asked_in_portions_it_is_what_each_scrap_alone_answers(many: FolderStore) -> None:
    alone = [
        find_placement(usable_outline(scrap, CutRule()), SQUARE, turning=Turning.free()).placement
        is not None
        for scrap in many.scraps()
    ]
    assert _fits(many) == alone
    assert 3 < sum(alone) < _SCRAPS - 3
    quick = open_to_ask(many.home)
    assert quick.outlines() == many.outlines()
    assert [
        bool(one) for one in what_scraps_give(quick, SQUARE, CutRule(), at_once=0).fits
    ] == alone


def test_a_stop_loses_the_portion_it_was_at_and_no_other(
    many: FolderStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[int] = []
    placed = giving._placed

    def stopped(scraps, template, rule):
        asked.append(len(scraps))
        if len(asked) == 3:
            raise KeyboardInterrupt
        return placed(scraps, template, rule)

    monkeypatch.setattr(giving, "_placed", stopped)
    with pytest.raises(KeyboardInterrupt):
        _fits(many)
    asked.clear()
    monkeypatch.setattr(
        giving, "_placed", lambda *one: (asked.append(len(one[0])), placed(*one))[1]
    )
    _fits(open_store(many.home))
    assert sum(asked) == _SCRAPS - 6 - 7  # numbers 1 to 6, then 7 to 13, were kept


def test_a_scrap_that_was_corrected_is_asked_anew(many: FolderStore) -> None:
    before = _fits(many)
    row = before.index(False)
    scrap = many.scrap(row + 1)
    many.change_scrap(replace(scrap, outline=rectangle(9, 9)), seen=scrap, why="measured again")
    after = _fits(many)
    assert after[row]
    assert [*after[:row], *after[row + 1 :]] == [*before[:row], *before[row + 1 :]]
