"""The edge of a shadow on a scrap is no seam."""

import numpy as np
import pytest

from stash.photo.table.shadow_edge import is_shadow_edge

STEP = 60.0  # pixels an inch
SAND, MOSS = (78.0, 2.0, 20.0), (66.0, -16.0, 16.0)


def table(left, right, light_left, light_right=1.0):
    """A scrap of two halves on a table with other light on its left, as the split gives it."""
    lab = np.zeros((240, 360, 3), dtype=np.float32)
    lab[:, :180], lab[:, 180:] = left, right
    light = np.full((240, 360), light_right, dtype=np.float32)
    light[:, :180] = light_left
    light += np.random.default_rng(1).normal(0, 0.01, light.shape).astype(np.float32)
    kinds = [np.zeros((240, 360), dtype=bool) for _ in range(2)]
    kinds[0][70:170, 60:180] = True
    kinds[1][70:170, 180:300] = True
    light[kinds[0] | kinds[1]] = -1
    return kinds, lab, light, STEP


def dimmed(lab, by):
    """A colour in less light; ``by`` is its cube root (CIE 15: L* + 16, a* and b* scale alike)."""
    black = np.array([16.0, 0.0, 0.0])
    return (np.array(lab) + black) * by - black


@pytest.mark.parametrize("by", [0.75, 0.85, 0.92])
def test_one_cloth_half_in_a_shadow_is_not_parted(by):
    kinds, *rest = table(dimmed(SAND, by), SAND, by)
    assert is_shadow_edge(kinds, *rest)
    assert is_shadow_edge(kinds[::-1], *rest)


def test_a_darker_cloth_of_the_same_hue_in_even_light_is_another():
    assert not is_shadow_edge(*table(dimmed(SAND, 0.85), SAND, 1.0))


def test_another_hue_is_another_cloth_also_where_a_shadow_ends():
    assert not is_shadow_edge(*table(dimmed(MOSS, 0.85), SAND, 0.85))


def test_a_cloth_that_gets_brighter_where_the_shadow_lies_is_another():
    assert not is_shadow_edge(*table(SAND, dimmed(SAND, 0.85), 0.85))
