"""How a shape is set in rows: where each piece lies, how it is turned, what the edge does.

A setting speaks of the shape in its upright position: a tumbler on its wide end, a triangle on
its long side, a hexagon on a point, a clamshell with its dome up. Coordinates are inches, y up,
row 0 on top; the lattice of every setting is plain geometry of its shape.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import atan2, ceil, cos, degrees, floor, pi, radians, sin, tan

from stash.errors import SettingError

__all__ = ["Cell", "Frame", "Setting", "setting_named", "settings_of"]


@dataclass(frozen=True, slots=True)
class Frame:
    """The measures of an upright finished shape, inches.

    Attributes
    ----------
    width, height : float
        Of the box round the shape.
    top : float
        Length of the flat top: a tumbler's narrow end; 0 for shapes that end in a point.
    lean : float
        How far the top of a leaning diamond lies to the right of its base.
    """

    width: float
    height: float
    top: float = 0.0
    lean: float = 0.0


@dataclass(frozen=True, slots=True)
class Cell:
    """A place for one piece.

    Attributes
    ----------
    row, number : int
        Row from the top and place in the row from the left; negative or beyond the last for the
        pieces that fill up a straight edge.
    x, y : float
        Centre of the box round the upright shape, before it is turned about that centre.
    turn_deg : float
        Counter-clockwise turn from upright.
    """

    row: int
    number: int
    x: float
    y: float
    turn_deg: float = 0.0


Place = Callable[[Frame, int, int], Cell]
Box = tuple[float, float, float, float]  # left, bottom, right, top
Window = Callable[[Frame, int, int], Box]


@dataclass(frozen=True)
class Setting:
    """One way to set a shape in rows.

    Attributes
    ----------
    family, name : str
        The template family and the trade name of the setting.
    place : callable
        Frame, row and number to `Cell`, defined for all whole numbers: the whole plane.
    window : callable or None
        The box (left, bottom, right, top) of a straight-edged top; None when the setting has
        no straight edge.
    edge : str
        What a straight edge does to the pieces on it, in words.
    meets : bool
        Whether corners meet corners, so that every seam is one whole edge of two pieces.
    group : int
        Pieces per row come in multiples of this.
    upright : str
        Which position of the shape counts as upright (see `stash.quilt.pattern`).
    """

    family: str
    name: str
    place: Place
    window: Window | None
    edge: str = ""
    meets: bool = True
    group: int = 1
    upright: str = "box"

    def cells(self, frame: Frame, rows: int, across: int, *, straight: bool) -> Iterator[Cell]:
        """Give the cells of a top: whole pieces, and for a straight edge those that fill it up."""
        more = 2 * self.group if straight and self.window else 0
        for row in range(-more, rows + more):
            for number in range(-more, across + more):
                yield self.place(frame, row, number)

    def check(self, frame: Frame, rows: int, across: int) -> None:
        """Refuse counts that this setting does not have.

        Raises
        ------
        SettingError
            If there is no piece, the pieces do not come in whole groups, or a ring would go
            round more than once.
        """
        if rows < 1 or across < 1:
            raise SettingError("A quilt needs at least one row and one piece in it.")
        if across % self.group:
            fits = max(self.group, ceil(across / self.group) * self.group)
            raise SettingError(
                f"The {self.name} setting of the {self.family} comes in groups of "
                f"{self.group} pieces in a row; {across} does not divide. Take {fits} across."
            )
        if self.place is _ring and (rows > 1 or across > _full_turn(frame)):
            raise SettingError(
                f"A ring is one row of at most {_full_turn(frame)} of these wedges; "
                "take the interlocking setting for rows."
            )


def _full_turn(frame: Frame) -> int:
    """Give how many wedges close a ring."""
    return floor(pi / _half_angle(frame) + 1e-6)


def _half_angle(frame: Frame) -> float:
    return atan2((frame.width - frame.top) / 2, frame.height)


def _odd(row: int) -> int:
    return row % 2


def _grid(frame: Frame, row: int, number: int) -> Cell:
    return Cell(row, number, (number + 0.5) * frame.width, -(row + 0.5) * frame.height)


def _brick(frame: Frame, row: int, number: int) -> Cell:
    shift = 0.5 * frame.width * _odd(row)
    x = (number + 0.5) * frame.width + shift
    return Cell(row, number, x, -(row + 0.5) * frame.height)


def _half_squares(frame: Frame, row: int, number: int) -> Cell:
    square, second = divmod(number, 2)
    x, y = (square + 0.5) * frame.width, -(row + 0.5) * frame.height
    return Cell(row, number, x, y, 180.0 * second)


def _half_squares_turned(frame: Frame, row: int, number: int) -> Cell:
    square, second = divmod(number, 2)
    x, y = (square + 0.5) * frame.width, -(row + 0.5) * frame.height
    return Cell(row, number, x, y, 180.0 * second + 90.0 * ((row + square) % 2))


def _quarter_squares(frame: Frame, row: int, number: int) -> Cell:
    square, quarter = divmod(number, 4)
    side, turn = frame.width, 90.0 * quarter
    off = side / 2 - frame.height / 2
    x = (square + 0.5) * side + off * sin(radians(turn))
    y = -(row + 0.5) * side - off * cos(radians(turn))
    return Cell(row, number, x, y, turn)


def _interlocking(frame: Frame, row: int, number: int) -> Cell:
    pitch = (frame.width + frame.top) / 2
    x = frame.width / 2 + number * pitch
    return Cell(row, number, x, -(row + 0.5) * frame.height, 180.0 * ((row + number) % 2))


def _on_point(frame: Frame, row: int, number: int) -> Cell:
    x = (number + 0.5 + 0.5 * _odd(row)) * frame.width
    return Cell(row, number, x, -frame.height / 2 * (row + 1))


def _hexagons(frame: Frame, row: int, number: int) -> Cell:
    x = (number + 0.5 + 0.5 * _odd(row)) * frame.width
    return Cell(row, number, x, -frame.height / 2 - 0.75 * frame.height * row)


def _zigzag(frame: Frame, row: int, number: int) -> Cell:
    side = frame.width - frame.lean
    turn = 180.0 - degrees(atan2(frame.height, frame.lean)) if _odd(row) else 0.0
    x = frame.width / 2 + number * side
    return Cell(row, number, x, -(row + 0.5) * frame.height, turn)


def _apple_cores(frame: Frame, row: int, number: int) -> Cell:
    chord = frame.height  # corner to corner; the bulges stand out over it at the sides
    turn = 90.0 * ((row + number) % 2)
    return Cell(row, number, (number + 0.5) * chord, -(row + 0.5) * chord, turn)


def _ring(frame: Frame, row: int, number: int) -> Cell:
    """Lay wedges side by side round a centre, the narrow end inwards; there is one row."""
    half_angle = _half_angle(frame)
    reach = frame.height / 2 + frame.top / 2 / tan(half_angle)
    turn = 2 * half_angle * number
    return Cell(row, number, reach * sin(turn), reach * cos(turn), 180.0 - degrees(turn))


def _whole_box(frame: Frame, rows: int, across: int) -> Box:
    return (0.0, -rows * frame.height, across * frame.width, 0.0)


def _squares_box(pieces: int) -> Window:
    def window(frame: Frame, rows: int, across: int) -> Box:
        """Give the straight-edged part of so many rows and pieces."""
        side = frame.width
        return (0.0, -rows * side, across // pieces * side, 0.0)

    return window


def _triangles_box(frame: Frame, rows: int, across: int) -> Box:
    return (0.0, -rows * frame.height, (across + 1) * frame.width / 2, 0.0)


def _trimmed_box(frame: Frame, rows: int, across: int) -> Box:
    pitch = (frame.width + frame.top) / 2
    return ((frame.width - frame.top) / 2, -rows * frame.height, across * pitch, 0.0)


def _on_point_box(frame: Frame, rows: int, across: int) -> Box:
    return (0.0, -(rows + 1) * frame.height / 2, across * frame.width, 0.0)


def _hexagons_box(frame: Frame, rows: int, across: int) -> Box:
    high = frame.height
    return (0.0, -0.75 * high * rows, across * frame.width, -0.25 * high)


def _zigzag_box(frame: Frame, rows: int, across: int) -> Box:
    side = frame.width - frame.lean
    return (frame.lean, -rows * frame.height, across * side, 0.0)


def _apple_cores_box(frame: Frame, rows: int, across: int) -> Box:
    chord = frame.height
    hollow = (frame.width - chord) / 2
    return (hollow, -rows * chord + hollow, across * chord - hollow, -hollow)


_TRIMMED = "the sides are trimmed straight after sewing"
_HALVES = "half pieces fill up the sides"

_SETTINGS = (
    Setting("square", "straight", _grid, _whole_box, "nothing is trimmed"),
    Setting("square", "staggered", _brick, _whole_box, _HALVES, meets=False),
    Setting("rectangle", "straight", _grid, _whole_box, "nothing is trimmed"),
    Setting("rectangle", "staggered", _brick, _whole_box, _HALVES, meets=False),
    Setting(
        "half-square-triangle", "straight", _half_squares, _squares_box(2),
        "nothing is trimmed", group=2, upright="corner",
    ),
    Setting(
        "half-square-triangle", "alternating", _half_squares_turned, _squares_box(2),
        "nothing is trimmed", group=2, upright="corner",
    ),
    Setting(
        "quarter-square-triangle", "squares", _quarter_squares, _squares_box(4),
        "nothing is trimmed", group=4, upright="base",
    ),
    Setting(
        "quarter-square-triangle", "interlocking", _interlocking, _triangles_box, _HALVES,
        upright="base",
    ),
    Setting(
        "equilateral-triangle", "interlocking", _interlocking, _triangles_box, _HALVES,
        upright="base",
    ),
    Setting(
        "diamond-60", "on point", _on_point, _on_point_box,
        "half pieces fill up all four sides", upright="point",
    ),
    Setting("diamond-60", "zigzag", _zigzag, _zigzag_box, _TRIMMED, upright="lean"),
    Setting(
        "diamond-45", "on point", _on_point, _on_point_box,
        "half pieces fill up all four sides", upright="point",
    ),
    Setting("diamond-45", "zigzag", _zigzag, _zigzag_box, _TRIMMED, upright="lean"),
    Setting(
        "hexagon", "staggered", _hexagons, _hexagons_box,
        "half pieces fill up the sides; the points at top and bottom are trimmed", upright="point",
    ),
    Setting("tumbler", "interlocking", _interlocking, _trimmed_box, _TRIMMED, upright="base"),
    Setting("clamshell", "staggered", _on_point, _on_point_box,
            "half pieces fill up all four sides", upright="dome"),
    Setting("apple-core", "alternating", _apple_cores, _apple_cores_box,
            "all four sides are trimmed straight after sewing", upright="wide"),
    Setting("wedge", "interlocking", _interlocking, _trimmed_box, _TRIMMED, upright="base"),
    Setting("wedge", "ring", _ring, None, upright="base"),
)  # fmt: skip


def settings_of(family: str) -> tuple[Setting, ...]:
    """Give the settings of a template family, the usual one first.

    Raises
    ------
    SettingError
        If none is known: a shape of the quilter's own need not tile.
    """
    found = tuple(setting for setting in _SETTINGS if setting.family == family)
    if not found:
        known = ", ".join(dict.fromkeys(setting.family for setting in _SETTINGS))
        raise SettingError(
            f"I do not know how pieces of the shape “{family}” lie side by side. "
            f"Rows are known for: {known}."
        )
    return found


def setting_named(family: str, name: str | None = None) -> Setting:
    """Give one setting of a family, by name or the usual one; raises SettingError."""
    found = settings_of(family)
    if name is None:
        return found[0]
    for setting in found:
        if setting.name == name:
            return setting
    names = ", ".join(setting.name for setting in found)
    raise SettingError(f"The {family} has no setting “{name}”. It has: {names}.")
