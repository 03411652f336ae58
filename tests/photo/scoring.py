"""Comparing measured scraps with the truth of a scene."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from stash.demo.lens import MadeLens
from stash.demo.scene import RenderedScene
from stash.demo.truth import SceneTruth, ScrapTruth
from stash.photo.inches.plane import Plane
from stash.shape.plane.outline import Outline

__all__ = ["Match", "match_scraps", "off_and_stated"]


@dataclass(frozen=True)
class Match:
    """A true scrap, the place of the measured one in the answer, and how far they differ."""

    truth: ScrapTruth
    index: int | None
    area_percent: float = 0.0
    edge_in: float = 0.0
    stated_in: float = 0.0


def match_scraps(truth: SceneTruth, outlines: Sequence[Outline]) -> tuple[list[Match], int]:
    """Match whole scraps of the truth with outlines; also count outlines that match none.

    A match shares at least half of its area with the truth (intersection over union).
    """
    shapes = [Polygon(outline.points, outline.holes) for outline in outlines]
    left = set(range(len(shapes)))
    matches = []
    for scrap in truth.scraps:
        if scrap.cut_off:
            continue
        best = max(left, key=lambda index: _shared(shapes[index], scrap.polygon), default=None)
        if best is None or _shared(shapes[best], scrap.polygon) < 0.5:
            matches.append(Match(scrap, None))
            continue
        left.discard(best)
        area = 100 * (shapes[best].area - scrap.polygon.area) / scrap.polygon.area
        edge = shapes[best].exterior.hausdorff_distance(scrap.polygon.exterior)
        matches.append(Match(scrap, best, area, edge, outlines[best].error_in))
    return matches, len(left)


def _shared(first: Polygon, second: Polygon) -> float:
    return float(first.intersection(second).area / first.union(second).area)


def off_and_stated(scene: RenderedScene, plane: Plane) -> tuple[np.ndarray, np.ndarray]:
    """Give a plane's true and stated errors all over the photo but its rim, inches."""
    height, width = scene.pixels_srgb.shape[:2]
    lens = MadeLens(scene.truth.image_from_card, (width, height), scene.truth.k1)
    across, down = np.linspace(150, width - 150, 9), np.linspace(150, height - 150, 7)
    px = np.stack(np.meshgrid(across, down), -1).reshape(-1, 2)
    true = lens.to_board(px)
    return np.hypot(*(plane.to_inches(px) - true).T), plane.error_in(true)
