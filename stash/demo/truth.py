"""What is true of a rendered scene: outlines in the card's frame, colours, where the card lies."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from stash.colour.appearance import PrintKind
from stash.colour.spaces import FloatArray, Lab
from stash.shape.plane.outline import Ring

__all__ = ["SceneTruth", "ScrapTruth"]


@dataclass(frozen=True)
class ScrapTruth:
    """One scrap as it was laid down.

    Attributes
    ----------
    fabric, leftover : str
        Name of the fabric and kind of leftover.
    print_kind : PrintKind
        How the fabric is figured.
    points, holes
        What is seen of it, inches in the card's frame.
    reads_as : Lab
        Mean of its reflectance in linear light as CIELAB, white D65; a selvage left out.
    cut_off : bool
        Whether the photo's border cuts it.
    thread_deg : float
        Direction of the threads along its lower side, where a selvage is, in the card's frame.
    selvage : bool
        Whether there is one.
    lines_deg : float or None
        Direction of the stripes in the card's frame, or of one set of a plaid's; 0..180.
    """

    fabric: str
    leftover: str
    print_kind: PrintKind
    points: Ring
    holes: tuple[Ring, ...]
    reads_as: Lab
    cut_off: bool = False
    lines_deg: float | None = None
    thread_deg: float = 0.0
    selvage: bool = False

    @property
    def polygon(self) -> Polygon:
        """The shape for shapely."""
        return Polygon(self.points, self.holes)


@dataclass(frozen=True)
class SceneTruth:
    """Everything a test may want to know of a scene.

    Attributes
    ----------
    scraps : tuple of ScrapTruth
        In the order they were laid down.
    backing, light : str
        Their names.
    pitch_in : float
        Inches between patch centres of the 24-patch chart.
    patches_px : float64, shape (24, 2)
        Where the patch centres fall in the photo, row by row.
    image_from_card : float64, shape (3, 3)
        Card-frame inches to pixels, before the lens bends them by ``k1``.
    k1 : float
        Radial term of the lens, see ``stash.demo.lens``.
    """

    scraps: tuple[ScrapTruth, ...]
    backing: str
    light: str
    pitch_in: float
    patches_px: FloatArray
    image_from_card: FloatArray
    k1: float

    def as_json(self) -> dict[str, object]:
        """Write the truth in plain JSON values, inches to four decimals."""
        return {
            "frame": "inches; origin at the card's centre, x along its long side, "
            "y away from the neutral row",
            "backing": self.backing,
            "light": self.light,
            "card": {"kind": "chart24", "pitch_in": self.pitch_in},
            "patches_px": np.round(self.patches_px, 2).tolist(),
            "image_from_card": self.image_from_card.tolist(),
            "k1": self.k1,
            "scraps": [_scrap_json(scrap) for scrap in self.scraps],
        }


def _scrap_json(scrap: ScrapTruth) -> dict[str, object]:
    return {
        "fabric": scrap.fabric,
        "leftover": scrap.leftover,
        "kind": scrap.print_kind.value,
        "outline_in": _rounded(scrap.points),
        "holes_in": [_rounded(hole) for hole in scrap.holes],
        "area_sq_in": round(float(scrap.polygon.area), 3),
        "reads_as_lab": [round(value, 2) for value in scrap.reads_as],
        "cut_off": scrap.cut_off,
        "lines_deg": None if scrap.lines_deg is None else round(scrap.lines_deg, 2),
        "thread_deg": round(scrap.thread_deg, 2),
        "selvage": scrap.selvage,
    }


def _rounded(ring: Ring) -> list[list[float]]:
    return [[round(x, 4), round(y, 4)] for x, y in ring]
