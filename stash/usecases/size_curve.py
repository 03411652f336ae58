"""How many fabrics can join a quilt at each finished size of its piece."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stash.drawing.size_curve import CurvePoint, draw_size_curve
from stash.scrap import ScrapState
from stash.usecases.match_palette import MatchRequest, verdicts
from stash.usecases.piece_counts import largest_sizes
from stash.usecases.ports import Store

__all__ = ["SizeStep", "draw_steps", "size_curve"]


@dataclass(frozen=True, slots=True)
class SizeStep:
    """At this finished size, inches, so many fabrics of each verdict give a piece."""

    size_in: float
    belong: int
    borderline: int


def size_curve(
    store: Store, request: MatchRequest, *, step_in: float = 0.25
) -> tuple[SizeStep, ...]:
    """Count the fabrics that can join at every size, from the smallest step upwards."""
    scraps = [scrap for scrap in store.scraps() if scrap.state is not ScrapState.CUT_UP]
    sizes = largest_sizes(store, scraps, family=request.template.family, rule=request.rule)
    best: dict[int, float] = {}
    for scrap in scraps:
        best[scrap.fabric] = max(best.get(scrap.fabric, 0.0), sizes[scrap.number])
    by_verdict = {
        word: [best[one.fabric] for one in verdicts(scraps, request.palette) if one.verdict == word]
        for word in ("belongs", "borderline")
    }
    largest = max([0.0, *by_verdict["belongs"], *by_verdict["borderline"]])
    steps = [step_in * (index + 1) for index in range(int(largest / step_in))]
    return tuple(
        SizeStep(
            size,
            _at_least(by_verdict["belongs"], size),
            _at_least(by_verdict["borderline"], size),
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


def _at_least(sizes: Sequence[float], size: float) -> int:
    return sum(1 for one in sizes if one >= size)
