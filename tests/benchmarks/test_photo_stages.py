"""One 12-megapixel photo with a dozen scraps, stage by stage, beside its bare decode.

Run: python -m pytest tests/benchmarks/test_photo_stages.py --benchmark-only
     --benchmark-timer=time.process_time
"""

import io
from functools import cache

import numpy as np
import pytest
from PIL import Image

from stash.demo.laying import Leftover
from stash.demo.scene import SceneSpec, render_scene
from stash.photo.cards.card import chart24
from stash.photo.cards.card_finding import find_card
from stash.photo.files.reading import read_photo
from stash.photo.inches.table_plane import plane_of_photo
from stash.photo.light.calibration import calibrate
from stash.photo.measuring import _scraps, measure_photo
from stash.photo.outlines.outlining import outline_region
from stash.photo.table.segmentation import find_scraps

CARDS = [chart24("chart", 0.55)]
CLOTHS = (
    "coral",
    "pilot stripe",
    "moss",
    "keeper plaid",
    "night watch",
    "lifeboat check",
    "sea lettuce",
    "dry sand",
    "slack tide",
    "ink spots",
    "brick",
    "shell shirting",
)


@cache
def photo_bytes() -> bytes:
    """A dozen scraps on grey flannel, 4032 x 3024."""
    leftovers = tuple(Leftover(name, "crumb", 3.5) for name in CLOTHS)
    return render_scene(SceneSpec(leftovers, size_px=(4032, 3024)), seed=7).jpeg(quality=92)


@cache
def ready():
    """Everything the later stages start from."""
    photo = read_photo(photo_bytes(), name="photo")
    card = find_card(photo.pixels_srgb, CARDS)
    plane = plane_of_photo(photo, card)
    scale = plane.px_per_in(np.zeros(2))
    seen = find_scraps(photo.pixels_srgb, px_per_in=scale, cards_px=(card.corners_px,))
    return photo, card, plane, scale, seen


def outlines():
    """Measure every outline anew."""
    photo, _, plane, _, seen = ready()
    return [outline_region(photo.pixels_srgb, region, seen, plane) for region in seen.regions]


@cache
def outlined():
    """What colours and pictures start from."""
    return calibrate(ready()[1]), [one.outline for one in outlines()]


def colours_and_pictures():
    """Describe every scrap and cut its picture."""
    photo, _, plane, *_ = ready()
    calibration, shapes = outlined()
    return _scraps(photo.pixels_srgb, shapes, plane, calibration, (0.0,) * len(shapes))


STAGES = {
    "bare decode": lambda: Image.open(io.BytesIO(photo_bytes())).load(),
    "reading": lambda: read_photo(photo_bytes(), name="photo"),
    "card": lambda: find_card(ready()[0].pixels_srgb, CARDS),
    "calibration": lambda: calibrate(ready()[1]),
    "plane": lambda: plane_of_photo(*ready()[:2]),
    "finding scraps": lambda: find_scraps(
        ready()[0].pixels_srgb, px_per_in=ready()[3], cards_px=(ready()[1].corners_px,)
    ),
    "outlines": outlines,
    "colours and pictures": colours_and_pictures,
    "everything": lambda: measure_photo(read_photo(photo_bytes(), name="photo"), CARDS),
}


@pytest.mark.parametrize("stage", STAGES)
def test_a_stage(benchmark, stage):
    benchmark.group = "12-megapixel photo, twelve scraps"
    outlined()
    benchmark.pedantic(STAGES[stage], rounds=2, iterations=1)
    assert len(ready()[4].regions) == len(CLOTHS)
