"""How many fabrics can join a quilt at each finished size of its piece."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stash.colour.spaces import FloatArray
from stash.drawing.size_curve import CurvePoint, draw_size_curve
from stash.usecases.ground import ground_of
from stash.usecases.match_palette import MatchRequest, judged_by, largest_of_fabrics
from stash.usecases.ports import AskedStore

__all__ = ["SizeStep", "draw_steps", "size_curve"]


@dataclass(frozen=True, slots=True)
class SizeStep:
    """At this finished size, inches, so many fabrics of each verdict give a piece."""

    size_in: float
    belong: int
    borderline: int


def size_curve(
    store: AskedStore, request: MatchRequest, *, step_in: float = 0.25
) -> tuple[SizeStep, ...]:
    """Count the fabrics that can join at every size, from the smallest step upwards."""
    ground = ground_of(store)
    if not len(ground.numbers):
        return ()
    best = largest_of_fabrics(store, ground, request)
    grade = judged_by(store, request.palette).grade
    belong, borderline = np.sort(best[grade == 0]), np.sort(best[grade == 1])
    largest = max(belong.max(initial=0.0), borderline.max(initial=0.0))
    steps = [step_in * (index + 1) for index in range(int(largest / step_in))]
    return tuple(
        SizeStep(
            size,
            _at_least(belong, size),
            _at_least(borderline, size),
        )
        for size in steps
    )


def draw_steps(steps: Sequence[SizeStep], request: MatchRequest) -> bytes:
    """Draw the curve, PNG, with the asked size marked."""
    return draw_size_curve(
        [CurvePoint(one.size_in, one.belong, one.borderline) for one in steps],
        title=f"{request.palette.name}: fabrics that can join, {request.template.family}",
        asked_in=request.template.size_in,
    )


def _at_least(ascending: FloatArray, size: float) -> int:
    return len(ascending) - int(np.searchsorted(ascending, size))
