"""How far each colour of each fabric belongs to a palette."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.colour.difference import paired_difference
from stash.colour.fabric_table import FabricTable
from stash.colour.mixtures import pairs_of_colours
from stash.colour.naming import bits_of
from stash.colour.palette import Amount, Palette, WantedFamily
from stash.colour.spaces import FloatArray

__all__ = ["Fit", "Membership", "kindest_membership", "membership", "value_is_asked_for"]

_FULL_MEMBER = 0.99  # both colours of a mixture must belong at least this far
_VALUE_RANGES = {"light": (60.0, 200.0), "medium": (35.0, 75.0), "dark": (-100.0, 45.0)}
_VALUE_SLOPE = 10.0  # L* over which a light, medium or dark family fades out; judgement
_FAMILIES_OF_ONE_VALUE = ("white", "cream", "black")
_COOL_NEUTRALS, _WARM_NEUTRALS = ("white", "grey", "black"), ("cream", "tan")


@dataclass(frozen=True, slots=True)
class Membership:
    """Per colour, (n, k): how far it belongs, 0..1.

    Attributes
    ----------
    member : float64
        By families, targets, neutrals and mixtures.
    accent : float64
        The part of it that only a touch colour explains.
    target : float64
        The part by target colours alone; a ruled-out family does not weigh on these.
    """

    member: FloatArray
    accent: FloatArray
    target: FloatArray


@dataclass(frozen=True, slots=True)
class _Parts:
    """What each colour gets by families and by targets, main or a touch, all (n, k)."""

    main: FloatArray
    touch: FloatArray
    main_target: FloatArray
    touch_target: FloatArray
    barred: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Fit:
    """How far colours belong: with the ruled-out families out, and as if none were ruled out.

    Attributes
    ----------
    distances : float32, shape (targets, n, k)
        CIEDE2000 to the target colours, where it matters; infinite elsewhere.
    """

    member: Membership
    freely: Membership
    distances: NDArray[np.float32]


def membership(table: FabricTable, palette: Palette) -> Fit:
    """Say how far each colour of each fabric belongs to the palette."""
    main, touch = _by_family(table, palette, table.near)
    distances = _target_distances(table, palette, main)
    parts = _parts(table, palette, (main, touch), distances)
    freely = _combined(table, palette, parts, ruled_out=False)
    if not parts.barred.any():
        return Fit(freely, freely, distances)
    return Fit(_combined(table, palette, parts, ruled_out=True), freely, distances)


def kindest_membership(
    table: FabricTable, palette: Palette, distances: NDArray[np.float32]
) -> Membership:
    """Say how far each colour can belong at the most, given the benefit of its error.

    ``distances`` to the target colours are those of ``membership``.
    """
    by_family = _by_family(table, palette, table.possible, slack=table.error[:, None])
    parts = _parts(
        table, palette, by_family, distances - table.error[:, None].astype(np.float32),
        bits=table.possible,
    )  # fmt: skip
    return _combined(table, palette, parts, ruled_out=True)


def _by_family(
    table: FabricTable, palette: Palette, bits: NDArray[np.uint16], *, slack: FloatArray | float = 0
) -> tuple[FloatArray, FloatArray]:
    """Membership by the families that are main or some, and by those that are a touch."""
    main, touch = np.zeros(table.share.shape), np.zeros(table.share.shape)
    if not (palette.families or palette.targets):
        main[:] = 1.0  # only told what may not come in: anything else may
    for wanted in palette.families:
        found = _of_family(table, wanted, bits, slack)
        part = touch if wanted.amount is Amount.TOUCH else main
        np.maximum(part, found, out=part)
    if palette.neutrals:
        _add_neutrals(main, bits, palette)
    return main, touch


def _of_family(
    table: FabricTable, wanted: WantedFamily, bits: NDArray[np.uint16], slack: FloatArray | float
) -> FloatArray:
    found: FloatArray = ((bits & np.uint16(bits_of([wanted.family]))) != 0).astype(np.float64)
    if wanted.value:
        found *= _value_member(table, wanted.value, slack)
    return found


def value_is_asked_for(table: FabricTable, palette: Palette) -> NDArray[np.bool_]:
    """Which fabrics belong by words that tell how light they are, (n,).

    Those are target colours, families asked for as light, medium or dark, and white, cream and
    black: who asks for them by name is not surprised by their value. Judgement.
    """
    asked = np.zeros(table.share.shape)
    for wanted in palette.families:
        if wanted.value or wanted.family in _FAMILIES_OF_ONE_VALUE:
            asked = np.maximum(asked, _of_family(table, wanted, table.near, 0.0))
    distances = _target_distances(table, palette, asked)
    asked = np.maximum(asked, np.maximum(*_by_targets(table, palette, distances)))
    share = (table.share * asked).sum(axis=1)
    return np.asarray(share >= 1 - palette.thresholds.outside_borderline, dtype=bool)


def _parts(
    table: FabricTable,
    palette: Palette,
    by_family: tuple[FloatArray, FloatArray],
    distances: NDArray[np.float32],
    *,
    bits: NDArray[np.uint16] | None = None,
) -> _Parts:
    out = np.uint16(bits_of(palette.without))
    named = table.near if bits is None else bits
    barred = (table.share > 0) & ((named & ~out) == 0)
    main, touch = _by_targets(table, palette, distances)
    return _Parts(*by_family, main, touch, barred)


def _by_targets(
    table: FabricTable, palette: Palette, distances: NDArray[np.float32]
) -> tuple[FloatArray, FloatArray]:
    """Membership by the targets that are main or some, and by those that are a touch."""
    limits = palette.thresholds
    width = max(limits.target_none - limits.target_full, 1e-6)
    by_target = np.zeros((2, *table.share.shape))
    for target, distance in zip(palette.targets, distances, strict=True):
        part = by_target[1 if target.amount is Amount.TOUCH else 0]
        np.maximum(part, np.clip((limits.target_none - distance) / width, 0.0, 1.0), out=part)
    return by_target[0], by_target[1]


def _target_distances(
    table: FabricTable, palette: Palette, main: FloatArray
) -> NDArray[np.float32]:
    """Give the distances to the targets where they can matter.

    A colour that belongs by its family gains nothing by a target, unless it is ruled out.
    """
    out = np.uint16(bits_of(palette.without))
    asked = (table.share > 0) & ((main < 1) | ((table.near & out) != 0))
    distances = np.full((len(palette.targets), *table.share.shape), np.inf, dtype=np.float32)
    if asked.any():
        labs = table.lab[asked].astype(np.float32)
        for place, target in enumerate(palette.targets):
            lab = np.array(target.lab, dtype=np.float32)
            distances[place][asked] = paired_difference(lab, labs, lightness_weight=2.0)
    return distances


def _combined(
    table: FabricTable, palette: Palette, parts: _Parts, *, ruled_out: bool
) -> Membership:
    main, touch = parts.main, parts.touch
    if ruled_out:
        main, touch = (np.where(parts.barred, 0.0, part) for part in (main, touch))
    main = np.maximum(main, parts.main_target)
    touch = np.maximum(touch, parts.touch_target)
    member = np.maximum(main, touch)
    member = np.maximum(member, _mixture_member(table, member, palette))
    member[table.share == 0] = 0.0
    accent = np.clip(touch - main, 0.0, 1.0) * (table.share > 0)
    return Membership(member, accent, np.maximum(parts.main_target, parts.touch_target))


def _value_member(table: FabricTable, value: str, slack: FloatArray | float) -> FloatArray:
    low, high = _VALUE_RANGES[value]
    lightness = table.lab[..., 0]
    beyond = np.maximum(low - lightness, lightness - high)
    return np.clip(1 - (beyond - slack) / _VALUE_SLOPE, 0.0, 1.0)


def _add_neutrals(main: FloatArray, bits: NDArray[np.uint16], palette: Palette) -> None:
    warm = palette.thresholds.warm_neutral_member
    for families, member in ((_WARM_NEUTRALS, warm), (_COOL_NEUTRALS, 1.0)):
        found = (bits & np.uint16(bits_of(families))) != 0
        main[found] = np.maximum(main[found], member)


def _mixture_member(table: FabricTable, member: FloatArray, palette: Palette) -> FloatArray:
    """Count the mid tone that two member colours of one cloth mix to, as in a gingham."""
    limits = palette.thresholds
    mixed = np.zeros(member.shape)
    full = (member >= _FULL_MEMBER) & (table.share > 0)
    odd = (member < _FULL_MEMBER) & (table.share > 0)
    rows = np.flatnonzero((full.sum(axis=1) >= 2) & odd.any(axis=1))
    one, other = pairs_of_colours(member.shape[1])
    both = full[rows][:, one] & full[rows][:, other]
    distance = np.where(both[:, :, None], table.mixed[rows], np.inf).min(axis=1)
    width = max(limits.mix_none - limits.mix_full, 1e-6)
    mixed[rows] = np.where(odd[rows], np.clip((limits.mix_none - distance) / width, 0.0, 1.0), 0.0)
    return mixed
