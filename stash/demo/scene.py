"""Photos of leftovers beside a reference card, rendered from a seed, with the truth beside them."""

from __future__ import annotations

import io
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image
from shapely import affinity
from shapely.geometry import MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from stash.colour.appearance import PrintKind
from stash.colour.spaces import FloatArray, Lab, lab_of_linear
from stash.demo.chart import CHART_FRAME, chart_tile, patch_centres
from stash.demo.fabrics import FABRICS, Float32Array, weave
from stash.demo.laying import Beforehand, Laid, LaidBoard, Leftover, lay
from stash.demo.lens import aim
from stash.demo.light import LIGHTS, develop
from stash.demo.paper import PrintedSheet
from stash.demo.phone_look import PHONE_LOOKS, rendered
from stash.demo.selvages import REPEAT_IN, SELVAGES, band_of, band_tile, fringe_of
from stash.demo.table import Shadow, Table
from stash.demo.things import strewn
from stash.demo.truth import SceneTruth, ScrapTruth

__all__ = ["RenderedScene", "SceneSpec", "render_scene"]

SHADOWS = {
    "none": Shadow(0.0, 0.0, 0.0),
    "soft": Shadow(0.03, 0.05, 0.35),
    "hard": Shadow(0.09, 0.012, 0.5),
    # of thick things, folded cloth and batting under a broad lamp
    "contact": Shadow(0.04, 0.14, 0.7),
    "deep": Shadow(0.25, 0.16, 0.5),
}


@dataclass(frozen=True, slots=True)
class SceneSpec:
    """What to photograph and how; together with a seed it is the photo.

    Attributes
    ----------
    leftovers : tuple of Leftover
        The scraps.
    backing, light, shadow : str
        A name in ``BACKINGS``, in ``LIGHTS``, in ``SHADOWS``.
    size_px : tuple of int
        The photo's width, height.
    board_in : tuple of float
        The part of the table that must be seen, inches; grows when the scraps need room.
    pitch_in : float
        Inches between patch centres of the chart.
    tilt_deg, k1 : float
        How slanting the phone was held, and the lens' radial term (see ``stash.demo.lens``).
    unevenness : float
        Light falls off by this share from one side of the photo to the other.
    exposure, noise : float
        See ``stash.demo.light.develop``.
    threads, pins : int
        How many lie about.
    arm_shadow : bool
        The photographer's arm shades a part of the table.
    folds : int
        How many soft folds run across the backing.
    gloss : float
        Light of a lamp that is mirrored in the backing at one place, as a share of a white board's.
    things : tuple of str
        What else lies about, of ``stash.demo.things.THINGS``.
    card_at_in : tuple of float or None
        Where on the board the card's centre lies; None is anywhere.
    card_turn_deg : float or None
        How the card is turned, clockwise as the photo shows it; None is by up to 30 degrees.
    phone : str
        How the phone renders the picture: a name in ``PHONE_LOOKS``.
    """

    leftovers: tuple[Leftover, ...]
    backing: str = "grey flannel"
    light: str = "daylight"
    shadow: str = "soft"
    size_px: tuple[int, int] = (1600, 1200)
    board_in: tuple[float, float] = (16.0, 12.0)
    pitch_in: float = 0.55
    tilt_deg: float = 6.0
    k1: float = 0.004
    unevenness: float = 0.08
    exposure: float = 0.85
    noise: float = 0.008
    threads: int = 0
    pins: int = 0
    arm_shadow: bool = False
    folds: int = 0
    gloss: float = 0.0
    things: tuple[str, ...] = ()
    card_at_in: tuple[float, float] | None = None
    card_turn_deg: float | None = None
    phone: str = "none"


@dataclass(frozen=True)
class RenderedScene:
    """A photo, (height, width, 3) sRGB, and what is true of it."""

    pixels_srgb: NDArray[np.uint8]
    truth: SceneTruth = field(repr=False)

    def jpeg(self, *, quality: int = 90) -> bytes:
        """Give the photo as a phone would save it."""
        buffer = io.BytesIO()
        Image.fromarray(self.pixels_srgb).save(buffer, "JPEG", quality=quality)
        return buffer.getvalue()


def render_scene(
    spec: SceneSpec, *, seed: int, papers: Sequence[PrintedSheet] = ()
) -> RenderedScene:
    """Lay the leftovers on the backing beside the card and photograph them.

    Parameters
    ----------
    spec : SceneSpec
        What and how.
    seed : int
        Decides positions, turns, noise and where the light comes from.
    papers : sequence of PrintedSheet
        What else lies on the table, the uppermost last.

    Raises
    ------
    ValueError
        If a fabric, leftover, backing, light or shadow is not known.
    """
    _check_words(spec)
    rng = np.random.default_rng(seed)
    towards_deg = float(rng.uniform(0, 360))
    things = strewn(spec.things, spec.board_in, np.random.default_rng([seed, 1]))
    lens_for = partial(
        aim, size_px=spec.size_px, tilt_deg=spec.tilt_deg, towards_deg=towards_deg, k1=spec.k1
    )
    board = lay(
        spec.leftovers,
        spec.board_in,
        pitch_in=spec.pitch_in,
        lens_for=lens_for,
        rng=rng,
        beforehand=Beforehand(
            unary_union(
                [
                    *(paper.shape for paper in papers if not paper.on_scraps),
                    *(thing.shape.buffer(0.3) for thing in things),
                ]
            ),
            spec.card_at_in,
            spec.card_turn_deg,
        ),
    )
    table = Table(board.lens, spec.backing, SHADOWS[spec.shadow], rng=rng)
    table.fold(spec.folds, np.random.default_rng([seed, 2]))
    table.shine(spec.gloss, np.random.default_rng([seed, 3]))
    colours = [_lay_scrap(table, laid) for laid in board.scraps]
    for shape, ink in (piece for thing in things for piece in thing.pieces):
        table.paint(shape, ink)
    table.strew(threads=spec.threads, pins=spec.pins)
    _lay_card(table, board, spec.pitch_in)
    for paper in papers:
        corner = paper.corners_in[0]
        table.cover(
            paper.shape,
            paper.tile,
            side_in=paper.side_in,
            origin=corner,
            turn_deg=paper.turn_deg,
        )
    if spec.arm_shadow:
        table.shade_by_arm()
    seen = table.lit(spec.unevenness)
    photo = develop(seen, LIGHTS[spec.light], exposure=spec.exposure, noise=spec.noise, rng=rng)
    photo = rendered(photo, PHONE_LOOKS[spec.phone])
    return RenderedScene(photo, _truth(spec, board, colours))


def _check_words(spec: SceneSpec) -> None:
    for word, book in ((spec.light, LIGHTS), (spec.shadow, SHADOWS), (spec.phone, PHONE_LOOKS)):
        if word not in book:
            raise ValueError(f"expected one of {sorted(book)}, got {word!r}")
    odd = {leftover.selvage for leftover in spec.leftovers} - set(SELVAGES)
    if odd:
        raise ValueError(f"expected selvages of {SELVAGES}, got {sorted(odd)}")
    unknown = {leftover.fabric for leftover in spec.leftovers} - set(FABRICS)
    if unknown:
        raise ValueError(f"expected fabrics of the demo's book, got {sorted(unknown)}")


def _lay_scrap(table: Table, laid: Laid) -> Lab:
    """Paint a scrap; give the colour it reads as, taken from the cloth before any light."""
    fabric = FABRICS[laid.leftover.fabric]
    tile = weave(fabric)
    side_in = fabric.repeat_in or 2.0
    table.cover(
        laid.shape,
        tile,
        side_in=(side_in, side_in),
        origin=np.asarray(laid.shape.centroid.coords[0]),
        turn_deg=laid.turn_deg,
        creased=laid.leftover.creased,
    )
    if laid.leftover.selvage_in > 0:
        _lay_selvage(table, laid, fabric.linear_inks)
    if laid.leftover.frayed:
        table.fray(laid.shape, fabric.linear_inks)
    return _mean_lab(laid, tile, side_in)


def _lay_selvage(table: Table, laid: Laid, inks: Float32Array) -> None:
    """Paint a selvage over the lower side, as the leftover says."""
    leftover = laid.leftover
    how, wide = leftover.selvage, leftover.selvage_in
    band = band_of(laid.shape, laid.turn_deg, wide, how)
    if band.is_empty:
        return
    flat = affinity.rotate(laid.shape, -laid.turn_deg, origin=laid.shape.centroid)
    left, low, _, _ = flat.bounds
    corner = affinity.rotate(Point(left, low), laid.turn_deg, origin=laid.shape.centroid)
    tile = band_tile(inks, wide, how)
    table.tint(
        band,
        tile,
        side_in=(REPEAT_IN, wide),
        origin=np.array([corner.x, corner.y]),
        turn_deg=laid.turn_deg,
    )
    if how == "fringed":
        rng = np.random.default_rng(zlib.crc32(tile.tobytes()))
        table.fringe(fringe_of(laid.shape, laid.turn_deg, rng), tile[0, 0])


def _mean_lab(laid: Laid, tile: Float32Array, side_in: float) -> Lab:
    """Average the cloth under the scrap on a fine grid of its own texture."""
    left, top, right, bottom = laid.shape.bounds
    grid = np.stack(
        np.meshgrid(np.arange(left, right, 0.02), np.arange(top, bottom, 0.02)), axis=-1
    ).reshape(-1, 2)
    inside = grid[shapely.contains_xy(laid.shape, grid[:, 0], grid[:, 1])]
    turn = np.deg2rad(laid.turn_deg)
    own = (inside - laid.shape.centroid.coords[0]) @ np.array(
        [[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]
    )
    at = np.floor(own / side_in * len(tile)).astype(int) % len(tile)
    mean = tile[at[:, 1], at[:, 0]].mean(axis=0, dtype=np.float64)
    lightness, a, b = (float(value) for value in lab_of_linear(mean))
    return lightness, a, b


def _lay_card(table: Table, board: LaidBoard, pitch_in: float) -> None:
    tile, px_per_pitch = chart_tile()
    half = np.array(CHART_FRAME) * pitch_in
    corners = np.array([[-1, 1], [1, 1], [1, -1], [-1, -1]]) * half
    shape = Polygon(_to_board(board, corners))
    side_in = (tile.shape[1] / px_per_pitch * pitch_in, tile.shape[0] / px_per_pitch * pitch_in)
    origin = _to_board(board, corners[:1])[0]
    table.cover(shape, tile, side_in=side_in, origin=origin, turn_deg=board.card_turn_deg)


def _card_turn(board: LaidBoard) -> FloatArray:
    """From the card's frame, y up, to the board's, whose y runs down the photo; (2, 2)."""
    turn = np.deg2rad(board.card_turn_deg)
    return np.array([[np.cos(turn), np.sin(turn)], [np.sin(turn), -np.cos(turn)]])


def _to_board(board: LaidBoard, card_in: FloatArray) -> FloatArray:
    return np.asarray(card_in @ _card_turn(board).T + board.card_at, dtype=np.float64)


def _truth(spec: SceneSpec, board: LaidBoard, colours: Sequence[Lab]) -> SceneTruth:
    frame = np.eye(3)
    frame[:2, :2], frame[:2, 2] = _card_turn(board), board.card_at
    scraps = [_scrap_truth(board, index, colour) for index, colour in enumerate(colours)]
    patches = board.lens.to_pixels(_to_board(board, patch_centres(spec.pitch_in)))
    image_from_card = board.lens.image_from_board @ frame
    return SceneTruth(
        tuple(scraps), spec.backing, spec.light, spec.pitch_in, patches, image_from_card, spec.k1
    )


def _scrap_truth(board: LaidBoard, index: int, colour: Lab) -> ScrapTruth:
    laid = board.scraps[index]
    seen: BaseGeometry = laid.shape
    for above in board.scraps[index + 1 :]:
        seen = seen.difference(above.shape)
    if isinstance(seen, MultiPolygon):
        seen = max(seen.geoms, key=lambda part: part.area)
    assert isinstance(seen, Polygon)
    rings = [_card_ring(board, ring.coords) for ring in (seen.exterior, *seen.interiors)]
    return ScrapTruth(
        laid.leftover.fabric,
        laid.leftover.kind,
        FABRICS[laid.leftover.fabric].kind,
        rings[0],
        tuple(rings[1:]),
        colour,
        _crosses_border(board, seen),
        _lines_deg(board, laid),
        _direction(board, laid, (1.0, 0.0)),
        laid.leftover.selvage_in > 0,
    )


def _lines_deg(board: LaidBoard, laid: Laid) -> float | None:
    """Direction in the card's frame of a tile's lines, which run down the tile."""
    if FABRICS[laid.leftover.fabric].kind not in (PrintKind.STRIPE, PrintKind.PLAID):
        return None
    return _direction(board, laid, (0.0, 1.0))


def _direction(board: LaidBoard, laid: Laid, way: tuple[float, float]) -> float:
    """Direction in the card's frame, 0..180, of a direction in the scrap's own."""
    turn, (x, y) = np.deg2rad(laid.turn_deg), way
    on_board = np.array([x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn)])
    across, up = on_board @ _card_turn(board)
    return float(np.rad2deg(np.arctan2(up, across)) % 180)


def _card_ring(board: LaidBoard, coords: object) -> tuple[tuple[float, float], ...]:
    points = (np.asarray(coords)[:-1] - board.card_at) @ _card_turn(board)
    return tuple((float(x), float(y)) for x, y in points)


def _crosses_border(board: LaidBoard, shape: Polygon) -> bool:
    pixels = board.lens.to_pixels(np.asarray(shape.exterior.coords))
    return bool(((pixels < 0) | (pixels > np.array(board.lens.size_px) - 1)).any())
