"""The company a fabric keeps: one measure of how wild it is among others.

A palette, a quilt and scraps laid together are all asked by it. Loud is not wild: what the others
echo belongs to them, if they hold enough of it and it is not far louder than they are. And where
much is without an echo or of every hue, no single cloth stands out by having a hue of its own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.colour.eye import loudness
from stash.colour.fabric_table import FabricTable
from stash.colour.naming import FAMILIES
from stash.colour.spaces import FloatArray, chroma_of, even_hues

__all__ = ["Company", "company_of"]

FEWEST = 3
# In a larger company any colour finds its echo; judgement, it also keeps the question quick.
_ECHO_UP_TO = 100
# HyAB, lightness half: echoed fully up to, not at all from; as near as a colour belongs to one
# asked for, and as far.
_ECHO_FULL, _ECHO_NONE, _LIGHTNESS_COUNTS = 14.0, 30.0, 0.5
# An accent is echoed by an accent, a whole cloth not by a dot: what a colour counts to the eye
# needs this part of it in the rest (judgement).
_ECHO_HOLDS = 0.25
# Light and dark of one hue are a usual harmony: lightness counts less, up to so many radians off.
_LIGHTNESS_IN_A_HUE, _ONE_HUE = 0.4, np.radians(25.0)
# A difference of C*ab counts less among strong colours of one hue, as in CIE94 and CIEDE2000 (S_C =
# 1 + 0.045 C*ab); below the second, judgement, a colour is nearly grey and has no hue to share.
_STRENGTH_FADES, _HAS_A_HUE = 0.045, 20.0
# A grey that nothing echoes jars less than a colour, unless it is a black or a white: from the
# first L* between it and anything on the others it jars more, at the second as much; but so much
# of colour that the rest echoes ties a ground to them (parts of what one sees). Judgement.
_NEUTRAL_TELLS, _VALUE_TELLS, _TIES = 0.4, (20.0, 50.0), 0.25
_RESTLESS = 3.0  # where a third of the others' colours have no echo, nothing is wild (judgement)
# Among many hues one more is no surprise: every hue that the others hold beyond two takes so much
# from how a colour without an echo counts, down to the second. So far apart hues are two (radians).
# Judgement.
_A_HUE_CALMS, _STILL_TELLS, _UNLIKE_HUES = 0.9, 0.35, np.radians(60.0)
# What counts as once more than the rest: doublings of loudness, L*, L* between light and dark,
# doublings of the figure. Together at most so many times. Judgement.
_DOUBLINGS, _LIGHTNESS, _CONTRAST, _SCALE, _MOST = 1.0, 15.0, 25.0, 1.5, 3.0
# Quieter cloth than this is all equally quiet. From one doubling on beyond the loudest of the rest
# a cloth's echo fades, at two it has none: a hot pink is of another kind than soft ones. Judgement.
_QUIET, _ECHO_FADES = 25.0, (1.0, 2.0)


@dataclass(frozen=True, slots=True)
class Company:
    """How each fabric stands out from the others, all arrays (n,).

    Attributes
    ----------
    wildness : float64
        Part without an echo, taken with how restless the rest are, times how much of a surprise
        one more hue is there and by how much it is louder, lighter, darker, more contrasting or
        larger in figure than all the rest.
    alone : float64
        Part of what the eye sees of it that nothing in the rest echoes.
    loneliest : intp
        Which of its colours has least of an echo for what it counts.
    beyond : float64, shape (n, 4)
        By how much it is beyond all the rest: loudness, lightness, contrast, scale.
    lightest : bool
        Whether its lightness lies beyond the lightest rather than the darkest.
    """

    wildness: FloatArray
    alone: FloatArray
    loneliest: NDArray[np.intp]
    beyond: FloatArray
    lightest: NDArray[np.bool_]

    @classmethod
    def nobody(cls, count: int) -> Company:
        """Give a company of which nothing can be said."""
        return cls(
            np.zeros(count),
            np.zeros(count),
            np.zeros(count, dtype=np.intp),
            np.zeros((count, 4)),
            np.zeros(count, dtype=bool),
        )

    def spread(self, rows: NDArray[np.intp], count: int) -> Company:
        """Place what is known of some fabrics among ``count``; of the others nothing is said."""
        whole = Company.nobody(count)
        for mine, others in (
            (self.wildness, whole.wildness),
            (self.alone, whole.alone),
            (self.loneliest, whole.loneliest),
            (self.beyond, whole.beyond),
            (self.lightest, whole.lightest),
        ):
            others[rows] = mine
        return whole


def company_of(table: FabricTable) -> Company:
    """Compare every fabric with all the others of the table.

    Notes
    -----
    Below three fabrics there is no company, above a hundred every colour counts as echoed.
    """
    count = len(table)
    if not FEWEST <= count <= _ECHO_UP_TO:
        return Company.nobody(count)
    beyond, lightest = _beyond(table)
    begins, ends = _ECHO_FADES
    kept = 1 - np.clip((beyond[:, :1] - begins) / (ends - begins), 0.0, 1.0)
    echo, told = _echoes(table)
    unechoed = table.weight * (1 - kept * echo) * told
    alone = unechoed.sum(axis=1)
    # Sorted first: a sum of the same numbers in another order may end otherwise in the last digit.
    restless = (np.sort(alone).sum() - alone) / (count - 1)
    louder = np.clip(beyond.max(axis=1), 0.0, _MOST)
    surprise = np.maximum(1 - _A_HUE_CALMS * _many_hues(table), _STILL_TELLS)
    return Company(
        wildness=alone * np.maximum(1 - _RESTLESS * restless, 0.0) * (surprise + louder),
        alone=alone,
        loneliest=unechoed.argmax(axis=1),
        beyond=beyond,
        lightest=lightest,
    )


def _echoes(table: FabricTable) -> tuple[FloatArray, FloatArray]:
    """How far other fabrics echo each colour (n, k), and how much it tells where they do not.

    A colour is echoed as far as the nearest is like it, and as far as there is enough that is.
    """
    fabric, colour = np.nonzero(table.share > 0)
    lab = table.lab[fabric, colour].astype(np.float32)
    own = fabric[:, None] == fabric[None]
    alike = np.clip((_ECHO_NONE - _unlike(lab)) / (_ECHO_NONE - _ECHO_FULL), 0.0, 1.0)
    alike[own] = 0.0
    seen = table.weight[fabric, colour]
    # Rounded: the order of the fabrics must not show in the last digits of a sum.
    enough = np.round((alike @ seen) / (_ECHO_HOLDS * seen), 4)
    value = np.abs(lab[:, None, 0] - lab[None, :, 0])
    value[own] = np.inf
    begins, fully = _VALUE_TELLS
    echo, jump = np.zeros(table.share.shape), np.zeros(table.share.shape)
    echo[fabric, colour] = np.minimum(alike.max(axis=1), enough)
    jump[fabric, colour] = np.clip((value.min(axis=1) - begins) / (fully - begins), 0.0, 1.0)
    tan = table.first == FAMILIES.index("tan")
    colourful = np.where(tan, 0.0, np.minimum(chroma_of(table.lab) / _HAS_A_HUE, 1.0))
    tied = np.minimum((table.weight * echo * colourful).sum(axis=1) / _TIES, 1.0)
    neutral = _NEUTRAL_TELLS + (1 - _NEUTRAL_TELLS) * jump
    return echo, np.maximum(colourful, neutral * (1 - tied[:, None]))


def _unlike(lab: NDArray[np.float32]) -> NDArray[np.float32]:
    """HyAB of every two colours (m, m), strength and lightness counting less within one hue.

    A bright blue among dull ones is a blue among blues; beside a grey it is the only blue.
    """
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    felt = np.log1p(_STRENGTH_FADES * chroma) / _STRENGTH_FADES
    hue = even_hues(lab.astype(np.float64)).astype(np.float32)
    half_way = np.sin((hue[:, None] - hue[None]) / 2)  # never beyond a quarter turn
    plane = 4 * chroma[:, None] * chroma[None] * half_way**2
    both = np.minimum(np.minimum(chroma[:, None], chroma[None]) / _HAS_A_HUE, 1)
    strength = both * np.abs(felt[:, None] - felt[None])
    strength += (1 - both) * np.abs(chroma[:, None] - chroma[None])
    one_hue = both * np.maximum(1 - 2 * np.arcsin(np.abs(half_way)) / _ONE_HUE, 0)
    counts = _LIGHTNESS_COUNTS - (_LIGHTNESS_COUNTS - _LIGHTNESS_IN_A_HUE) * one_hue
    lightness = counts * np.abs(lab[:, None, 0] - lab[None, :, 0])
    return np.asarray(lightness + np.sqrt(strength**2 + plane), dtype=np.float32)


def _many_hues(table: FabricTable) -> FloatArray:
    """How many hues beyond two, as far as they are coloured, all the others hold, (n,).

    References
    ----------
    Leinster and Cobbold, "Measuring diversity: the importance of species similarity", Ecology
    2012: order 2, likeness falling off with the angle between two hues.
    """
    count = len(table)
    fabric, colour = np.nonzero(table.share > 0)
    lab = table.lab[fabric, colour]
    seen = table.weight[fabric, colour] * np.minimum(chroma_of(lab) / _HAS_A_HUE, 1.0)
    arrows = np.exp(1j * even_hues(lab))
    angle = np.abs(np.angle(arrows[:, None] * arrows[None].conj()))
    alike = np.maximum(1 - angle / _UNLIKE_HUES, 0) * seen[:, None] * seen[None]
    own = np.zeros((count, len(fabric)))
    own[fabric, np.arange(len(fabric))] = 1
    kin, whole = own @ alike @ own.T, own @ seen
    others = whole.sum() - whole
    likeness = kin.sum() - 2 * kin.sum(axis=1) + np.diag(kin)
    hues = others**2 / np.maximum(likeness, 1e-9)
    # Rounded: the order of the fabrics must not show in the last digits.
    beyond_two = np.maximum(hues - 2, 0) * others / (count - 1)
    return np.asarray(np.round(beyond_two, 6), dtype=np.float64)


def _beyond(table: FabricTable) -> tuple[FloatArray, NDArray[np.bool_]]:
    """By how much each fabric is beyond the most of the rest, in steps that count as once."""
    heard = np.log2(np.maximum(loudness(table.lab, table.share), _QUIET))
    louder = _above_the_rest(heard) / _DOUBLINGS
    contrast = _above_the_rest(table.contrast) / _CONTRAST
    known = np.isfinite(table.scale)
    scale = np.zeros(len(table))
    if known.sum() > FEWEST:
        scale[known] = _above_the_rest(table.scale[known]) / _SCALE
    lighter, darker = _above_the_rest(table.lightness), _above_the_rest(-table.lightness)
    # Black among black, white and grey is no surprise: the gap counts beside the others' span.
    span = np.array([np.ptp(np.delete(table.lightness, row)) for row in range(len(table))])
    lightness = np.maximum(lighter, darker) / np.maximum(_LIGHTNESS, span / 2)
    return np.column_stack([louder, lightness, contrast, scale]), lighter > darker


def _above_the_rest(values: FloatArray) -> FloatArray:
    """Give each value less the largest of the others."""
    ranked = np.sort(values)
    rest = np.where(values >= ranked[-1], ranked[-2], ranked[-1])
    return np.asarray(values - rest)
