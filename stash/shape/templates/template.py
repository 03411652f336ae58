"""Templates: a finished shape, its seam allowance and the shape that is cut."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from stash.errors import TemplateError, UnitError
from stash.shape.plane.outline import Point, Ring
from stash.shape.templates.curve import (
    Arc,
    Line,
    Path,
    arc_steps,
    at_quarters,
    flattened,
    moved,
    offset,
)
from stash.shape.templates.family import LIBRARY, Family
from stash.shape.templates.own_shape import read_own_shape
from stash.units import format_inches, length_words, parse_length, parse_pair

__all__ = [
    "OWN_SHAPE",
    "Template",
    "families",
    "make_template",
    "meaning_of_size",
    "shape_called",
    "size_numbers",
    "template_of_file",
]

OWN_SHAPE = "own shape"

FLATTENING_ERROR_IN = 0.006  # well under a thread; keeps the search quick
ARC_EDGES = 11  # per quarter circle at least, so that small shapes are alike at every size
_DRAWN_ERROR_IN = 0.001


@dataclass(frozen=True)
class Template:
    """A shape to cut and the shape it has when sewn.

    Attributes
    ----------
    name : str
        For people: family and size, or the name of an own shape.
    family : str
        A name of `families`, or "own shape".
    size_in : float
        The finished size, as the family means it; the width of the cut for an own shape.
    cut : Ring
        The cut shape as a counter-clockwise polygon that contains the true shape; its origin
        is the centroid (library) or the file's own 0, 0.
    finished : Path
        The finished outline in true lines and arcs, same origin.
    cut_path : Path
        The cut outline in true lines and arcs, same origin.
    seam_allowance_in : float
        Added on every edge, or the widest where they differ.
    rotation_period_deg : float
        The turn after which the shape repeats.
    mirror_symmetric : bool
        Whether turning it over gives the same shape, perhaps turned.
    may_turn_over : bool
        Whether the piece may be cut face down; cloth has a right side, so usually not.
    height_in : float or None
        The second number of a size given as width x height.
    flattening_error_in : float
        How far `cut` may stand out beyond the true cut shape; 0 for straight edges.
    edge_allowances_in : tuple of float
        Where seam allowances differ: one for each segment of `finished`.
    """

    name: str
    family: str
    size_in: float
    cut: Ring
    finished: Path
    cut_path: Path
    seam_allowance_in: float
    rotation_period_deg: float = 360.0
    mirror_symmetric: bool = False
    may_turn_over: bool = False
    height_in: float | None = None
    flattening_error_in: float = 0.0
    edge_allowances_in: tuple[float, ...] = ()

    @property
    def allowances_in(self) -> float | tuple[float, ...]:
        """The seam allowance of every edge, or those of each, as `make_template` takes them."""
        return self.edge_allowances_in or self.seam_allowance_in

    def said(self, unit: str = "in") -> str:
        """The name for people, its size in the unit chosen; an own shape's name as it is."""
        size = self.name.removeprefix(f"{self.family} ")
        if size == self.name:
            return self.name
        numbers = [
            format_inches(float(one), step=16, unit=unit).removesuffix(" cm")
            for one in size.split(" x ")
        ]
        return f"{self.family} {' × '.join(numbers)} {unit}"

    def seam_words(self, unit: str = "in") -> str:
        """The seam allowance for people; several where the edges differ."""
        each = self.edge_allowances_in or (self.seam_allowance_in,)
        return ", ".join(length_words(one, unit=unit) for one in each)

    def finished_ring(self) -> Ring:
        """Give the finished outline as a polygon with its corners on the true path."""
        return flattened(self.finished, error_in=_DRAWN_ERROR_IN, outside=False)

    def cut_polygon(self) -> Polygon:
        """Give the cut shape for shapely."""
        return Polygon(self.cut)


def families() -> tuple[str, ...]:
    """Give the names of the library's shapes, simplest first."""
    return tuple(LIBRARY)


def shape_called(words: str) -> str:
    """Give a shape's name as the library writes it; what is none of the library's stays as it is.

    Examples
    --------
    >>> shape_called("Apple core")
    'apple-core'
    >>> shape_called("my kite")
    'my kite'
    """
    written = "-".join(words.lower().replace("_", " ").replace("-", " ").split())
    return written if written in LIBRARY else words


def meaning_of_size(family: str) -> str:
    """Say what the finished size of a family measures.

    Examples
    --------
    >>> meaning_of_size("hexagon")
    'side'
    """
    return _family(family).meaning


def size_numbers(family: str, size: str | float) -> tuple[float, float]:
    """Read a finished size as width and height, inches.

    Raises
    ------
    TemplateError
        If the family is unknown, or the size is nothing, endless or not a size.

    Examples
    --------
    >>> size_numbers("tumbler", 4.0), size_numbers("rectangle", "2 1/2 x 4 1/2")
    ((4.0, 4.0), (2.5, 4.5))
    """
    known = _family(family)
    numbers = [float(size)] if isinstance(size, (int, float)) else _read(known, size)
    if any(not (math.isfinite(number) and number > 0) for number in numbers):
        raise TemplateError(f"{_a(family)} of size {size} cannot be cut; give a size above zero.")
    if max(numbers) > 200:
        raise TemplateError(
            f"{_a(family)} of size {size} in is larger than any quilt; give inches."
        )
    width = numbers[0]
    return (width, numbers[1] if len(numbers) == 2 else known.height_of(width))


def make_template(
    family: str, size: str | float, *, seam_allowance_in: float | Sequence[float] = 0.25
) -> Template:
    """Make a library template from its finished size.

    Parameters
    ----------
    family : str
        One of `families`.
    size : str or float
        Finished size in inches, see `meaning_of_size`; ``W x H`` for rectangle, tumbler, wedge.
    seam_allowance_in : float or sequence of float
        Added on every edge, inches; or one for each edge, counter-clockwise in the order of
        ``Template.finished`` (0 for an edge that is not sewn).

    Raises
    ------
    TemplateError
        If the family is unknown, the sizes make no shape, or the allowances are not one for each
        edge.

    References
    ----------
    Allowances with sharp corners: computed geometry; agrees with S9 to S14 of docs/sources.md.

    Examples
    --------
    >>> template = make_template("square", 4.5)
    >>> template.cut_polygon().area
    25.0
    """
    width_in, height_in = size_numbers(family, size)
    known = _family(family)
    finished = known.path(width_in, height_in)
    allowances = _allowances(known, seam_allowance_in, edges=len(finished))
    widest, even = max(allowances), len(set(allowances)) == 1
    cut_path = _cut_path(known, finished, allowances)
    curved = any(isinstance(segment, Arc) for segment in cut_path)
    parts = at_quarters(cut_path)
    steps = arc_steps(parts, error_in=FLATTENING_ERROR_IN, per_quarter=ARC_EDGES)
    ring = flattened(parts, error_in=FLATTENING_ERROR_IN, outside=True, steps=steps)
    shape = Polygon(ring)
    if not shape.is_valid:
        raise TemplateError(_too_small(family, widest))
    x, y = shape.centroid.x, shape.centroid.y
    same = known.two_numbers and family == "rectangle" and math.isclose(width_in, height_in)
    return Template(
        name=f"{family} {_size_text(known, width_in, height_in)}",
        family=family,
        size_in=width_in,
        cut=tuple((px - x, py - y) for px, py in ring),
        finished=moved(finished, -x, -y),
        cut_path=moved(cut_path, -x, -y),
        seam_allowance_in=widest,
        # Allowances that differ take away what the finished shape looks alike in.
        rotation_period_deg=(90.0 if same else known.period_deg) if even else 360.0,
        mirror_symmetric=known.mirror_symmetric and even,
        height_in=height_in if known.two_numbers else None,
        flattening_error_in=FLATTENING_ERROR_IN if curved else 0.0,
        edge_allowances_in=() if even else allowances,
    )


def _family(name: str) -> Family:
    if name not in LIBRARY:
        raise TemplateError(
            f"There is no shape “{name}”; the shapes are {', '.join(LIBRARY)}, "
            "or a file that ends in .json or .svg."
        )
    return LIBRARY[name]


def _read(family: Family, size: str) -> list[float]:
    parts = re.split(r"[x×*]", size.lower())
    if len(parts) > (2 if family.two_numbers else 1):
        raise TemplateError(
            f"The size of a {family.name} is one number ({family.meaning}); “{size}” is not."
        )
    try:
        return [*parse_pair(size)] if len(parts) == 2 else [parse_length(size)]
    except UnitError:
        raise TemplateError(
            f"“{size}” is no size for a {family.name}; give its {family.meaning}."
        ) from None


def _a(shape: str) -> str:
    return f"{'An' if shape[:1] in 'aeio' else 'A'} {shape}"


def _allowances(
    family: Family, asked_in: float | Sequence[float], *, edges: int
) -> tuple[float, ...]:
    each = (asked_in,) * edges if isinstance(asked_in, (int, float)) else tuple(asked_in)
    if len(each) != edges:
        raise TemplateError(
            f"{_a(family.name)} has {edges} edges: give one seam allowance for all, or {edges}."
        )
    for one in each:
        if not (math.isfinite(one) and 0 <= one <= 2):
            raise TemplateError(
                f"A seam allowance of {one} in makes no sense; a usual one is 1/4 in."
            )
    return tuple(float(one) for one in each)


def _cut_path(family: Family, finished: Path, allowances_in: Sequence[float]) -> Path:
    if not any(allowances_in):
        return finished
    try:
        return offset(finished, allowances_in)
    except ValueError:
        raise TemplateError(_too_small(family.name, max(allowances_in))) from None


def _too_small(family: str, allowance_in: float) -> str:
    return (
        f"This {family} is too small for a seam allowance of {allowance_in:g} in; "
        "give a larger size or a narrower allowance."
    )


def _size_text(family: Family, width_in: float, height_in: float) -> str:
    if family.two_numbers and not math.isclose(height_in, family.height_of(width_in)):
        return f"{width_in:g} x {height_in:g}"
    return f"{width_in:g}"


def template_of_file(
    data: bytes, suffix: str, *, name: str = OWN_SHAPE, seam_allowance_in: float = 0.25
) -> Template:
    """Make a template of a quilter's own cut shape; its origin is the file's 0, 0.

    Parameters
    ----------
    data : bytes
        The file: ``{"cut": [[x, y], ...]}`` in inches, or an SVG drawing of one closed path.
    suffix : str
        ``.json`` or ``.svg``.
    name : str
        What to call it.
    seam_allowance_in : float
        Already part of the cut shape; taken off to give the finished shape.

    Raises
    ------
    TemplateError
        If the file is not one plain shape.
    """
    own = read_own_shape(data, suffix)
    shape = Polygon(own.ring)
    inner = shape.buffer(-seam_allowance_in, join_style="mitre", mitre_limit=20)
    sewn = isinstance(inner, Polygon) and not inner.is_empty
    finished = orient(inner).exterior.coords[:-1] if sewn else own.ring
    west, _, east, _ = shape.bounds
    return Template(
        name=name,
        family=OWN_SHAPE,
        size_in=east - west,
        cut=own.ring,
        finished=_straight([(float(x), float(y)) for x, y in finished]),
        cut_path=_straight(list(own.ring)),
        seam_allowance_in=seam_allowance_in if sewn else 0.0,
        rotation_period_deg=_period_deg(shape),
        mirror_symmetric=_mirrors(shape),
        flattening_error_in=own.error_in,
    )


def _straight(corners: list[Point]) -> Path:
    return tuple(Line(corner, corners[(k + 1) % len(corners)]) for k, corner in enumerate(corners))


def _period_deg(shape: Polygon) -> float:
    if len(shape.exterior.coords) > 200:
        return 360.0
    for times in (8, 6, 5, 4, 3, 2):
        if _same(shape, affinity.rotate(shape, 360 / times, origin=shape.centroid)):
            return 360 / times
    return 360.0


def _mirrors(shape: Polygon) -> bool:
    """Say whether the shape turned over is the shape again, in some turn."""
    corners = list(shape.exterior.coords[:-1])
    if len(corners) > 100:
        return False
    centre = shape.centroid
    flipped = affinity.scale(shape, 1, -1, origin=centre)
    first = math.atan2(-(corners[0][1] - centre.y), corners[0][0] - centre.x)
    reach = math.dist(corners[0], (centre.x, centre.y))
    turns = [
        math.degrees(math.atan2(y - centre.y, x - centre.x) - first)
        for x, y in corners
        if abs(math.dist((x, y), (centre.x, centre.y)) - reach) < 1e-6
    ]
    return any(_same(shape, affinity.rotate(flipped, turn, origin=centre)) for turn in turns)


def _same(one: Polygon, other: Polygon) -> bool:
    return bool(one.symmetric_difference(other).area < 1e-6 * one.area)
