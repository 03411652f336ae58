"""Colour difference against the published pairs."""

import numpy as np
import pytest

from stash.colour.difference import colour_difference, difference_table, paired_difference
from stash.colour.spaces import lab_of_srgb

# Sharma, Wu, Dalal 2005, Color Research and Application 30(1), 21-30, table 1 (34 pairs).
SHARMA = [
    (50.0000, 2.6772, -79.7751, 50.0000, 0.0000, -82.7485, 2.0425),
    (50.0000, 3.1571, -77.2803, 50.0000, 0.0000, -82.7485, 2.8615),
    (50.0000, 2.8361, -74.0200, 50.0000, 0.0000, -82.7485, 3.4412),
    (50.0000, -1.3802, -84.2814, 50.0000, 0.0000, -82.7485, 1.0000),
    (50.0000, -1.1848, -84.8006, 50.0000, 0.0000, -82.7485, 1.0000),
    (50.0000, -0.9009, -85.5211, 50.0000, 0.0000, -82.7485, 1.0000),
    (50.0000, 0.0000, 0.0000, 50.0000, -1.0000, 2.0000, 2.3669),
    (50.0000, -1.0000, 2.0000, 50.0000, 0.0000, 0.0000, 2.3669),
    (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0009, 7.1792),
    (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0010, 7.1792),
    (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0011, 7.2195),
    (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0012, 7.2195),
    (50.0000, -0.0010, 2.4900, 50.0000, 0.0009, -2.4900, 4.8045),
    (50.0000, -0.0010, 2.4900, 50.0000, 0.0010, -2.4900, 4.8045),
    (50.0000, -0.0010, 2.4900, 50.0000, 0.0011, -2.4900, 4.7461),
    (50.0000, 2.5000, 0.0000, 50.0000, 0.0000, -2.5000, 4.3065),
    (50.0000, 2.5000, 0.0000, 73.0000, 25.0000, -18.0000, 27.1492),
    (50.0000, 2.5000, 0.0000, 61.0000, -5.0000, 29.0000, 22.8977),
    (50.0000, 2.5000, 0.0000, 56.0000, -27.0000, -3.0000, 31.9030),
    (50.0000, 2.5000, 0.0000, 58.0000, 24.0000, 15.0000, 19.4535),
    (50.0000, 2.5000, 0.0000, 50.0000, 3.1736, 0.5854, 1.0000),
    (50.0000, 2.5000, 0.0000, 50.0000, 3.2972, 0.0000, 1.0000),
    (50.0000, 2.5000, 0.0000, 50.0000, 1.8634, 0.5757, 1.0000),
    (50.0000, 2.5000, 0.0000, 50.0000, 3.2592, 0.3350, 1.0000),
    (60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644),
    (63.0109, -31.0961, -5.8663, 62.8187, -29.7946, -4.0864, 1.2630),
    (61.2901, 3.7196, -5.3901, 61.4292, 2.2480, -4.9620, 1.8731),
    (35.0831, -44.1164, 3.7933, 35.0232, -40.0716, 1.5901, 1.8645),
    (22.7233, 20.0904, -46.6940, 23.0331, 14.9730, -42.5619, 2.0373),
    (36.4612, 47.8580, 18.3852, 36.2715, 50.5065, 21.2231, 1.4146),
    (90.8027, -2.0831, 1.4410, 91.1528, -1.6435, 0.0447, 1.4441),
    (90.9257, -0.5406, -0.9208, 88.6381, -0.8985, -0.7239, 1.5381),
    (6.7747, -0.2908, -2.4247, 5.8714, -0.0985, -2.2286, 0.6377),
    (2.0776, 0.0795, -1.1350, 0.9033, -0.0636, -0.5514, 0.9082),
]


@pytest.mark.parametrize("pair", SHARMA)
def test_ciede2000_gives_the_published_value(pair):
    # Tolerance: the table is printed to four decimals.
    found = colour_difference(np.array(pair[:3]), np.array([pair[3:6]]))[0]
    assert found == pytest.approx(pair[6], abs=1e-4)


def test_colours_of_the_wrong_shape_are_a_mistake_of_the_caller():
    with pytest.raises(ValueError, match=r"\(2,\)"):
        colour_difference([1, 2], [[1, 2, 3]])


def test_the_paired_form_gives_the_published_values_too():
    pairs = np.array(SHARMA)
    found = paired_difference(pairs[:, :3], pairs[:, 3:6])
    assert np.abs(found - pairs[:, 6]).max() < 1e-4


def test_the_paired_form_agrees_with_colormath():
    rng = np.random.default_rng(5)
    rows, columns = (lab_of_srgb(rng.random((40, 3))) for _ in range(2))
    for weight in (1.0, 2.0):
        ours = difference_table(rows, columns, lightness_weight=weight)
        theirs = [colour_difference(row, columns, lightness_weight=weight) for row in rows]
        # colormath rounds degrees to radians in another order.
        assert np.abs(ours - np.array(theirs)).max() < 1e-3


def test_a_table_of_nothing_is_empty():
    assert difference_table(np.zeros((0, 3)), np.zeros((4, 3))).shape == (0, 4)
