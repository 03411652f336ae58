"""The longest straight edge keeps its direction where parts of the border are torn or lost."""

import math

import numpy as np
import pytest

from stash.shape.plane.outline import outline_of


def torn_strip(turn_deg: float, seed: int = 1) -> list[tuple[float, float]]:
    """Six by two inches, turned; of its long lower side a third is torn, up to half an inch."""
    rng = np.random.default_rng(seed)
    torn = [(x, float(rng.uniform(0.15, 0.5))) for x in np.arange(4.1, 5.9, 0.15)]
    turn = math.radians(turn_deg)
    return [
        (x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn))
        for x, y in [(0, 0), (4, 0), *torn, (6, 0.45), (5.0, 2.2), (1.2, 1.9)]
    ]


@pytest.mark.parametrize("turn_deg", [0, 25, 100, 160])
@pytest.mark.parametrize("error_in", [0.07, 0.3, 0.55])
def test_a_tear_turns_no_edge(turn_deg: float, error_in: float) -> None:
    found = outline_of(torn_strip(turn_deg), error_in=error_in).longest_edge_deg()
    assert min(abs(found - turn_deg), 180 - abs(found - turn_deg)) < 1


@pytest.mark.parametrize("error_in", [0.0, 0.05, 0.5])
def test_a_true_triangle_gives_its_longest_side(error_in: float) -> None:
    found = outline_of([(0, 0), (6, 0), (6, 8)], error_in=error_in).longest_edge_deg()
    assert found == pytest.approx(math.degrees(math.atan2(8, 6)))  # 3, 4, 5: the slanting side
