"""The company a fabric keeps: one measure of how wild it is among others.

A palette, a quilt and scraps laid together are all asked by it. Loud is not wild: what the others
echo belongs to them. And where much is without an echo, as among scraps of every colour, no single
cloth stands out by having none.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.colour.eye import voices
from stash.colour.fabric_table import FabricTable
from stash.colour.spaces import FloatArray, chroma_of

__all__ = ["Company", "company_of"]

FEWEST = 3
# In a larger company any colour finds its echo; judgement, it also keeps the question quick.
_ECHO_UP_TO = 100
# HyAB, lightness half: echoed fully up to, not at all from; as near as a colour belongs to one
# asked for, and as far.
_ECHO_FULL, _ECHO_NONE, _LIGHTNESS_COUNTS = 14.0, 30.0, 0.5
# How much a difference of C*ab alone counts between colours of at least so much; judgement.
_STRENGTH_COUNTS, _HAS_A_HUE = 0.5, 20.0
_NEUTRAL_TELLS = 0.4  # a grey that nothing echoes jars less than a colour; judgement
_RESTLESS = 3.0  # where a third of the others' colours have no echo, nothing is wild (judgement)
# What counts as once more than the rest: root of share times C*ab, L*, L* between light and
# dark, doublings of the figure. Together at most so many times. Judgement.
_VOICE, _LIGHTNESS, _CONTRAST, _SCALE, _MOST = 20.0, 15.0, 25.0, 1.5, 3.0


@dataclass(frozen=True, slots=True)
class Company:
    """How each fabric stands out from the others, all arrays (n,).

    Attributes
    ----------
    wildness : float64
        Part without an echo, taken with how restless the rest are, times one and by how much it
        is louder, lighter, darker, more contrasting or larger in figure than all the rest.
    alone : float64
        Part of what the eye sees of it that nothing in the rest echoes.
    loneliest : intp
        Which of its colours has least of an echo for what it counts.
    beyond : float64, shape (n, 4)
        By how much it is beyond all the rest: voice, lightness, contrast, scale.
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
    told = np.clip(chroma_of(table.lab) / _HAS_A_HUE, _NEUTRAL_TELLS, 1.0)
    unechoed = table.weight * _far_from_the_rest(table) * told
    alone = unechoed.sum(axis=1)
    # Sorted first: a sum of the same numbers in another order may end otherwise in the last digit.
    restless = (np.sort(alone).sum() - alone) / (count - 1)
    beyond, lightest = _beyond(table)
    louder = np.clip(beyond.max(axis=1), 0.0, _MOST)
    return Company(
        wildness=alone * np.maximum(1 - _RESTLESS * restless, 0.0) * (1 + louder),
        alone=alone,
        loneliest=unechoed.argmax(axis=1),
        beyond=beyond,
        lightest=lightest,
    )


def _far_from_the_rest(table: FabricTable) -> FloatArray:
    """How far each colour (n, k) is from any echo in another fabric: 0 echoed, 1 not at all."""
    count, width = table.share.shape
    fabric, colour = np.nonzero(table.share > 0)
    lab = table.lab[fabric, colour].astype(np.float32)
    apart = _unlike(lab)
    apart[fabric[:, None] == fabric[None]] = np.inf
    far = np.zeros((count, width))
    nearest = apart.min(axis=1)
    far[fabric, colour] = np.clip((nearest - _ECHO_FULL) / (_ECHO_NONE - _ECHO_FULL), 0.0, 1.0)
    return far


def _unlike(lab: NDArray[np.float32]) -> NDArray[np.float32]:
    """HyAB of every two colours (m, m), strength counting less where both are of one hue.

    A bright blue among dull ones is a blue among blues; beside a grey it is the only blue.
    """
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    stronger = chroma[:, None] - chroma[None]
    plane = (lab[:, None, 1] - lab[None, :, 1]) ** 2 + (lab[:, None, 2] - lab[None, :, 2]) ** 2
    hue = np.maximum(plane - stronger**2, 0)
    both = np.minimum(np.minimum(chroma[:, None], chroma[None]) / _HAS_A_HUE, 1)
    counts = 1 - (1 - _STRENGTH_COUNTS) * both
    lightness = _LIGHTNESS_COUNTS * np.abs(lab[:, None, 0] - lab[None, :, 0])
    return np.asarray(lightness + np.sqrt((counts * stronger) ** 2 + hue), dtype=np.float32)


def _beyond(table: FabricTable) -> tuple[FloatArray, NDArray[np.bool_]]:
    """By how much each fabric is beyond the most of the rest, in steps that count as once."""
    voice = _above_the_rest(voices(table.lab, table.share)) / _VOICE
    contrast = _above_the_rest(table.contrast) / _CONTRAST
    known = np.isfinite(table.scale)
    scale = np.zeros(len(table))
    if known.sum() > FEWEST:
        scale[known] = _above_the_rest(table.scale[known]) / _SCALE
    lighter, darker = _above_the_rest(table.lightness), _above_the_rest(-table.lightness)
    # Black among black, white and grey is no surprise: the gap counts beside the others' span.
    span = np.array([np.ptp(np.delete(table.lightness, row)) for row in range(len(table))])
    lightness = np.maximum(lighter, darker) / np.maximum(_LIGHTNESS, span / 2)
    return np.column_stack([voice, lightness, contrast, scale]), lighter > darker


def _above_the_rest(values: FloatArray) -> FloatArray:
    """Give each value less the largest of the others."""
    ranked = np.sort(values)
    rest = np.where(values >= ranked[-1], ranked[-2], ranked[-1])
    return np.asarray(values - rest)
