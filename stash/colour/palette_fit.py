"""How far each colour of each fabric belongs to a palette."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.colour.fabric_table import FabricTable
from stash.colour.mixtures import pairs_of_colours
from stash.colour.naming import FAMILIES, NEUTRALS, bits_of
from stash.colour.palette import Palette, WantedFamily
from stash.colour.spaces import FloatArray, chroma_of
from stash.colour.tones import tone_member, within_extremes

__all__ = [
    "Fit",
    "Membership",
    "asked_for",
    "barred_shades",
    "echo",
    "kindest_membership",
    "membership",
]

_SECOND_NAME = 0.85  # how far a colour near a border belongs by its neighbour's name; judgement
# L* of the darks of what is asked for by value or by families that are light by nature; a neutral
# below them fades out over so much. Judgement.
_DARKS_OF_TONE = {"light": 75.0, "pastel": 75.0, "medium": 40.0, "bright": 35.0}
_DARKS_OF_FAMILY = {"white": 85.0, "cream": 80.0, "yellow": 65.0, "pink": 55.0}
_NEUTRAL_SLOPE = 15.0
_FAMILIES_OF_ONE_VALUE = ("white", "cream", "black")
# A tint or shade counts half. A colour stronger than the one asked for shouts beside it, a duller
# one keeps quiet company with it. Judgement.
_LIGHTNESS_COUNTS, _STRONGER_COUNTS, _DULLER_COUNTS = 0.5, 1.5, 0.6
_WOVEN_REACH = 1.75  # threads of two colours mix farther off than prints; judgement
_CHROMA_PER_DE00 = 0.045  # CIEDE2000 draws chroma together by 1 + this times C*ab (its S_C)


@dataclass(frozen=True, slots=True)
class Membership:
    """Per colour, (n, k): how far it belongs, 0..1.

    Attributes
    ----------
    member : float64
        By families, targets, neutrals and mixtures.
    excused : float64
        The part that a ruled-out family does not weigh on: what a target asks for by itself, and
        mid tones of woven cloth.
    """

    member: FloatArray
    excused: FloatArray


@dataclass(frozen=True, slots=True)
class Fit:
    """How far colours belong: with the ruled-out families out, and as if none were ruled out.

    Attributes
    ----------
    distances : float32, shape (targets, n, k)
        How far the target colours are, where it matters; infinite elsewhere.
    """

    member: Membership
    freely: Membership
    distances: NDArray[np.float32]


def membership(table: FabricTable, palette: Palette) -> Fit:
    """Say how far each colour of each fabric belongs to the palette."""
    by_family = _by_family(table, palette)
    barred = _barred(table, palette, table.near)
    distances = _target_distances(table, palette, np.where(barred, 0.0, by_family))
    freely = _combined(table, palette, by_family, distances)
    if not barred.any():
        return Fit(freely, freely, distances)
    member = _combined(table, palette, np.where(barred, 0.0, by_family), distances)
    return Fit(member, freely, distances)


def kindest_membership(
    table: FabricTable, palette: Palette, distances: NDArray[np.float32]
) -> Membership:
    """Say how far each colour can belong at the most, given the benefit of its error.

    ``distances`` to the target colours are those of ``membership``.
    """
    error = table.error[:, None]
    by_family = _by_family(table, palette, bits=table.possible, second=1.0, slack=error)
    by_family[_barred(table, palette, table.possible, kindly=True)] = 0.0
    slack = _slack(table)
    return _combined(table, palette, by_family, distances - slack.astype(np.float32))


def _slack(table: FabricTable) -> FloatArray:
    """Give the error of each colour as a distance: CIEDE2000 draws chroma together, HyAB not."""
    return table.error[:, None] * (1 + _CHROMA_PER_DE00 * chroma_of(table.lab))


def asked_for(table: FabricTable, palette: Palette) -> NDArray[np.bool_]:
    """Which fabrics belong by words that tell how strong or light they are, (n,).

    Those are target colours, families asked for as light, medium or dark, and white, cream and
    black: who asks for them is not surprised by them, whatever company they keep. Judgement.
    """
    asked = np.zeros(table.share.shape)
    for wanted in palette.families:
        if wanted.value or wanted.family in _FAMILIES_OF_ONE_VALUE:
            np.maximum(asked, _of_family(table, wanted, table.near, _SECOND_NAME, 0.0), out=asked)
    distances = _target_distances(table, palette, asked)
    np.maximum(asked, _by_targets(palette, distances, table.share.shape), out=asked)
    part = (table.weight * asked).sum(axis=1)
    return np.asarray(part >= 1 - palette.thresholds.outside_borderline, dtype=bool)


def echo(table: FabricTable, palette: Palette) -> FloatArray:
    """Give the part of what one sees of each fabric that is one of the target colours, (n,)."""
    distances = _target_distances(table, palette, np.zeros(table.share.shape))
    by_target = _by_targets(palette, distances, table.share.shape)
    return np.asarray((table.weight * by_target).sum(axis=1))


def _by_family(
    table: FabricTable,
    palette: Palette,
    *,
    bits: NDArray[np.uint16] | None = None,
    second: float = _SECOND_NAME,
    slack: FloatArray | float = 0.0,
) -> FloatArray:
    """Membership by the families asked for and by neutrals."""
    named = table.near if bits is None else bits
    member = np.zeros(table.share.shape)
    if not (palette.families or palette.targets):
        member[:] = 1.0  # only told what may not come in: anything else may
    for wanted in palette.families:
        np.maximum(member, _of_family(table, wanted, named, second, slack), out=member)
    if palette.neutrals:
        np.maximum(member, _neutral(table, palette, named, second), out=member)
    return member * within_extremes(table.lab, palette.not_too) if palette.not_too else member


def _of_family(
    table: FabricTable,
    wanted: WantedFamily,
    bits: NDArray[np.uint16],
    second: float,
    slack: FloatArray | float,
) -> FloatArray:
    found: FloatArray = np.where((bits & np.uint16(bits_of([wanted.family]))) != 0, second, 0.0)
    found[table.first == FAMILIES.index(wanted.family)] = 1.0
    if wanted.value:
        found *= tone_member(table.lab, wanted.value, slack)
    return found


def _neutral(
    table: FabricTable, palette: Palette, bits: NDArray[np.uint16], second: float
) -> FloatArray:
    """Membership of white, grey, black, cream and tan: not too golden, not darker than the darks.

    A black that joins a palette of pale roses is no quiet ground but the loudest thing there.
    """
    neutral = np.uint16(bits_of(NEUTRALS))
    found: FloatArray = np.where((bits & neutral) != 0, second, 0.0)
    found[(np.uint16(1) << table.first.astype(np.uint16)) & neutral != 0] = 1.0
    found[chroma_of(table.lab) > palette.thresholds.tan_chroma] = 0.0
    below = _darkest_asked(palette) - table.lab[..., 0]
    return found * np.clip(1 - below / _NEUTRAL_SLOPE, 0.0, 1.0)


def _darkest_asked(palette: Palette) -> float:
    """Give L* of the darks of what the palette asks for; 0 where any dark may be."""
    darks = [
        _DARKS_OF_TONE.get(wanted.value, 0.0)
        if wanted.value
        else _DARKS_OF_FAMILY.get(wanted.family, 0.0)
        for wanted in palette.families
    ]
    return min([*darks, *(target.lab[0] for target in palette.targets)], default=0.0)


def _barred(
    table: FabricTable, palette: Palette, bits: NDArray[np.uint16], *, kindly: bool = False
) -> NDArray[np.bool_]:
    """Which colours are ruled out by every name that applies: as a family, or as a shade."""
    out = np.uint16(bits_of(palette.without))
    barred = (bits & ~out) == 0
    if palette.avoided:
        barred |= barred_shades(table, palette, kindly=kindly)[0]
    return np.asarray((table.share > 0) & barred)


def barred_shades(
    table: FabricTable, palette: Palette, *, kindly: bool = False
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Which colours (n, k) are a shade that is ruled out, and which are that or near it.

    A single colour rules out what would fully belong to it were it asked for, and comes near
    halfway to where that ends; a tone of a family what is wholly of that tone. ``kindly``
    gives every colour the benefit of its error.
    """
    limits = palette.thresholds
    middle = (limits.target_full + limits.target_none) / 2
    slack = _slack(table) if kindly else np.zeros(table.share.shape)
    chroma = chroma_of(table.lab).astype(np.float32)
    surely, perhaps = (np.zeros(table.share.shape, dtype=bool) for _ in range(2))
    for shade in palette.avoided:
        if isinstance(shade, WantedFamily):
            first = table.first == FAMILIES.index(shade.family)
            of_tone = tone_member(table.lab, shade.value, -slack)
            surely |= first & (of_tone >= 1)
            perhaps |= first & (of_tone > 0)
        else:
            wanted = np.array(shade.lab, dtype=np.float32)
            apart = _apart(table.lab.astype(np.float32), chroma, wanted) + slack
            surely |= apart <= limits.target_full
            perhaps |= apart <= middle
    return surely, perhaps


def _target_distances(
    table: FabricTable, palette: Palette, member: FloatArray
) -> NDArray[np.float32]:
    """Give the distances to the targets where they can matter.

    A colour that belongs by its family gains nothing by a target, unless it is ruled out.
    """
    out = np.uint16(bits_of(palette.without))
    asked = (table.share > 0) & ((member < 1) | ((table.near & out) != 0))
    distances = np.full((len(palette.targets), *table.share.shape), np.inf, dtype=np.float32)
    if palette.targets and asked.any():
        lab = table.lab[asked].astype(np.float32)
        chroma = np.sqrt(lab[:, 1] ** 2 + lab[:, 2] ** 2)
        for place, target in enumerate(palette.targets):
            wanted = np.array(target.lab, dtype=np.float32)
            distances[place][asked] = _apart(lab, chroma, wanted)
    return distances


def _apart(
    lab: NDArray[np.float32], chroma: NDArray[np.float32], wanted: NDArray[np.float32]
) -> NDArray[np.float32]:
    """HyAB from a colour asked for, with its difference of chroma and hue weighed apart."""
    stronger = chroma - np.float32(np.hypot(wanted[1], wanted[2]))
    plane = (lab[..., 1] - wanted[1]) ** 2 + (lab[..., 2] - wanted[2]) ** 2
    hue = np.maximum(plane - stronger**2, 0)
    counts = np.where(stronger > 0, np.float32(_STRONGER_COUNTS), np.float32(_DULLER_COUNTS))
    lightness = np.float32(_LIGHTNESS_COUNTS) * np.abs(lab[..., 0] - wanted[0])
    return np.asarray(lightness + np.sqrt((counts * stronger) ** 2 + hue), dtype=np.float32)


def _by_targets(
    palette: Palette, distances: NDArray[np.float32], shape: tuple[int, ...]
) -> FloatArray:
    limits = palette.thresholds
    width = max(limits.target_none - limits.target_full, 1e-6)
    nearest = distances.min(axis=0) if len(distances) else np.full(shape, np.inf)
    return np.clip((limits.target_none - nearest) / width, 0.0, 1.0).astype(np.float64)


def _combined(
    table: FabricTable, palette: Palette, by_family: FloatArray, distances: NDArray[np.float32]
) -> Membership:
    by_target = _by_targets(palette, distances, table.share.shape)
    member = np.maximum(by_family, by_target)
    member[table.share == 0] = 0.0
    mixed = _mixture_member(table, member, palette)
    excused = np.where(table.woven[:, None], np.maximum(by_target, mixed), by_target)
    return Membership(np.maximum(member, mixed), excused)


def _mixture_member(table: FabricTable, member: FloatArray, palette: Palette) -> FloatArray:
    """Count the mid tone that two member colours of one cloth mix to, as in a gingham."""
    limits = palette.thresholds
    mixed = np.zeros(member.shape)
    present = table.share > 0
    some, odd = present & (member > 0), present & (member < 1)
    rows = np.flatnonzero((some.sum(axis=1) >= 2) & odd.any(axis=1) & (present.sum(axis=1) >= 3))
    if not len(rows):
        return mixed
    one, other = pairs_of_colours(member.shape[1])
    both = np.minimum(member[rows][:, one], member[rows][:, other])
    reach = np.where(table.woven[rows], _WOVEN_REACH, 1.0)[:, None, None]
    width = max(limits.mix_none - limits.mix_full, 1e-6)
    near = np.clip((limits.mix_none - table.mixed[rows] / reach) / width, 0.0, 1.0)
    mixed[rows] = (near * both[:, :, None]).max(axis=1)
    mixed[~odd] = 0.0
    return mixed
