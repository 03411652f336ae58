"""A print with an up and a down: every piece of it looks the same way."""

import math
from dataclasses import replace

import pytest

from stash.colour.appearance import Appearance, ColourShare, PrintKind
from stash.quilt.plan import Plan, Quilt
from stash.scrap import Scrap
from stash.shape.plane.outline import outline_of
from stash.usecases.ports import ScrapToLog
from stash.usecases.quilts.neighbours import could_join
from stash.usecases.quilts.plan_quilt import keep_quilt
from stash.usecases.quilts.quilt_stock import placements_on, stock_of
from stash.wiring import open_store

LAB = (40.0, 0.0, -30.0)
LOOK = Appearance(LAB, (ColourShare(LAB, 1.0),), PrintKind.PRINT)
TRIANGLE = Plan("half-square-triangle", "3", "", False, 1, 1, grain_tolerance_deg=5.0)


def cloth(corners, grain_deg=0.0):
    return Scrap(1, 1, outline_of(corners), LOOK, washed=True, grain_deg=grain_deg)


@pytest.mark.parametrize("family", ["clamshell", "tumbler", "half-square-triangle"])
def test_all_pieces_point_the_way_of_the_grain_as_the_scrap_is_seen(family):
    plan = replace(TRIANGLE, template=family)
    grain_deg = 30.0
    scrap = cloth([(0, 0), (14, 0), (14, 14), (0, 14)], grain_deg)
    laid = placements_on(scrap, plan, 6, one_way=True)
    assert len(laid) > 1
    for place in laid:
        off_deg = place.angle_deg - grain_deg
        assert math.cos(math.radians(off_deg)) >= math.cos(math.radians(5.001))


def test_a_quilt_does_not_count_on_a_piece_that_would_stand_on_its_head(tmp_path):
    store = open_store(tmp_path)
    # The cut triangle has legs of 3 + 0.854 in (S9): here it lies with no room to turn.
    as_seen = [(0, 0), (3.9, 0), (0, 3.9)]
    for grain_deg in (0.0, 180.0):
        number = store.add_scrap(ScrapToLog(outline_of(as_seen), LOOK, washed=True), why="t").number
        scrap = store.scrap(number)
        store.change_scrap(replace(scrap, grain_deg=grain_deg), seen=scrap, why="t")
    quilt = Quilt("geese", TRIANGLE)
    keep_quilt(store, quilt, why="t")

    def useful():
        by_quilt = {supply.scrap for supply in stock_of(store, quilt).supplies}
        by_scrap = {s.number for s in store.scraps() if could_join(store, s)[0].fits}
        assert by_quilt == by_scrap
        return by_quilt

    assert useful() == {1, 2}
    for fabric in store.fabrics():
        store.change_fabric(replace(fabric, one_way=True), seen=fabric, why="t")
    assert useful() == {1}
