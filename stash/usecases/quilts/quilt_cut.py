"""Record what has been cut for a quilt, and say how far it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from shlex import quote
from types import MappingProxyType

from stash.errors import NotFoundError, PlanError
from stash.quilt.plan import Quilt
from stash.quilt.regret import Regret
from stash.quilt.remainder import LEAST_IN, lies_on, remainders
from stash.scrap import Scrap, ScrapState
from stash.shape.plane.outline import Outline, Ring
from stash.usecases.ports import ScrapToLog, Store
from stash.usecases.quilts.plan_quilt import (
    cut_ring,
    held_on_scraps,
    quilt_document,
    quilt_seen,
    template_of,
)
from stash.usecases.quilts.quilt_pieces import still_there
from stash.usecases.quilts.quilt_stock import cut_rule
from stash.usecases.quilts.regrets import regrets_of
from stash.wording import counted

__all__ = [
    "CutAnswer",
    "CutScrap",
    "Progress",
    "after_cutting",
    "begun_of",
    "cut_ring",
    "cut_scraps",
    "progress_of",
]


@dataclass(frozen=True, slots=True)
class CutScrap:
    """One scrap that has been cut: pieces taken, and the scraps that are left of it."""

    scrap: int
    fabric: int
    pieces: int
    left: tuple[int, ...]
    left_sq_in: float
    dropped_sq_in: float


@dataclass(frozen=True, slots=True)
class CutAnswer:
    """What was recorded, the quilt after it, and which last large squares the cuts took."""

    quilt: Quilt
    cut: tuple[CutScrap, ...]
    regrets: tuple[Regret, ...] = ()


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a quilt is, in pieces.

    Attributes
    ----------
    needed, cut, to_cut : int
        In all, done, and allotted but not cut.
    missing : int
        Not allotted, or allotted to a scrap that is gone.
    gone : tuple of int
        Scraps that were allotted and are no longer there, or not as they were.
    spare, spoilt, sewn, reserve : int
        Cut without a place, cut and lost, sewn, held back for more rows.
    """

    needed: int
    cut: int
    to_cut: int
    missing: int
    gone: tuple[int, ...]
    spare: int = 0
    spoilt: int = 0
    sewn: int = 0
    reserve: int = 0


def cut_scraps(
    store: Store,
    name: str,
    numbers: Sequence[int],
    *,
    least_in: float = LEAST_IN,
    called: Mapping[int, str] = MappingProxyType({}),
) -> CutAnswer:
    """Record that all pieces allotted from some scraps have been cut, in one undoable change.

    Pieces leave the scrap. The largest remainder keeps the scrap's number, the others become
    scraps of the same fabric; what is narrower than ``least_in`` is dropped.

    Parameters
    ----------
    numbers : sequence of int
        Scraps; all that still have pieces to give when empty.
    least_in : float
        Narrowest leftover worth keeping, inches.
    called : mapping of int to str
        What fabrics are called, by number; others are told by their number alone.

    Raises
    ------
    NotFoundError
        If there is no such quilt or scrap.
    PlanError
        If a scrap gives nothing to this quilt any more, its outline has changed since, or the
        quilt is set aside.
    """
    quilt, seen = quilt_seen(store, name)
    if quilt.set_aside:
        raise PlanError(f"“{name}” is set aside; take it up again before cutting for it.")
    chosen = list(dict.fromkeys(numbers)) or sorted(
        {piece.scrap for piece in quilt.pieces if piece.scrap and not piece.cut}
    )
    if not chosen:
        raise PlanError(f"Nothing is left to cut for “{name}”.")
    rest = quilt
    changed: list[tuple[Scrap, Scrap]] = []
    begun: list[tuple[int, ScrapToLog]] = []
    lines = []
    for number in chosen:
        scrap, left = _one_scrap(store, quilt, number, least_in)
        pieces = quilt.to_cut_of(number)
        rest = rest.with_cut(pieces)
        changed.append((scrap, after_cutting(scrap, left)))
        begun += [(number, begun_of(store, scrap, one)) for one in left[1:]]
        lines.append((scrap, len(pieces), left))
    regrets = regrets_of(
        store,
        {scrap.number: left for scrap, _, left in lines},
        {scrap.fabric: called.get(scrap.fabric, "") for scrap, _, _ in lines},
        template_of(quilt.plan),
        cut_rule(quilt.plan),
    )
    count = sum(pieces for _, pieces, _ in lines)
    what = f"cut {counted(count, 'piece')} for the quilt {name}"
    new = store.keep_together(
        changed=changed,
        begun=[one for _, one in begun],
        records=[(seen, quilt_document(rest))],
        why=what,
    )
    of_scrap: dict[int, list[int]] = {}
    for (number, _), scrap in zip(begun, new, strict=True):
        of_scrap.setdefault(number, []).append(scrap.number)
    return CutAnswer(
        rest,
        tuple(
            _line(quilt, scrap, left, of_scrap.get(scrap.number, [])) for scrap, _, left in lines
        ),
        regrets,
    )


def progress_of(store: Store, quilt: Quilt, needed: int) -> Progress:
    """Count what is cut, what is to cut and what is missing, as scraps are now."""
    there = still_there(store, quilt)
    scraps = {piece.scrap for piece in there}
    uncut = [piece for piece in quilt.pieces if not piece.cut]
    gone = sorted({piece.scrap for piece in uncut if piece.scrap and piece.scrap not in scraps})
    missing = needed - quilt.cut_count - len(there)
    beside = (quilt.spare, quilt.spoilt, quilt.sewn, quilt.reserve)
    counts = [len(one) for one in beside]
    return Progress(needed, quilt.cut_count, len(there), missing, tuple(gone), *counts)


def _one_scrap(
    store: Store, quilt: Quilt, number: int, least_in: float
) -> tuple[Scrap, tuple[Outline, ...]]:
    scrap = store.scrap(number)
    rings = _rings(quilt, number)
    held = _held_beside(store, quilt, number)
    if not rings:
        raise NotFoundError(
            "piece to cut from scrap",
            number,
            hint=f"The quilt “{quilt.name}” takes nothing from it, or it is cut already.",
        )
    if scrap.state is ScrapState.CUT_UP or not lies_on(scrap.outline, rings):
        raise PlanError(
            f"Scrap {number} is not as it was when the pieces were allotted. Choose its "
            "scraps again before cutting it.",
            at_terminal=f"That is: stash quilt allot {quote(quilt.name)}.",
        )
    left = remainders(scrap.outline, rings, least_in=least_in)
    # What others hold must be found on the scrap of that number: that part keeps it.
    holding = sorted(left, key=lambda part: -sum(lies_on(part, [ring]) for ring in held))
    return scrap, tuple(holding)


def _held_beside(store: Store, quilt: Quilt, number: int) -> list[Ring]:
    """Give what else is held on a scrap: by other quilts, and in this one's reserve."""
    others = held_on_scraps(store, but=quilt.name)
    rings = list(others[number].pieces) if number in others else []
    reserve = [one.crop for one in quilt.reserve if one.scrap == number and one.crop]
    return [*rings, *(cut_ring(quilt.plan, crop) for crop in reserve)]


def _rings(quilt: Quilt, number: int) -> list[Ring]:
    crops = [quilt.pieces[piece].crop for piece in quilt.to_cut_of(number)]
    return [cut_ring(quilt.plan, crop) for crop in crops if crop is not None]


def after_cutting(scrap: Scrap, left: Sequence[Outline]) -> Scrap:
    """Give a scrap of which these parts are left, the one that keeps its number first."""
    if not left:
        return replace(scrap, state=ScrapState.CUT_UP)
    return replace(scrap, outline=left[0], state=ScrapState.WHOLE)


def begun_of(store: Store, scrap: Scrap, outline: Outline) -> ScrapToLog:
    """Give a part of a scrap as a scrap of its own."""
    picture = scrap.picture
    return ScrapToLog(
        outline=outline,
        appearance=scrap.appearance,
        picture_jpeg=store.picture(picture.sha256) if picture else b"",
        px_per_in=picture.px_per_in if picture else 0.0,
        left_in=picture.left_in if picture else 0.0,
        top_in=picture.top_in if picture else 0.0,
        fabric=scrap.fabric,
        place=scrap.place,
        washed=scrap.washed,
    )


def _line(quilt: Quilt, scrap: Scrap, left: Sequence[Outline], begun: Sequence[int]) -> CutScrap:
    rings = _rings(quilt, scrap.number)
    taken = sum(Outline(ring).area_sq_in for ring in rings)
    kept = sum(one.area_sq_in for one in left)
    numbers = ((scrap.number,) if left else ()) + tuple(begun)
    dropped = max(0.0, scrap.outline.area_sq_in - taken - kept)
    return CutScrap(scrap.number, scrap.fabric, len(rings), numbers, kept, dropped)
