"""The largest size that fits: safe, and no larger one is found by the exhaustive search."""

import math

import pytest

from stash.errors import TemplateError
from stash.shape.containment.largest import largest_like, largest_size, largest_sizes
from stash.shape.containment.piece_fit import find_placement
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import make_template
from stash.shape.templates.turning import Turning
from tests.shape.scraps import offcuts

FREE = Turning.free()


def rectangle(width, height, **more):
    return outline_of([(0, 0), (width, 0), (width, height), (0, height)], **more)


@pytest.mark.parametrize(
    ("width", "height", "family", "size"),
    [
        (5, 5, "square", 4.5),  # a charm square, seams 1/4 in: arithmetic
        (10, 10, "square", 9.5),
        (2.5, 40, "square", 2.0),  # a strip
        (2.5, 40, "equilateral-triangle", 1.75),  # strip = height + 3/4: S9
        (4.5, 4.5, "clamshell", 4.0),  # box 2 r + 2 a, upright; it may gain by turning
        (3 * math.sqrt(3) / 2, 30, "hexagon", 1.5 - 0.288675),  # flat = sqrt 3 x cut side
    ],
)
def test_plain_scraps_give_the_size_of_the_formulas(width, height, family, size):
    got = largest_size(rectangle(width, height), family, turning=FREE)
    assert got >= size * 0.995
    if family != "clamshell":
        assert got <= size + 1e-9


@pytest.mark.parametrize("family", ["square", "half-square-triangle", "apple-core"])
def test_the_largest_fits_and_a_little_larger_does_not(family):
    scraps = offcuts(6, 11)
    sizes = largest_sizes(scraps, family, turnings=[FREE] * len(scraps))
    for scrap, size in zip(scraps, sizes, strict=True):
        if size == 0:
            continue
        fits = find_placement(scrap, make_template(family, size), turning=FREE)
        larger = find_placement(scrap, make_template(family, size * 1.006), turning=FREE)
        assert (fits.fits, larger.fits != "yes") == ("yes", True)


def test_a_scrap_too_small_for_any_has_no_size():
    assert largest_size(rectangle(0.6, 9, error_in=0.1), "square", turning=FREE) == 0.0


def test_the_grain_makes_the_largest_smaller():
    # A square turned 45 degrees in a 5 in square has a side of 5 / sqrt 2: arithmetic
    bias = largest_size(rectangle(5, 5), "square", turning=Turning.grain(45, 0))
    assert bias == pytest.approx(5 / math.sqrt(2) - 0.5, rel=0.005)
    assert bias <= 5 / math.sqrt(2) - 0.5 + 1e-9


def test_own_proportions_are_kept():
    template = make_template("rectangle", "1 x 3")
    # cut (w + 1/2) x (3 w + 1/2) on 2 x 5: w = 1.5 both ways
    got = largest_like(rectangle(2, 5), template, turning=Turning.grain(0, 0))
    assert got == pytest.approx(1.5, rel=0.005)


def test_an_unknown_family_is_told():
    with pytest.raises(TemplateError):
        largest_size(rectangle(5, 5), "star", turning=FREE)


@pytest.mark.parametrize("family", ["hexagon", "square", "clamshell"])
@pytest.mark.parametrize("wide_in", [72, 300])
def test_yardage_in_the_stash_leaves_the_sizes_of_scraps_as_they_are(family, wide_in):
    scraps = [rectangle(6, 7, error_in=0.03), rectangle(wide_in, 44, error_in=0.03)]
    alone = largest_size(scraps[0], family, turning=FREE)
    small, large = largest_sizes(scraps, family, turnings=[FREE, FREE])
    assert small == pytest.approx(alone, rel=0.005)
    assert large > 18
