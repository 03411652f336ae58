"""Stripes: their direction on the quilt, and turning them where two run on."""

from __future__ import annotations

import pytest

from stash.quilt.pattern import make_pattern
from stash.quilt.plan import CropPlace, QuiltPiece
from stash.quilt.setting import setting_named
from stash.quilt.stripes import run_of, same_way_pairs, turn_stripes
from tests.quilt.shapes import FINISHED

CROP = CropPlace(0, 0, 0)


def striped(*, either: bool = True, cut: bool = False) -> QuiltPiece:
    return QuiltPiece(
        1, 1, (50, 0, 0), "grey", "medium", kind="stripe", stripe_deg=90.0, crop=CROP,
        other_crop=CropPlace(1, 0, 90) if either else None, other_stripe_deg=0.0, cut=cut,
    )  # fmt: skip


def row(count: int):  # type: ignore[no-untyped-def]
    return make_pattern(FINISHED["square"], setting_named("square"), 1, count)


@pytest.mark.parametrize(("turn", "run"), [(0, 90), (180, 90), (90, 0), (270, 0), (120, 30)])
def test_stripes_turn_with_their_piece(turn: float, run: float) -> None:
    assert run_of(striped(), turn) == run


def test_a_print_without_stripes_runs_nowhere() -> None:
    assert run_of(QuiltPiece(1, 1, (50, 0, 0), "grey", "medium", kind="print"), 0) is None


def test_touching_stripes_are_turned_crosswise() -> None:
    pieces, pattern = [striped() for _ in range(5)], row(5)
    assert same_way_pairs(pieces, pattern, range(5)) == 4
    turned = turn_stripes(pieces, pattern, range(5))
    assert same_way_pairs(turned, pattern, range(5)) == 0
    assert {piece.stripe_deg for piece in turned} == {0.0, 90.0}


def test_a_turned_piece_is_cut_from_its_other_place() -> None:
    turned = turn_stripes([striped(), striped(either=False)], row(2), range(2))
    assert turned[0].crop == CropPlace(1, 0, 90)
    assert turned[0].other_crop == CROP
    assert turned[1].crop == CROP


def test_what_is_cut_is_not_turned_any_more() -> None:
    pieces = [striped(cut=True), striped(cut=True)]
    assert turn_stripes(pieces, row(2), range(2)) == tuple(pieces)
