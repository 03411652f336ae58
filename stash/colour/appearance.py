"""What a fabric looks like: the colour values every decision is made on."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from stash.colour.spaces import Lab

__all__ = ["WOVEN_KINDS", "Appearance", "ColourShare", "PrintKind"]


class PrintKind(StrEnum):
    """How the cloth is figured."""

    PLAIN = "plain"
    TONE = "tone-on-tone"
    PRINT = "print"
    STRIPE = "stripe"
    PLAID = "plaid"


# Kinds whose crossing or neighbouring threads mix to tones that nobody dyed.
WOVEN_KINDS = frozenset({PrintKind.STRIPE, PrintKind.PLAID})


@dataclass(frozen=True, slots=True)
class ColourShare:
    """One dominant colour (CIELAB, white D65) and the share of the area it covers, 0..1."""

    lab: Lab
    share: float


@dataclass(frozen=True, slots=True)
class Appearance:
    """A fabric as the eye takes it.

    Attributes
    ----------
    reads_as : Lab
        What it looks like from across the room: mean in linear light, CIELAB, white D65.
    colours : tuple of ColourShare
        Up to six dominant colours, largest share first; the shares add up to 1.
    value_contrast : float
        P90 - P10 of L*.
    mean_chroma : float
        Share-weighted mean of C*ab.
    direction_deg : float or None
        Direction of a stripe's lines, degrees counter-clockwise from x in the card's frame, 0..180.
    selvage_deg : float or None
        Direction of a selvage seen along an edge, degrees counter-clockwise from x, 0..180.
    repeat_in : float or None
        Length of the print's repeat, inches.
    repeat_sure : bool
        Whether enough repeats are in view to trust ``repeat_in``.
    error_de00 : float
        Expected error of the colours, CIEDE2000.
    absolute : bool
        False when the card's own colours are not known: colours of such photos agree among
        themselves, not with the world.
    """

    reads_as: Lab
    colours: tuple[ColourShare, ...]
    kind: PrintKind
    value_contrast: float = 0.0
    mean_chroma: float = 0.0
    direction_deg: float | None = None
    repeat_in: float | None = None
    repeat_sure: bool = False
    error_de00: float = 0.0
    absolute: bool = True
    selvage_deg: float | None = None
