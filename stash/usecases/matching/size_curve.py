"""How many fabrics can join a quilt at each finished size of its piece."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stash.drawing.size_curve import CurvePoint, draw_size_curve
from stash.quilt.one_cloth import FabricCount
from stash.usecases.matching.match_palette import MatchRequest, judged_by, largest_of_fabrics
from stash.usecases.pieces.usable_fabrics import usable_fabrics
from stash.usecases.ports import AskedStore
from stash.usecases.twins.one_cloth_questions import undecided

__all__ = ["SizeStep", "draw_steps", "size_curve"]


@dataclass(frozen=True, slots=True)
class SizeStep:
    """At this finished size so many fabrics of each verdict give a piece.

    Attributes
    ----------
    size_in : float
        Finished size, inches.
    belong, borderline : int
        Sure to be different: what may be one cloth counts once.
    count : FabricCount
        Of both together, with what is not decided.
    """

    size_in: float
    belong: int
    borderline: int
    count: FabricCount


def size_curve(
    store: AskedStore, request: MatchRequest, *, step_in: float = 0.25
) -> tuple[SizeStep, ...]:
    """Count the fabrics that can join at every size, from the smallest step upwards.

    Remembered until something is written: it is the same for every size that is asked of it.
    """
    palette, family = request.palette, request.template.family
    key = ("size curve", palette, family, request.rule.word(), step_in)
    return store.derived(key, lambda: _counted(store, request, step_in))


def _counted(store: AskedStore, request: MatchRequest, step_in: float) -> tuple[SizeStep, ...]:
    usable = usable_fabrics(store)
    if not len(usable.numbers):
        return ()
    best = largest_of_fabrics(store, usable, request)
    grade = judged_by(store, request.palette).grade
    largest = float(best[grade <= 1].max(initial=0.0))
    sizes = [step_in * (index + 1) for index in range(int(largest / step_in))]
    open_pairs, fabrics = undecided(store), usable.table.fabric
    steps = []
    for size in sizes:
        fits = best >= size
        belong = open_pairs.count(fabrics[fits & (grade == 0)].tolist())
        count = open_pairs.count(fabrics[fits & (grade <= 1)].tolist())
        steps.append(SizeStep(size, belong.least, count.least - belong.least, count))
    return tuple(steps)


def draw_steps(steps: Sequence[SizeStep], request: MatchRequest) -> bytes:
    """Draw the curve, PNG, with the asked size marked."""
    return draw_size_curve(
        [CurvePoint(one.size_in, one.belong, one.borderline) for one in steps],
        title=f"{request.palette.name}: fabrics that can join, {request.template.family}",
        asked_in=request.template.size_in,
        unit=request.unit,
    )
