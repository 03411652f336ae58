"""Reference cards: what is printed on them, and one found in a photo.

The card's frame is the one frame of everything measured: inches on the table seen from above,
origin at the centre of the patches, x along the long side from the dark-skin patch towards the
bluish-green patch, y away from the neutral row (so y runs up a card that lies upright).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray
from stash.errors import CalibrationError
from stash.photo.cards.chart_values import AVERAGE, PUBLISHED, published_linear

__all__ = [
    "CHART24_LINEAR",
    "CHART24_NAMES",
    "SHEET_KINDS",
    "Card",
    "FoundCard",
    "card_of",
    "chart24",
    "sheet_card",
]

_COLUMNS, _ROWS = 6, 4
_NEUTRALS = (18, 19, 20, 21, 22, 23)

# Average measured reflectances of 24-patch charts (dataset shipped in colour-science) under
# D65, 2 degree observer: linear sRGB, not clipped. Recomputed in tests/photo/test_card.py.
_CHART24 = (
    ("dark skin", 0.17248, 0.08376, 0.05758),
    ("light skin", 0.54798, 0.29848, 0.21712),
    ("blue sky", 0.11017, 0.19674, 0.33618),
    ("foliage", 0.10378, 0.15022, 0.05211),
    ("blue flower", 0.22410, 0.21777, 0.43063),
    ("bluish green", 0.12289, 0.51886, 0.40485),
    ("orange", 0.71717, 0.19903, 0.02708),
    ("purplish blue", 0.06451, 0.10631, 0.39298),
    ("moderate red", 0.54181, 0.08841, 0.12031),
    ("purple", 0.10356, 0.04393, 0.13960),
    ("yellow green", 0.35464, 0.50771, 0.04818),
    ("orange yellow", 0.78088, 0.35404, 0.02141),
    ("blue", 0.02330, 0.04918, 0.29209),
    ("green", 0.06514, 0.30176, 0.06451),
    ("red", 0.42893, 0.03206, 0.04017),
    ("yellow", 0.85716, 0.57526, 0.00772),
    ("magenta", 0.50266, 0.08910, 0.30567),
    ("cyan", -0.02883, 0.24886, 0.38351),
    ("white", 0.91647, 0.91527, 0.87140),
    ("neutral 8", 0.58204, 0.59100, 0.58448),
    ("neutral 6.5", 0.35531, 0.36089, 0.35925),
    ("neutral 5", 0.18761, 0.19233, 0.19187),
    ("neutral 3.5", 0.08708, 0.09006, 0.09088),
    ("black", 0.03207, 0.03193, 0.03260),
)
SHEET_KINDS = ("a4", "letter", "bank-card")
CHART24_NAMES = tuple(name for name, *_ in _CHART24)
CHART24_LINEAR = np.array([values for _, *values in _CHART24])
_CENTRES = np.array(
    [
        (column - (_COLUMNS - 1) / 2, (_ROWS - 1) / 2 - row)
        for row in range(_ROWS)
        for column in range(_COLUMNS)
    ]
)


@dataclass(frozen=True, eq=False)
class Card:
    """A reference card as its owner registered it.

    Attributes
    ----------
    name : str
        The owner's name for it.
    kind : str
        ``chart24`` (the common 24-patch chart), ``printed`` (our own sheet), or one of
        ``SHEET_KINDS``: paper or a bank card of known size, which has no squares.
    pitch_in : float
        Distance between neighbouring patch centres, inches.
    absolute : bool
        Whether the reference values are measured ones. Colours taken with a card that is not
        absolute agree with each other but may all be off together.
    patch_centres_in : float64, shape (n, 2)
        In the card's frame.
    patch_linear : float64, shape (n, 3)
        Reference colours, linear sRGB, not clipped.
    neutrals : tuple of int
        The patches of the grey ramp, lightest first.
    values : str
        Where the reference colours come from: a word of ``chart_values.PUBLISHED``, ``file``,
        ``learnt`` beside a known chart, or ``own``: measured alone, so that colours agree between
        photos without being true.
    """

    name: str
    kind: str
    pitch_in: float
    absolute: bool
    patch_centres_in: FloatArray
    patch_linear: FloatArray
    neutrals: tuple[int, ...]
    values: str = AVERAGE

    def to_body(self) -> dict[str, object]:
        """Give the card as a record that can be written as JSON."""
        return {
            "kind": self.kind,
            "pitch_in": self.pitch_in,
            "absolute": self.absolute,
            "values": self.values,
            "patch_linear": [[round(float(v), 6) for v in row] for row in self.patch_linear],
        }


def _none_of_24() -> NDArray[np.bool_]:
    return np.zeros(24, dtype=np.bool_)


@dataclass(frozen=True, eq=False)
class FoundCard:
    """A card found in a photo.

    Attributes
    ----------
    card : Card
        Which one.
    image_from_card : float64, shape (3, 3)
        Homography from card inches to pixels (pixel centres at whole numbers); near the card
        it includes the lens, far from it use `stash.photo.inches.plane`.
    corners_px : float64, shape (4, 2)
        Corners of the whole card with its border, in order round it, for cutting it out.
    patch_srgb : float64, shape (n, 3)
        Median colour of each patch as photographed, sRGB 0..1.
    usable : bool, shape (n,)
        False for patches that are burnt out, covered, in glare or in a shadow's edge.
    patch_spread : float64, shape (n,)
        Middle spread (quartile distance) of a patch's brightest channel, 0..1.
    clipped : bool, shape (n,)
        Patches with more than 5 % of their pixels at the top of the range.
    hidden, glaring : bool, shape (n,)
        Patches that something lies on, and patches that mirror a lamp.
    edges : object
        Sub-pixel patch edges the plane is fitted to; see `stash.photo.cards.patch_edges`.
    points_in, points_px : float64, shape (m, 2)
        Further known points: corners of the printed card's markers.
    crossed : bool, shape (n,)
        Patches through which the edge of a shadow runs.
    shade_light : float64, shape (n, 3), optional
        Light on each patch where a shadow lies over a part of the card, 1 beside it.
    """

    card: Card
    image_from_card: FloatArray
    corners_px: FloatArray
    patch_srgb: FloatArray
    usable: NDArray[np.bool_]
    patch_spread: FloatArray
    clipped: NDArray[np.bool_]
    edges: Any = field(default=None, repr=False)
    hidden: NDArray[np.bool_] = field(default_factory=_none_of_24, repr=False)
    glaring: NDArray[np.bool_] = field(default_factory=_none_of_24, repr=False)
    points_in: FloatArray = field(default_factory=lambda: np.zeros((0, 2)), repr=False)
    points_px: FloatArray = field(default_factory=lambda: np.zeros((0, 2)), repr=False)
    crossed: NDArray[np.bool_] = field(default_factory=_none_of_24, repr=False)
    shade_light: FloatArray | None = field(default=None, repr=False)


def chart24(
    name: str,
    pitch_in: float,
    *,
    values: str = AVERAGE,
    patch_linear: FloatArray | None = None,
    absolute: bool = True,
) -> Card:
    """Describe a 24-patch chart by the inches between its patch centres.

    Parameters
    ----------
    values : str
        Where its colours come from; see `Card`.
    patch_linear : float64, shape (24, 3), optional
        Its colours where ``values`` is no publication.
    absolute : bool
        Whether they are true ones.

    Examples
    --------
    >>> chart24("pocket", 0.55).patch_centres_in[0].round(3).tolist()
    [-1.375, 0.825]
    """
    if patch_linear is None:
        patch_linear = CHART24_LINEAR if values == AVERAGE else published_linear(values)
    return Card(
        name=name,
        kind="chart24",
        pitch_in=pitch_in,
        absolute=absolute,
        patch_centres_in=_CENTRES * pitch_in,
        patch_linear=patch_linear,
        neutrals=_NEUTRALS,
        values=values,
    )


def sheet_card(name: str, kind: str) -> Card:
    """Describe a sheet of paper or a bank card, which has no squares; see `known_sheet`."""
    nothing = np.empty((0, 3))
    return Card(name, kind, 0.0, False, nothing[:, :2], nothing, (), "")


def card_of(name: str, body: Mapping[str, Any]) -> Card:
    """Read a card back from its record.

    Raises
    ------
    CalibrationError
        If the record is of a kind this version does not know.
    """
    values = str(body.get("values", AVERAGE))
    if body.get("kind") == "chart24" and values in PUBLISHED:
        return chart24(name, float(body["pitch_in"]), values=values)
    if body.get("kind") == "chart24":
        return chart24(
            name,
            float(body["pitch_in"]),
            values=values,
            patch_linear=np.array(body["patch_linear"], dtype=np.float64),
            absolute=bool(body["absolute"]),
        )
    if body.get("kind") == "printed":
        grid = _CENTRES * float(body["pitch_in"])
        colours = np.array(body["patch_linear"], dtype=np.float64)
        absolute = bool(body["absolute"])
        return Card(name, "printed", float(body["pitch_in"]), absolute, grid, colours, _NEUTRALS)
    if body.get("kind") in SHEET_KINDS:
        return sheet_card(name, str(body["kind"]))
    raise CalibrationError(
        f"The card “{name}” is of a kind this version does not know. Register it again.",
        error_de00=float("nan"),
    )
