"""What goes with chosen cloth: what echoes it, and what a quilt of it would still want."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.colour.appearance import Appearance
from stash.colour.eye import voices
from stash.colour.fabric_table import FabricColours, FabricTable, table_of
from stash.colour.naming import value_word
from stash.colour.palette import Palette, palette_of_appearances
from stash.colour.palette_fit import echo
from stash.colour.verdict import judge_table

__all__ = ["Companions", "Wanting", "going_with"]

_ACCENT_VOICE, _CALM_VOICE = 30.0, 12.0  # as in eye.voices; judgement
_PROPOSED = 3
_LEAST_ECHO = 0.05  # judgement: a thread or two


@dataclass(frozen=True, slots=True)
class Wanting:
    """Something the chosen cloth lacks, and the fabrics that would bring it, the best first."""

    what: str
    fabrics: tuple[int, ...]


@dataclass(frozen=True)
class Companions:
    """What goes with chosen cloth.

    Neutrals that a quilt takes besides are among the fabrics though they echo nothing.

    Attributes
    ----------
    palette : Palette
        Of the chosen cloth's own colours.
    fabrics : tuple of int
        Fabrics that belong, those that echo it most first.
    echoes : tuple of float
        For each, what part of what one sees of it is one of those colours, 0..1.
    wanting : tuple of Wanting
        A value, an accent or a calm one that the chosen cloth lacks.
    """

    palette: Palette
    fabrics: tuple[int, ...]
    echoes: tuple[float, ...]
    wanting: tuple[Wanting, ...]

    def echoing(self) -> list[tuple[int, float]]:
        """Give the fabrics that do echo the chosen cloth, each with its echo."""
        both = zip(self.fabrics, self.echoes, strict=True)
        return [(fabric, echo) for fabric, echo in both if echo >= _LEAST_ECHO]


def going_with(chosen: Sequence[Appearance], stash: FabricTable) -> Companions:
    """Rank fabrics by how they echo chosen cloth, and say what would still be wanted.

    Parameters
    ----------
    chosen : sequence of Appearance
        A focus cloth, some scraps, or what a photo shows.
    stash : FabricTable
        The fabrics to choose from, without the chosen ones.
    """
    palette = palette_of_appearances("chosen", chosen)
    judged = judge_table(stash, palette)
    belongs = np.flatnonzero(judged.grade == 0)
    echoed = echo(stash, palette)
    best = belongs[np.lexsort((stash.fabric[belongs], -echoed[belongs].round(3)))]
    return Companions(
        palette,
        tuple(stash.fabric[best].tolist()),
        tuple(echoed[best].tolist()),
        tuple(_wanting(chosen, stash, best)),
    )


def _wanting(
    chosen: Sequence[Appearance], stash: FabricTable, best: NDArray[np.intp]
) -> list[Wanting]:
    own = table_of([FabricColours(row, look) for row, look in enumerate(chosen)])
    voice = voices(own.lab, own.share)
    its_voice = voices(stash.lab, stash.share)
    words = np.array([value_word(at) for at in stash.lightness.tolist()])
    lacking = [
        (f"a {value} one", words == value)
        for value in ("light", "medium", "dark")
        if value not in {value_word(at) for at in own.lightness.tolist()}
    ]
    if voice.max() < _ACCENT_VOICE:
        lacking.append(("an accent", its_voice >= _ACCENT_VOICE))
    if voice.min() > _CALM_VOICE:
        lacking.append(("a calm one", its_voice <= _CALM_VOICE))
    return [
        Wanting(what, tuple(stash.fabric[best[has[best]]][:_PROPOSED].tolist()))
        for what, has in lacking
    ]
