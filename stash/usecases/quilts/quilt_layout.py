"""Lay a quilt's pieces out, by the rules or by hand."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from shlex import quote

import numpy as np

from stash.colour.naming import value_words
from stash.colour.spaces import FloatArray
from stash.errors import ChangedElsewhereError, PlanError
from stash.quilt.evenness import Floors, least_eigenvalues
from stash.quilt.framing import moved_to_rim
from stash.quilt.kernels import Kernels
from stash.quilt.layout import Arrangement, Cells, PieceColours, arrange, judge_layout, swap
from stash.quilt.pattern import Pattern
from stash.quilt.plan import Quilt
from stash.quilt.stripes import turn_stripes
from stash.usecases.ports import Document, Store
from stash.usecases.quilts.plan_quilt import keep_quilt, pattern_of, quilt_seen
from stash.usecases.twins.one_cloth_questions import undecided

__all__ = ["LayoutRequest", "lay_out", "layout_of", "move_pieces", "with_open_cells_laid"]


@dataclass(frozen=True, slots=True)
class LayoutRequest:
    """What to do with a layout.

    Attributes
    ----------
    seed : int
        The same seed gives the same layout.
    pin, unpin : tuple of str
        Places whose piece is to stay, or no longer; ``3.12`` is row 3, piece 12.
    swaps : tuple of (str, str)
        Places whose pieces change over.
    only : tuple of str
        Shuffle only these places; all but the pinned when empty.
    keep : bool
        Change nothing but pins and swaps.
    """

    seed: int = 0
    pin: tuple[str, ...] = ()
    unpin: tuple[str, ...] = ()
    swaps: tuple[tuple[str, str], ...] = ()
    only: tuple[str, ...] = ()
    keep: bool = False


def lay_out(store: Store, name: str, request: LayoutRequest) -> tuple[Quilt, Arrangement]:
    """Lay a quilt out and keep the layout.

    Raises
    ------
    NotFoundError
        If there is no such quilt.
    PlanError
        If it has no pieces yet, or a place is not on it.
    """
    quilt, seen = _with_pieces(store, name)
    pattern = pattern_of(quilt.plan)
    cells, colours = _cells(pattern), _colours(store, quilt)
    if request.swaps or (request.keep and quilt.piece_at):
        changed = _moved(quilt, pattern, request)
        laid = judge_layout(cells, colours, changed.piece_at, floors=_floors(store, name))
    else:
        pinned = _pinned(quilt, pattern, request)
        held = _fixed(quilt, pattern, request, pinned)
        laid = _arranged(
            quilt, pattern, colours, held, seed=request.seed, floors=_floors(store, name)
        )
        changed = _laid(quilt, pattern, laid.piece_at, pinned)
    changed = replace(changed, seed=request.seed)
    keep_quilt(store, changed, seen=(seen,), why=f"laid out the quilt {name}")
    return changed, laid


def with_open_cells_laid(store: Store, quilt: Quilt, open_cells: Sequence[int]) -> Quilt:
    """Lay the pieces of some places out, the others staying where they are; nothing is kept."""
    if not quilt.piece_at:
        return quilt
    pattern, piece_at = pattern_of(quilt.plan), quilt.piece_at
    if open_cells:
        fixed = set(range(len(piece_at))) - set(open_cells)
        colours = _colours(store, quilt)
        piece_at = _arranged(quilt, pattern, colours, fixed, seed=quilt.seed).piece_at
    return _laid(quilt, pattern, piece_at, quilt.pinned)


def _arranged(
    quilt: Quilt,
    pattern: Pattern,
    colours: PieceColours,
    held: Collection[int],
    *,
    seed: int,
    floors: Floors | None = None,
) -> Arrangement:
    """Lay out the cells that are not held; where a colour frames the edge, edge and middle apart.

    A piece laid at the edge for its colour then changes over only with others there.
    """
    cells, start = _cells(pattern), quilt.piece_at or tuple(range(len(quilt.pieces)))
    if not quilt.plan.frame:
        began = quilt.piece_at or None
        return arrange(cells, colours, seed=seed, start=began, fixed=held, floors=floors)
    rim, open_cells = set(pattern.rim), set(range(len(start))) - set(held)
    start = moved_to_rim(quilt, rim, start, open_cells, seed)
    closed = set(held)
    for part in (open_cells - rim, open_cells & rim):  # the rim last: its neighbours lie by then
        fixed = closed | (open_cells - part)
        laid = arrange(cells, colours, seed=seed, start=start, fixed=fixed, floors=floors)
        start = laid.piece_at
    return laid


def move_pieces(
    store: Store,
    name: str,
    request: LayoutRequest,
    *,
    shown: Mapping[str, int] | None = None,
) -> Quilt:
    """Swap and pin pieces by hand and keep that; how even it is now is not measured.

    Parameters
    ----------
    store : Store
        The stash.
    name : str
        The quilt.
    request : LayoutRequest
        Its pins and swaps; nothing else of it is read.
    shown : mapping, optional
        The scrap a person saw in each place that is to change.

    Raises
    ------
    NotFoundError
        If there is no such quilt.
    PlanError
        If it is not laid out yet, or a place is not on it.
    ChangedElsewhereError
        If another scrap lies in one of the places shown.
    """
    quilt, seen = _with_pieces(store, name)
    pattern = pattern_of(quilt.plan)
    at = _places(pattern)
    for place, scrap in (shown or {}).items():
        [cell] = _numbers(at, (place,))
        if not quilt.piece_at or quilt.pieces[quilt.piece_at[cell]].scrap != scrap:
            raise ChangedElsewhereError(f"the layout of “{name}”")
    changed = _moved(quilt, pattern, request)
    keep_quilt(store, changed, seen=(seen,), why=f"moved pieces of the quilt {name}")
    return changed


def _with_pieces(store: Store, name: str) -> tuple[Quilt, Document]:
    quilt, seen = quilt_seen(store, name)
    if not quilt.pieces:
        raise PlanError(
            f"“{name}” has no pieces to lay out yet; choose its scraps first.",
            at_terminal=f"That is: stash quilt allot {quote(name)}.",
        )
    return quilt, seen


def _moved(quilt: Quilt, pattern: Pattern, request: LayoutRequest) -> Quilt:
    at, piece_at = _places(pattern), quilt.piece_at
    if not piece_at:
        raise PlanError(f"“{quilt.name}” is not laid out yet, so no pieces can change places.")
    for one, other in request.swaps:
        sewn = {one, other} & set(quilt.sewn)
        if sewn:
            raise PlanError(f"Place {min(sewn)} is sewn; its piece stays.")
        piece_at = swap(piece_at, *_numbers(at, (one, other)))
    return _laid(quilt, pattern, piece_at, _pinned(quilt, pattern, request))


def _laid(quilt: Quilt, pattern: Pattern, piece_at: Sequence[int], pinned: Sequence[str]) -> Quilt:
    pieces = turn_stripes(quilt.pieces, pattern, piece_at)
    return replace(quilt, pieces=pieces, piece_at=tuple(piece_at), pinned=tuple(pinned))


def _pinned(quilt: Quilt, pattern: Pattern, request: LayoutRequest) -> list[str]:
    pinned = (set(quilt.pinned) | set(request.pin)) - set(request.unpin)
    _numbers(_places(pattern), (*pinned, *request.unpin))
    return sorted(pinned)


def _fixed(
    quilt: Quilt, pattern: Pattern, request: LayoutRequest, pinned: Sequence[str]
) -> set[int]:
    if not quilt.piece_at:
        return set()
    at = _places(pattern)
    fixed = set(_numbers(at, (*pinned, *quilt.sewn)))
    if request.only:
        fixed |= set(at.values()) - set(_numbers(at, request.only))
    return fixed


def layout_of(store: Store, quilt: Quilt) -> Arrangement | None:
    """Measure the layout a quilt has; None before it is laid out."""
    if not quilt.piece_at:
        return None
    return judge_layout(
        _cells(pattern_of(quilt.plan)),
        _colours(store, quilt),
        quilt.piece_at,
        floors=_floors(store, quilt.name),
    )


def _floors(store: Store, name: str) -> Floors:
    """Give what the lower bound rests on as it was kept for a quilt, or work it out and keep it.

    It follows from where the cells lie and how wide the kernels are, so that pieces may change
    places without it being worked out anew.
    """

    def kept(kernels: Kernels) -> FloatArray:
        """Give the least eigenvalues of these kernels, kept beside the stash or made."""
        key = hashlib.sha256()
        for part in (kernels.along_x, kernels.along_y, kernels.column, kernels.row):
            key.update(np.ascontiguousarray(part).tobytes())
        of = hashlib.sha256(name.encode()).hexdigest()[:16]
        found = store.kept_answer(
            f"layout-{of}", key.hexdigest(), lambda: least_eigenvalues(kernels).tobytes()
        )
        return np.frombuffer(found, dtype=np.float64)

    return kept


def _cells(pattern: Pattern) -> Cells:
    return Cells(pattern.centres_in, pattern.neighbours)


def _colours(store: Store, quilt: Quilt) -> PieceColours:
    pieces = quilt.pieces
    classes = {
        "family": [piece.family for piece in pieces],
        "value": value_words([piece.lab[0] for piece in pieces]),
    }
    if any(piece.amount for piece in pieces):
        classes["amount"] = [piece.amount for piece in pieces]
    if any(piece.kind == "stripe" for piece in pieces):
        classes["stripes"] = ["stripe" if piece.kind == "stripe" else "" for piece in pieces]
    labs = np.array([piece.lab for piece in pieces])
    fabrics = [piece.fabric for piece in pieces]
    return PieceColours(labs, fabrics, classes, undecided(store).among(fabrics))


def _places(pattern: Pattern) -> dict[str, int]:
    return {place.name: number for number, place in enumerate(pattern.places)}


def _numbers(at: dict[str, int], names: Sequence[str]) -> list[int]:
    for name in names:
        if name not in at:
            raise PlanError(
                f"There is no place “{name}” on this quilt; write row.piece, such as 3.12."
            )
    return [at[name] for name in names]
