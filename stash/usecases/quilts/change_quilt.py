"""Change a quilt in place, copy it, take it away; record what is sewn and what was spoilt.

Whatever is decided anew, cut pieces stay the quilt's: they keep their places as far as there are
any, and lie aside as spare ones where there are not.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from stash.colour.appearance import PrintKind
from stash.errors import NotFoundError, PlanError
from stash.quilt.amounts import what_amounts_are_of
from stash.quilt.plan import Plan, Quilt, QuiltPiece
from stash.quilt.renewing import renewed
from stash.scrap import Scrap
from stash.usecases.palettes.manage_palettes import palette_named
from stash.usecases.ports import Store
from stash.usecases.quilts.plan_quilt import (
    QuiltRequest,
    checked_plan,
    keep_quilt,
    make_quilt,
    name_free,
    pattern_of,
    place_names,
    plan_of,
    quilt_document,
    quilt_seen,
    quilts,
)
from stash.usecases.quilts.quilt_allot import AllotAnswer, allot_quilt
from stash.usecases.quilts.quilt_layout import with_open_cells_laid
from stash.usecases.quilts.quilt_pieces import hole, still_there
from stash.wording import counted, numbered

__all__ = [
    "Changed",
    "Wishes",
    "change_quilt",
    "copy_quilt",
    "delete_quilt",
    "record_sewn",
    "record_spoilt",
    "renewed_for",
    "replan_quilt",
    "wished_plan",
]

_TONES = ("light", "medium", "dark")
_WISHES = (
    "surely", "never", "kinds", "bins", "tones", "amounts", "many_fabrics", "scraps_first",
    "reserve_rows", "frame",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a person wishes of a quilt besides its shape and size.

    Attributes
    ----------
    surely, never, free : tuple of int
        Scraps whose fabrics must be in it, must not, or may be again.
    kinds, bins, tones : tuple of str or None
        Only these; all where empty; None leaves it as it is.
    amounts : mapping
        Least and most of a part as shares; None takes the wish back.
    many_fabrics, scraps_first : bool or None
        As in `Plan`; None leaves it as it is.
    """

    surely: tuple[int, ...] = ()
    never: tuple[int, ...] = ()
    free: tuple[int, ...] = ()
    kinds: tuple[str, ...] | None = None
    bins: tuple[str, ...] | None = None
    tones: tuple[str, ...] | None = None
    amounts: Mapping[str, tuple[float, float] | None] = field(default_factory=dict)
    many_fabrics: bool | None = None
    scraps_first: bool | None = None


@dataclass(frozen=True, slots=True)
class Changed:
    """A quilt after a change, and what the change does to it, in sentences."""

    quilt: Quilt
    effects: tuple[str, ...]


def change_quilt(
    store: Store, name: str, settings: Mapping[str, Any], wishes: Wishes | None = None
) -> Changed:
    """Change settings and wishes of a quilt; what is cut, chosen, laid out and pinned stays.

    Parameters
    ----------
    settings : mapping
        Fields of `Plan` and their new values; those left out stay.

    Raises
    ------
    NotFoundError
        If there is no such quilt, scrap or palette.
    PlanError
        If the plan cannot be, two wishes contradict each other, pieces are cut that the new plan
        has no use for, or rows that are sewn would be gone.
    """
    quilt, seen = quilt_seen(store, name)
    return _renewed_by(store, quilt, wished_plan(store, quilt, settings, wishes), seen=(seen,))


def wished_plan(
    store: Store, quilt: Quilt, settings: Mapping[str, Any], wishes: Wishes | None = None
) -> Plan:
    """Give a quilt's plan with some settings and wishes changed, keeping nothing.

    Raises as `change_quilt` does, cut and sewn pieces aside.
    """
    plan = _wished(store, replace(quilt.plan, **settings), wishes or Wishes())
    check_wishes(store, plan)
    return checked_plan(store, plan)


def replan_quilt(store: Store, request: QuiltRequest) -> Changed:
    """Plan a quilt of that name anew, or for the first time; wishes and what is cut stay.

    Raises as `make_quilt` and `change_quilt` do.
    """
    if all(quilt.name != request.name.strip() for quilt in quilts(store)):
        return Changed(make_quilt(store, request), ())
    quilt, seen = quilt_seen(store, request.name.strip())
    kept = {name: getattr(quilt.plan, name) for name in _WISHES}
    plan = replace(plan_of(store, request), **kept)
    check_wishes(store, plan)
    return _renewed_by(store, quilt, plan, seen=(seen,))


def _renewed_by(store: Store, quilt: Quilt, plan: Plan, *, seen: Sequence[Any]) -> Changed:
    changed, effects = renewed_for(store, quilt, plan)
    keep_quilt(store, changed, seen=seen, why=f"changed the plan of the quilt {quilt.name}")
    return Changed(changed, effects)


def renewed_for(store: Store, quilt: Quilt, plan: Plan) -> tuple[Quilt, tuple[str, ...]]:
    """Give a quilt by another plan with the pieces that stay, and say what does not."""
    if not quilt.pieces and not quilt.spare:
        return replace(quilt, plan=plan), ()
    alike = plan.cuts_alike(quilt.plan)
    if quilt.cut_pieces and not alike:
        raise PlanError(
            f"{len(quilt.cut_pieces)} pieces of “{quilt.name}” are cut as "
            f"{quilt.plan.template} {quilt.plan.size}; another shape, size or seam would waste "
            "them. Copy the quilt and change the copy."
        )
    if not alike:
        some = len(quilt.pieces)
        gone = f"The {some} pieces that were chosen are of another cut and are let go"
        return (
            replace(quilt, plan=plan, pieces=(), piece_at=(), pinned=(), reserve=()),
            (f"{gone}{', with layout and pins' if quilt.piece_at else ''}: allot again.",),
        )
    before, now = place_names(quilt.plan), place_names(plan)
    lost = sorted(set(quilt.sewn) - set(now), key=_by_place)
    if lost:
        raise PlanError(
            f"Place {lost[0]} is sewn already and would be gone; keep as many rows and "
            "pieces across."
        )
    fresh = _fresh(store, quilt, plan, len(now))
    made = renewed(quilt, plan, fresh, before=before, now=now)
    laid = with_open_cells_laid(store, made.quilt, made.open_cells)
    return laid, _effects(quilt, laid)


def _fresh(store: Store, quilt: Quilt, plan: Plan, places: int) -> list[QuiltPiece]:
    """Give the pieces that are chosen and wanted still, and holes for those that are missing."""
    refused = set(plan.never)
    there = [piece for piece in still_there(store, quilt) if piece.fabric not in refused]
    wanted = max(0, places - len(quilt.cut_pieces))
    missing = [piece for piece in quilt.pieces if not piece.cut and piece not in there]
    like = missing or list(quilt.pieces) or list(quilt.spare)
    holes = [hole(like[at % len(like)]) for at in range(max(0, wanted - len(there)))]
    return [*there[:wanted], *holes]


def _effects(was: Quilt, now: Quilt) -> tuple[str, ...]:
    effects = []
    missing = sum(not piece.cut and not piece.scrap for piece in now.pieces)
    let_go = len(was.held_pieces) - len(now.held_pieces)
    if was.cut_count:
        effects.append(f"{now.cut_count} cut pieces stay.")
    if len(now.spare) > len(was.spare):
        effects.append(f"{len(now.spare)} cut pieces have no place now and lie aside.")
    if let_go > 0:
        effects.append(f"{let_go} chosen pieces are let go.")
    if missing:
        effects.append(f"{missing} pieces are to be found yet: allot again.")
    pins = len(was.pinned) - len(now.pinned)
    if pins:
        effects.append(f"{pins} pinned places are gone.")
    return tuple(effects)


def _by_place(name: str) -> tuple[int, ...]:
    return tuple(int(part) for part in name.split("."))


def _wished(store: Store, plan: Plan, wishes: Wishes) -> Plan:
    surely, never = (_fabrics_of(store, numbers) for numbers in (wishes.surely, wishes.never))
    both = sorted(set(surely) & set(never))
    if both:
        raise PlanError(
            f"Fabric {both[0]} is wished surely and never; take one of the two wishes back."
        )
    free = {*_fabrics_of(store, wishes.free), *surely, *never}
    amounts = {**(plan.amounts or {}), **wishes.amounts}
    said = {name: share for name, share in amounts.items() if share is not None}
    return replace(
        plan,
        surely=(*(one for one in plan.surely if one not in free), *surely),
        never=(*(one for one in plan.never if one not in free), *never),
        kinds=plan.kinds if wishes.kinds is None else wishes.kinds,
        bins=plan.bins if wishes.bins is None else wishes.bins,
        tones=plan.tones if wishes.tones is None else wishes.tones,
        amounts=said or None,
        many_fabrics=plan.many_fabrics if wishes.many_fabrics is None else wishes.many_fabrics,
        scraps_first=plan.scraps_first if wishes.scraps_first is None else wishes.scraps_first,
    )


def _fabrics_of(store: Store, scraps: Sequence[int]) -> tuple[int, ...]:
    return tuple(dict.fromkeys(store.scrap(number).fabric for number in scraps))


def check_wishes(store: Store, plan: Plan) -> None:
    """Refuse wishes that contradict each other or mean nothing, naming them; raises PlanError."""
    for words, given, known in (
        ("kind of print", plan.kinds, tuple(kind.value for kind in PrintKind)),
        ("value", plan.tones, _TONES),
        ("bin", plan.bins, tuple(sorted({one.place for one in store.scraps() if one.place}))),
    ):
        for name in given:
            if name not in known:
                there = ", ".join(known) or "none"
                raise PlanError(f"There is no {words} “{name}”. There are: {there}.")
    _check_amounts(store, plan)
    _check_frame(store, plan)
    scraps = store.scraps() if plan.surely else ()
    for fabric in plan.surely:
        mine = [scrap for scrap in scraps if scrap.fabric == fabric]
        _check_surely(plan, fabric, mine)


def _check_surely(plan: Plan, fabric: int, scraps: Sequence[Scrap]) -> None:
    for words, allowed, found in (
        ("kind", plan.kinds, {scrap.appearance.kind.value for scrap in scraps}),
        ("bin", plan.bins, {scrap.place for scrap in scraps}),
    ):
        if allowed and not found & set(allowed):
            raise PlanError(
                f"Fabric {fabric} is wished surely, and only the {words} {' or '.join(allowed)}, "
                f"of which it is not; take one of the two wishes back."
            )


def _check_amounts(store: Store, plan: Plan) -> None:
    palette = palette_named(store, plan.palette) if plan.palette else None
    least: dict[str, float] = {}
    for name, (low, high) in (plan.amounts or {}).items():
        by = what_amounts_are_of(palette, name)
        if not by:
            raise PlanError(
                f"“{name}” is no part of the palette, no colour family and no value; amounts are "
                "of these."
            )
        if not 0 <= low <= high <= 1:
            raise PlanError(f"The amount of {name} is a range from 0 to 100 %, the lesser first.")
        least[by] = least.get(by, 0.0) + low
        if least[by] > 1 + 1e-9:
            names = [one for one in plan.amounts or {} if what_amounts_are_of(palette, one) == by]
            raise PlanError(
                f"At least {100 * least[by]:.0f} % is wished of {' and '.join(names)} together; "
                "a quilt has 100."
            )


def _check_frame(store: Store, plan: Plan) -> None:
    """Refuse a colour for the edge that there is none of, or that another wish forbids."""
    if not plan.frame:
        return
    palette = palette_named(store, plan.palette) if plan.palette else None
    if not what_amounts_are_of(palette, plan.frame):
        raise PlanError(
            f"“{plan.frame}” is no part of the palette, no colour family and no value; the edge "
            "is framed by one of these."
        )
    wish = f"{plan.frame} is wished along the edge"
    if palette is not None and plan.frame in palette.without:
        raise PlanError(
            f"{wish}, and the palette “{plan.palette}” rules it out; change one of the two."
        )
    if plan.tones and plan.frame in _TONES and plan.frame not in plan.tones:
        raise PlanError(
            f"{wish}, and only the value {' or '.join(plan.tones)}; take one of the two wishes "
            "back."
        )
    _, most = (plan.amounts or {}).get(plan.frame, (0.0, 1.0))
    pattern = pattern_of(plan)
    at_edge, places = len(pattern.rim), len(pattern.places)
    if most * places < at_edge:
        raise PlanError(
            f"{wish}, which has {at_edge} of {places} places, and at most {100 * most:.0f} % of "
            "it is wished; take one of the two wishes back."
        )


def copy_quilt(store: Store, name: str, other: str) -> Quilt:
    """Begin another quilt by the same plan; no piece is chosen for it yet.

    Raises
    ------
    NotFoundError, PlanError
        If there is no such quilt, or the other name is taken.
    """
    quilt, _ = quilt_seen(store, name)
    copied = Quilt(name_free(store, other), quilt.plan)
    keep_quilt(store, copied, why=f"copied the quilt {name} as {copied.name}")
    return copied


def delete_quilt(store: Store, name: str) -> Quilt:
    """Take a quilt away, undoably; what it holds is free, what is cut for it stays cut."""
    quilt, seen = quilt_seen(store, name)
    store.delete_document(seen.kind, name, why=f"took the quilt {name} away")
    return quilt


def record_sewn(store: Store, name: str, rows: Sequence[int], *, back: bool = False) -> Quilt:
    """Record that rows are sewn, or that they are not after all: their pieces keep their places.

    Raises
    ------
    PlanError
        If it is not laid out, there is no such row, or a piece of it is not cut.
    """
    quilt, seen = quilt_seen(store, name)
    if not quilt.piece_at:
        raise PlanError(f"“{name}” is not laid out yet, so no row of it can be sewn.")
    names = place_names(quilt.plan)
    sewn = set(quilt.sewn)
    for row in rows:
        cells = [cell for cell, place in enumerate(names) if place.startswith(f"{row}.")]
        if not cells:
            raise PlanError(f"“{name}” has no row {row}.")
        uncut = [cell for cell in cells if not quilt.pieces[quilt.piece_at[cell]].cut]
        if uncut and not back:
            raise PlanError(f"The piece of place {names[uncut[0]]} is not cut yet.")
        places = {names[cell] for cell in cells}
        sewn = sewn - places if back else sewn | places
    changed = replace(quilt, sewn=tuple(sorted(sewn, key=_by_place)))
    done = "unpicked" if back else "sewed"
    keep_quilt(
        store, changed, seen=(seen,), why=f"{done} {numbered('row', rows)} of the quilt {name}"
    )
    return changed


def record_spoilt(store: Store, name: str, places: Sequence[str]) -> AllotAnswer:
    """Record that cut pieces were spoilt, and find others in their place, of the same colour first.

    All that is cut or chosen besides stays. Where nothing can take their place, they are missing,
    and the answer says what would help.

    Parameters
    ----------
    places : sequence of str
        Where the pieces belong, such as ``3.12``; or ``#7`` for one cut from scrap 7.

    Raises
    ------
    NotFoundError
        If there is no such quilt, or no cut piece of that place or scrap.
    """
    quilt, seen = quilt_seen(store, name)
    spoilt = [_cut_piece(quilt, place) for place in places]
    pieces = list(quilt.pieces)
    for number in spoilt:
        pieces[number] = hole(pieces[number])
    names = place_names(quilt.plan)
    unsewn = {names[cell] for cell, piece in enumerate(quilt.piece_at) if piece in set(spoilt)}
    changed = replace(
        quilt,
        pieces=tuple(pieces),
        spoilt=(*quilt.spoilt, *(quilt.pieces[number] for number in spoilt)),
        sewn=tuple(one for one in quilt.sewn if one not in unsewn),
    )
    count = counted(len(spoilt), "piece")
    store.keep_document(
        quilt_document(changed), seen=(seen,), why=f"spoilt {count} of the quilt {name}"
    )
    answer = allot_quilt(store, name, fill=True)
    return answer if answer.possible else allot_quilt(store, name)


def _cut_piece(quilt: Quilt, place: str) -> int:
    if place.startswith("#"):
        found = [
            number
            for number, piece in enumerate(quilt.pieces)
            if piece.cut and f"#{piece.scrap}" == place
        ]
    else:
        names = place_names(quilt.plan)
        cells = [cell for cell, name in enumerate(names) if name == place and quilt.piece_at]
        found = [quilt.piece_at[cell] for cell in cells if quilt.pieces[quilt.piece_at[cell]].cut]
    if not found:
        hint = "Name a place such as 3.12, or the scrap it was cut from as #7."
        raise NotFoundError("cut piece at", place, hint=hint)
    return found[0]
