"""One piece on many scraps, and layouts, beside what others would use.

``python -m pytest tests/benchmarks/test_shape_fit.py --benchmark-only
--benchmark-timer=time.process_time``. Each test also says how many scraps were answered yes or how
many pieces were laid, as ``extra_info``: speed alone means nothing here.
"""

import importlib
import math

import numpy as np
import pytest
import shapely
from shapely import affinity

from stash.shape.containment.piece_fit import find_placements
from stash.shape.nesting.filling import Effort, fill
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import make_template
from stash.shape.templates.turning import Turning
from tests.shape.scraps import offcuts

SCRAPS = offcuts(768, 1)
SHAPES = [("square", 4.0), ("rectangle", 2.0), ("hexagon", 1.5), ("diamond-60", 2.5)]


OTHERS = [
    ("tumbler", 4.0),
    ("clamshell", 4.0),
    ("half-square-triangle", 4.0),
    ("quarter-square-triangle", 4.0),
    ("equilateral-triangle", 3.0),
    ("diamond-45", 3.0),
    ("apple-core", 4.0),
    ("wedge", 3.0),
]


@pytest.mark.parametrize(("family", "size"), [*SHAPES, *OTHERS])
def test_one_piece_on_many_scraps(benchmark, family, size):
    template = make_template(family, size)
    turnings = [Turning.free()] * len(SCRAPS)
    answers = benchmark.pedantic(
        find_placements, (SCRAPS, template), {"turnings": turnings}, rounds=2, warmup_rounds=0
    )
    benchmark.extra_info["yes"] = sum(one.fits == "yes" for one in answers)
    benchmark.extra_info["ms_each"] = benchmark.stats["min"] / len(SCRAPS) * 1e3
    assert all(one.fits in ("yes", "maybe", "no") for one in answers)


@pytest.mark.parametrize(("family", "size"), SHAPES[:2])
def test_brute_force_with_shapely_alone(benchmark, family, size):
    """Every quarter inch and every five degrees, covers() in one vectorised call a scrap."""
    shape = make_template(family, size).cut_polygon()
    period = make_template(family, size).rotation_period_deg
    some = SCRAPS[:24]

    def brute():
        return [_any_covered(outline, shape, period) for outline in some]

    found = benchmark.pedantic(brute, rounds=1, warmup_rounds=0)
    answers = find_placements(
        some, make_template(family, size), turnings=[Turning.free()] * len(some)
    )
    benchmark.extra_info["yes"] = sum(found)
    benchmark.extra_info["yes_of_ours"] = sum(one.fits == "yes" for one in answers)
    benchmark.extra_info["ms_each"] = benchmark.stats["min"] / len(some) * 1e3
    # What brute force finds is there: ours must find it too.
    assert [one.fits for one, hit in zip(answers, found, strict=True) if hit] == ["yes"] * sum(
        found
    )


def _any_covered(outline, shape, period):
    sure = outline.sure()
    if sure.is_empty:
        return False
    shapely.prepare(sure)
    west, south, east, north = sure.bounds
    x, y = np.meshgrid(np.arange(west, east, 0.25), np.arange(south, north, 0.25))
    spots = np.column_stack([x.ravel(), y.ravel()])
    for turn in np.arange(0, period, 5):
        corners = np.asarray(affinity.rotate(shape, turn, origin=(0, 0)).exterior.coords)
        pieces = shapely.polygons(corners[None] + spots[:, None])
        if shapely.covers(sure, pieces).any():
            return True
    return False


RECTANGLES = [
    ("square", 4.5, 18, 22),
    ("hexagon", 1.0, 10, 10),
    ("half-square-triangle", 3 + 1 / 64, 18, 22),
    ("tumbler", 3.0, 18, 22),
    ("diamond-60", 3 - 0.57735 + 1e-6, 18, 22),
]


def rectangle(width, height):
    return outline_of([(0, 0), (width, 0), (width, height), (0, height)])


@pytest.mark.parametrize(("family", "size", "width", "height"), RECTANGLES)
def test_pieces_from_a_rectangle(benchmark, family, size, width, height):
    template = make_template(family, size)
    layout = benchmark.pedantic(
        fill,
        (rectangle(width, height), template),
        {"turning": Turning.free(), "effort": Effort(24)},
        rounds=1,
    )
    benchmark.extra_info["pieces"] = layout.pieces
    assert layout.pieces >= 1


@pytest.mark.parametrize(("family", "size", "width", "height"), RECTANGLES)
def test_a_strip_packer_asked_for_as_many(benchmark, family, size, width, height):
    """spyrrow packs a given number into the shortest strip; we ask for our number, 5 s of clock.

    It fits the rectangle when the strip it gives is no longer than the rectangle is wide.
    """
    spyrrow = pytest.importorskip("spyrrow", reason="benchmark only: pip install spyrrow")
    template = make_template(family, size)
    ours = fill(
        rectangle(width, height), template, turning=Turning.free(), effort=Effort(24)
    ).pieces
    item = importlib.import_module("spyrrow").Item(
        "piece", [*template.cut, template.cut[0]], demand=ours, allowed_orientations=None
    )
    packing = spyrrow.StripPackingInstance("scrap", strip_height=height, items=[item])
    config = spyrrow.StripPackingConfig(
        early_termination=True, total_computation_time=5, num_workers=1, seed=1
    )
    solved = benchmark.pedantic(packing.solve, (config,), rounds=1)
    benchmark.extra_info["pieces_asked"] = ours
    benchmark.extra_info["strip_needed_in"] = round(solved.width, 3)
    benchmark.extra_info["fits"] = bool(solved.width <= width + 1e-6)
    assert math.isfinite(solved.width)
