"""What is left after cutting: strips, ells, triangles, bites and crumbs, in inches."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

import numpy as np
from shapely.geometry import Point, Polygon, box

__all__ = ["LEFTOVERS", "cut_leftover"]


def cut_leftover(kind: str, size_in: float, *, rng: np.random.Generator) -> Polygon:
    """Cut a leftover of a kind, centred on its box's middle, about ``size_in`` long.

    Raises
    ------
    ValueError
        If the kind is none of ``LEFTOVERS``.

    Examples
    --------
    >>> cut_leftover("square", 5.0, rng=np.random.default_rng(1)).area
    25.0
    """
    if kind not in LEFTOVERS:
        raise ValueError(f"kind must be one of {sorted(LEFTOVERS)}, got {kind!r}")
    shape = LEFTOVERS[kind](size_in, rng)
    low_x, low_y, high_x, high_y = shape.bounds
    corner = np.array([(low_x + high_x) / 2, (low_y + high_y) / 2])
    return Polygon(
        np.asarray(shape.exterior.coords) - corner,
        [np.asarray(ring.coords) - corner for ring in shape.interiors],
    )


def _square(size_in: float, rng: np.random.Generator) -> Polygon:
    del rng
    return box(0, 0, size_in, size_in)


def _rectangle(size_in: float, rng: np.random.Generator) -> Polygon:
    return box(0, 0, size_in, size_in * rng.uniform(0.55, 0.9))


def _strip(size_in: float, rng: np.random.Generator) -> Polygon:
    width = size_in * rng.uniform(0.22, 0.32)
    lean = rng.uniform(-0.12, 0.12) * size_in
    return Polygon([(0, 0), (size_in, 0), (size_in + lean, width), (lean, width)])


def _triangle(size_in: float, rng: np.random.Generator) -> Polygon:
    return Polygon([(0, 0), (size_in, 0), (size_in * rng.uniform(0.1, 0.9), size_in * 0.8)])


def _ell(size_in: float, rng: np.random.Generator) -> Polygon:
    a, b = size_in * rng.uniform(0.35, 0.6, 2)
    s = size_in
    return Polygon([(0, 0), (s, 0), (s, b), (a, b), (a, s), (0, s)])


def _chopped(size_in: float, rng: np.random.Generator) -> Polygon:
    height, cut = size_in * rng.uniform(0.6, 0.9), size_in * rng.uniform(0.2, 0.4)
    return Polygon(
        [(0, 0), (size_in, 0), (size_in, height - cut), (size_in - cut, height), (0, height)]
    )


def _bite(size_in: float, rng: np.random.Generator) -> Polygon:
    whole = box(0, 0, size_in, size_in * 0.75)
    middle = Point(size_in * rng.uniform(0.3, 0.7), size_in * 0.75)
    return Polygon(whole.difference(middle.buffer(size_in * 0.22, quad_segs=24)).exterior)


def _window(size_in: float, rng: np.random.Generator) -> Polygon:
    """A piece with a hole cut out of its middle, the backing showing through."""
    whole = box(0, 0, size_in, size_in * 0.85)
    middle = Point(size_in * rng.uniform(0.4, 0.6), size_in * 0.42)
    return Polygon(whole.difference(middle.buffer(size_in * 0.16, quad_segs=24)))


def _crumb(size_in: float, rng: np.random.Generator) -> Polygon:
    """Five to nine corners at uneven distances round a middle; may have a nick."""
    corners = int(rng.integers(5, 10))
    angles = np.sort((np.arange(corners) + rng.uniform(-0.3, 0.3, corners)) * 2 * np.pi / corners)
    radii = rng.uniform(0.3, 0.55, corners) * size_in
    if corners > 6:
        radii[int(rng.integers(corners))] *= 0.6
    return Polygon(np.stack([radii * np.cos(angles), radii * np.sin(angles)], axis=1))


LEFTOVERS: Mapping[str, Callable[[float, np.random.Generator], Polygon]] = MappingProxyType(
    {
        "square": _square,
        "rectangle": _rectangle,
        "strip": _strip,
        "triangle": _triangle,
        "ell": _ell,
        "chopped": _chopped,
        "bite": _bite,
        "window": _window,
        "crumb": _crumb,
    }
)
