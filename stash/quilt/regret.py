"""What a cut takes for good: the largest plain square a fabric still gave."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stash.shape.containment.piece_fit import find_placement
from stash.shape.plane.outline import Outline
from stash.shape.templates.template import make_template
from stash.shape.templates.turning import Turning
from stash.units import length_words

__all__ = ["Regret", "largest_square", "regret_of", "regret_words"]

# Sides of squares that are told of, inches as cut, largest first, in either unit (judgement).
_SIDES_IN = (18.0, 12.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0)
_MORE = 1.5  # so much larger than a piece's box a square is to be missed (judgement)


@dataclass(frozen=True, slots=True)
class Regret:
    """A square a fabric gives before the cut and nowhere after it.

    Attributes
    ----------
    fabric : int
        In the stash.
    name : str
        What it is called; may be empty.
    side_in, left_in : float
        Side of the square that goes, and of the largest told of that stays; 0 where none does.
    """

    fabric: int
    name: str
    side_in: float
    left_in: float


def regret_words(
    regrets: Sequence[Regret], *, unit: str = "in", cut: bool = False
) -> tuple[str, ...]:
    """Say regrets in sentences, fabrics that lose and keep the same together.

    Parameters
    ----------
    cut : bool
        Whether it is done and not only planned.
    """
    takes = "took" if cut else "takes"
    alike: dict[tuple[float, float], list[str]] = {}
    for one in regrets:
        name = f"{one.name} (fabric {one.fabric})" if one.name else f"fabric {one.fabric}"
        alike.setdefault((one.side_in, one.left_in), []).append(name)
    smallest = _SIDES_IN[-1]
    said = []
    for (side, left), names in alike.items():
        words = f"This {takes} the last {length_words(side, unit=unit)} square of {_listed(names)}"
        if left:
            words += f"; {length_words(left, unit=unit)} squares are left"
        elif side > smallest:
            words += f"; not even {length_words(smallest, unit=unit)} squares are left"
        said.append(f"{words}.")
    return tuple(said)


def _listed(names: Sequence[str]) -> str:
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last


def largest_square(outlines: Sequence[Outline]) -> float:
    """Give the side of the largest square told of that surely lies on an outline, inches; or 0.

    Parameters
    ----------
    outlines : sequence of Outline
        Each is shrunk by its error; a square may lie at any turn.
    """
    for side in _SIDES_IN:
        square = make_template("square", side - 0.5, seam_allowance_in=0.25)
        for outline in outlines:
            if outline.area_sq_in < side**2:
                continue
            if find_placement(outline, square, turning=Turning.free()).placement is not None:
                return side
    return 0.0


def regret_of(
    fabric: int,
    name: str,
    before: Sequence[Outline],
    after: Sequence[Outline],
    *,
    piece_sq_in: float,
) -> Regret | None:
    """Say which square a fabric's cloth gave and will give no more; None where nothing is lost.

    Parameters
    ----------
    before, after : sequence of Outline
        All cloth of the fabric, as it is and as the cut leaves it.
    piece_sq_in : float
        Cloth of one piece, its box: a square hardly larger than that is no loss, it is the piece.
    """
    had = largest_square(before)
    if had**2 < _MORE * piece_sq_in:
        return None
    left = largest_square(after)
    return Regret(fabric, name, had, left) if left < had else None
