"""The records everything talks about: a fabric, a scrap of it, the photo it was measured on."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from stash.colour.appearance import Appearance
from stash.shape.plane.outline import Outline

__all__ = [
    "SCAN",
    "CardReport",
    "Fabric",
    "LoggedPhoto",
    "PhotoView",
    "Picture",
    "Scrap",
    "ScrapState",
    "TwinWord",
]

SCAN = "scan"  # what a flatbed scan, which has no card, says instead of the card's kind


class ScrapState(StrEnum):
    """Where a scrap stands between the bin and the quilt."""

    WHOLE = "whole"
    RESERVED = "reserved"
    CUT_UP = "cut up"


class TwinWord(StrEnum):
    """What a person says of two scraps that look like one cloth."""

    SAME = "same"
    DIFFERENT = "different"
    NOT_SURE = "not sure"


@dataclass(frozen=True, slots=True)
class Picture:
    """A calibrated picture of a scrap, laid flat in the card's frame.

    Attributes
    ----------
    sha256 : str
        Name of the JPEG in the stash's picture folder.
    px_per_in : float
        Scale.
    left_in, top_in : float
        Card-frame inches of the picture's upper left corner: x runs right from it, y down to it.
    """

    sha256: str
    px_per_in: float
    left_in: float
    top_in: float


@dataclass(frozen=True, slots=True)
class Fabric:
    """One cloth in one colourway; a charm quilt uses it once."""

    number: int
    name: str = ""
    one_way: bool = False
    notes: str = ""


@dataclass(frozen=True, slots=True)
class Scrap:
    """A physical piece of a fabric."""

    number: int
    fabric: int
    outline: Outline
    appearance: Appearance
    place: str = ""
    washed: bool = False
    fibre: str = ""
    notes: str = ""
    grain_deg: float | None = None
    state: ScrapState = ScrapState.WHOLE
    photo: str | None = None
    picture: Picture | None = None


@dataclass(frozen=True, slots=True)
class CardReport:
    """How well the reference card of a photo could be read, CIEDE2000, leave-one-out.

    A flatbed scan has none: then the kind is ``SCAN``, and the errors are what is said of it.
    """

    kind: str
    error_de00: float
    error_worst_de00: float
    absolute: bool = True


@dataclass(frozen=True, slots=True)
class PhotoView:
    """Where the table lies in a photo: the card's inches to pixels, through the lens.

    Attributes
    ----------
    image_from_inches : tuple of 9 float
        Homography, row by row, to the pixels of a photo without lens distortion.
    middle_px : tuple of float
        Axis of the lens.
    radius_px, radial : float
        An undistorted pixel lies at 1 + radial * (r / radius)^2 times its distance from the middle.
    """

    image_from_inches: tuple[float, ...]
    middle_px: tuple[float, float]
    radius_px: float
    radial: float


@dataclass(frozen=True, slots=True)
class LoggedPhoto:
    """A photo kept in the stash, by the sha256 of its bytes."""

    sha256: str
    file_name: str
    card: CardReport
    warnings: tuple[str, ...] = ()
    view: PhotoView | None = None
