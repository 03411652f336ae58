"""One count, over many small random stashes and every shape: whoever asks is told the same."""

from __future__ import annotations

import numpy as np
import pytest

from stash.shape.plane.outline import Outline, outline_of
from stash.shape.templates.template import make_template
from stash.storage.sqlite_store import FolderStore
from stash.usecases.matching.match_palette import MatchRequest, match
from stash.usecases.palettes.manage_palettes import PaletteRequest, make_palette, palette_named
from stash.usecases.pieces.fit_pieces import FitRequest, GivenScrap, fit_pieces
from stash.usecases.pieces.piece_counts import CutRule, usable_outline
from stash.usecases.quilts.neighbours import could_join
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt
from stash.usecases.quilts.quilt_enough import enough_for
from stash.usecases.quilts.quilt_stock import placements_on, stock_of
from tests.usecases.cloth import NAVY, TEAL, put

COLOURS = (NAVY, TEAL)
SHAPES = (
    ("square", "2"), ("rectangle", "2x3"), ("half-square-triangle", "3"), ("hexagon", "1 1/2"),
    ("quarter-square-triangle", "4"), ("equilateral-triangle", "3"), ("diamond-60", "2"),
    ("tumbler", "3"), ("clamshell", "3"), ("apple-core", "3"),
)  # fmt: skip


def offcut(rng: np.random.Generator) -> Outline:
    """An offcut with room for a piece or two, or for none."""
    turns = np.sort(rng.uniform(0, 2 * np.pi, 7))
    reach = rng.uniform(2.0, 3.6, 2)
    ring = np.column_stack([reach[0] * np.cos(turns), reach[1] * np.sin(turns)])
    return outline_of(ring.tolist(), error_in=float(rng.uniform(0.01, 0.05)))


@pytest.mark.parametrize("seed", range(30))
def test_match_fit_enough_stock_cutting_and_could_join_count_alike(
    store: FolderStore, seed: int
) -> None:
    rng = np.random.default_rng([20, seed])
    family, size = SHAPES[seed % len(SHAPES)]
    for number in range(2):
        put(store, COLOURS[number], offcut(rng), washed=bool((number + seed) % 2))
    make_palette(store, PaletteRequest("all", colours=COLOURS))
    template, rule = make_template(family, size), CutRule()
    answer = match(store, MatchRequest(palette_named(store, "all"), template, rule))
    lines = (*answer.can_go_in, *answer.look_twice)
    matched = {scrap.scrap: scrap.pieces for line in lines for scrap in line.scraps}
    measured = [GivenScrap(scrap.number, usable_outline(scrap, rule)) for scrap in store.scraps()]
    fit = {one.scrap.name: one.pieces for one in fit_pieces(measured, FitRequest(template))}
    assert matched == {number: count for number, count in fit.items() if count}
    quilt = make_quilt(store, QuiltRequest("raffle", family, size, rows=1, across=4))
    assert {one.scrap: one.pieces for one in stock_of(store, quilt).free} == matched
    assert enough_for(store, "raffle").enough.pieces == sum(matched.values())
    for scrap in store.scraps():
        count = matched.get(scrap.number, 0)
        laid = placements_on(scrap, quilt.plan, count, one_way=False) if count else ()
        assert len(laid) == count
        (joins,) = [one for one in could_join(store, scrap) if one.kind == "quilt"]
        assert joins.fits == (count > 0)
