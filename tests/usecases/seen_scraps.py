"""Lopsided scraps as an eye sees them in photos, and every way the project shows them again.

The truth is drawn here in pixels, y down, right side up or in a mirror; no code of the project has
a part in it.
"""

from __future__ import annotations

import hashlib
import io
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw
from pypdfium2 import PdfDocument, raw

from stash.colour.appearance import Appearance, ColourShare, PrintKind
from stash.colour.palette_words import palette_of_words
from stash.colour.spaces import lab_of_hex
from stash.drawing.cutting_sheet import CutList, cutting_pdf
from stash.drawing.paper import LETTER
from stash.drawing.quilt_picture import quilt_image
from stash.quilt.cutting import ScrapToCut
from stash.quilt.plan import Plan, Quilt, QuiltPiece
from stash.quilt.stacks import StackPlan
from stash.scrap import CardReport, PhotoView, Scrap
from stash.shape.containment.piece_fit import find_placement
from stash.shape.plane.outline import Outline, outline_of
from stash.shape.templates.template import Template, make_template, template_of_file
from stash.shape.templates.turning import Turning
from stash.storage.sqlite_store import FolderStore
from stash.usecases.matching.match_palette import MatchRequest, match
from stash.usecases.papers.draw_quilt import pictures_of
from stash.usecases.pieces.fit_pieces import FitRequest, fit_pieces, read_outlines
from stash.usecases.pieces.piece_counts import CutRule
from stash.usecases.ports import PhotoToLog, ScrapToLog
from stash.usecases.quilts.plan_quilt import pattern_of
from stash.usecases.quilts.quilt_allot import crop_of
from stash.web.shown.outline_drawing import OutlineDrawing
from stash.web.shown.photo_drawing import outlines_on_photo
from stash.wiring import open_store

# As they are seen, y up.
SHAPES = {
    "ell": ((0, 0), (4, 0), (4, 1.2), (1.2, 1.2), (1.2, 2.4), (0, 2.4)),
    "scalene triangle": ((0, 0), (5, 0), (1.2, 2.6)),
    "flag": ((0, 0), (0.9, 0), (0.9, 1.5), (3.6, 1.9), (2.8, 3.2), (0, 3.4)),
}
ROOM = 1.03  # a scrap is so much larger than the piece
PX_PER_IN = 40.0
PATCH_IN = 0.6  # finished; small enough for every scrap
SPOTS = ((0.0, -0.2), (0.2, 0.1), (-0.12, 0.16))  # inches of the photo, y down
SPOT_PX = 60


@dataclass(frozen=True)
class Seen:
    """One scrap: its shape, whether it is seen in a mirror, and its corners in the photo."""

    shape: str
    in_mirror: bool
    px: np.ndarray


def seen_scraps(count: int, seed: int) -> Iterator[tuple[Seen, float]]:
    """Give scraps, every second one in a mirror, and how the card beside it is turned, degrees."""
    rng = np.random.default_rng(seed)
    for number in range(count):
        shape = list(SHAPES)[number % len(SHAPES)]
        in_mirror = bool(number // len(SHAPES) % 2)
        corners = np.array(SHAPES[shape], dtype=float)
        corners = (corners - corners.mean(axis=0)) * ROOM * ((-1, 1) if in_mirror else (1, 1))
        turn = rng.uniform(0, 2 * np.pi)
        turned = corners @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        px = turned * (PX_PER_IN, -PX_PER_IN) + rng.uniform(300, 900, 2)  # the picture's y is down
        yield Seen(shape, in_mirror, px), float(rng.uniform(-180, 180))


def logged(folder: Path, scraps: list[tuple[Seen, float]]) -> FolderStore:
    """Log each scrap on a photo of its own: what its pixels are in the card's inches."""
    store = open_store(folder)
    lab = lab_of_hex("#1f3f7a")
    look = Appearance(lab, (ColourShare(lab, 1.0),), PrintKind.PLAIN, mean_chroma=50.0)
    for number, (seen, card_deg) in enumerate(scraps):
        # The card's x axis points clockwise by this angle in the photo, its y axis away from
        # the grey row, so that grey row and x axis meet as on a card that lies face up.
        turn = np.radians(card_deg)
        card = PX_PER_IN * np.array([[np.cos(turn), np.sin(turn)], [np.sin(turn), -np.cos(turn)]])
        origin = np.array([640.0, 480.0])
        inches = (seen.px - origin) @ np.linalg.inv(card).T
        view = np.vstack([np.column_stack([card, origin]), [0, 0, 1]])
        data = b"photo %d" % number
        store.log_photo(
            PhotoToLog(
                hashlib.sha256(data).hexdigest(),
                f"{number}.jpg",
                data,
                ".jpg",
                CardReport("chart24", 1.0, 2.0),
                (),
                (_spotted(outline_of(inches.tolist()), look, card),),
                view=PhotoView(tuple(view.ravel().tolist()), (639.5, 479.5), 640.0, 0.0),
            )
        )
    return store


def _spotted(outline: Outline, look: Appearance, card: np.ndarray) -> ScrapToLog:
    """Make a scrap whose picture, laid flat in the card's inches, shows three spots.

    They lie where the piece of a quilt is cut, red, green and blue at ``SPOTS`` as the photo shows
    them.
    """
    left, low, right, top = outline.bounds
    size = (round((right - left) * SPOT_PX), round((top - low) * SPOT_PX))
    picture = Image.new("RGB", size, "white")
    pen = ImageDraw.Draw(picture)
    place = find_placement(outline, make_template("square", PATCH_IN), turning=Turning.free())
    assert place.placement is not None
    middle = np.array([place.placement.x, place.placement.y])
    for colour, spot in zip(("red", "lime", "blue"), SPOTS, strict=True):
        x, y = middle + np.linalg.inv(card) @ (np.array(spot) * PX_PER_IN)
        at, reach = np.array([x - left, top - y]) * SPOT_PX, 0.06 * SPOT_PX
        pen.ellipse([*(at - reach), *(at + reach)], fill=colour)
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=95, subsampling=0)
    return ScrapToLog(outline, look, out.getvalue(), SPOT_PX, left, top, washed=True)


def mirrored_in_quilt(store: FolderStore) -> list[int]:
    """Give the scraps whose cloth a picture of a quilt shows as in a mirror, or not at all."""
    scraps, wrong = store.scraps(), []
    for start in range(0, len(scraps), 100):
        some = scraps[start : start + 100]
        plan = Plan("square", str(PATCH_IN), "straight", False, 1, len(some))
        pieces = tuple(_piece_of(scrap, plan) for scrap in some)
        quilt = Quilt("all", plan, pieces=pieces, piece_at=tuple(range(len(some))))
        side = 60
        picture = quilt_image(
            quilt, pattern_of(plan), pictures_of(store), long_side_px=side * len(some)
        )
        seen = np.asarray(picture.convert("RGB")).astype(int)
        for at, scrap in enumerate(some):
            spots = _spots(seen[:, at * side : (at + 1) * side])
            if spots is None or _turn(spots) * _turn(np.array(SPOTS)) <= 0:
                wrong.append(scrap.number)
    return wrong


def _piece_of(scrap: Scrap, plan: Plan) -> QuiltPiece:
    template = make_template("square", PATCH_IN)
    found = find_placement(scrap.outline, template, turning=Turning.free()).placement
    assert found is not None
    crop = crop_of(scrap, plan, found)
    look = scrap.appearance
    return QuiltPiece(scrap.number, scrap.fabric, look.reads_as, "blue", "dark", crop=crop)


def _spots(pixels: np.ndarray) -> np.ndarray | None:
    """Where the red, the green and the blue spot lie, x right and y down."""
    found = []
    for channel in range(3):
        others = [pixels[..., one] for one in range(3) if one != channel]
        rows, columns = np.nonzero((pixels[..., channel] > 140) & (np.maximum(*others) < 130))
        if len(rows) < 4:
            return None
        found.append((columns.mean(), rows.mean()))
    return np.array(found)


def _turn(spots: np.ndarray) -> float:
    """Which way round the three lie: above nought clockwise, y down."""
    (ax, ay), (bx, by) = spots[1] - spots[0], spots[2] - spots[0]
    return float(ax * by - ay * bx)


def template_named(shape: str) -> Template:
    """Give a shape as a quilter's own template."""
    cut = json.dumps({"cut": SHAPES[shape]})
    return template_of_file(cut.encode(), ".json")


def by_match(store: FolderStore, shape: str) -> set[int]:
    """Give the scraps that `match` would cut the shape from."""
    palette = palette_of_words("tide", "blues and teals")
    answer = match(store, MatchRequest(palette, template_named(shape), CutRule()))
    return {scrap.scrap for line in answer.can_go_in for scrap in line.scraps}


def by_match_turned(store: FolderStore, shape: str) -> set[int]:
    """Give the scraps that `match` would cut the shape from if pieces may lie face down."""
    template = replace(template_named(shape), may_turn_over=True)
    answer = match(store, MatchRequest(palette_of_words("tide", "blues"), template, CutRule()))
    return {scrap.scrap for line in answer.can_go_in for scrap in line.scraps}


def by_fit(store: FolderStore, shape: str) -> set[int]:
    """Give the scraps that `fit` would cut the shape from, on the exported outlines."""
    folder = store.home.parent / f"{store.home.name}-{shape.replace(' ', '-')}"
    store.export(str(folder))
    stash = json.loads((folder / "stash.json").read_text())
    asked = [{"id": str(one["number"]), "outline": one["outline_in"]} for one in stash["scraps"]]
    answers = fit_pieces(
        read_outlines(json.dumps(asked).encode()), FitRequest(template_named(shape))
    )
    return {int(one.scrap.name) for one in answers if one.layout and one.layout.pieces}


def askew(drawn: np.ndarray, seen: Seen) -> float:
    """How far a drawing, y down, is from the scrap as seen, turned, moved, made smaller; inches.

    Neither is turned over for it. Both begin anywhere and go round either way.
    """
    true = seen.px @ [1, 1j] / PX_PER_IN
    said = drawn @ [1, 1j]
    said = said - said.mean()
    off = np.inf
    for way in (true, true[::-1]):
        for start in range(len(way)):
            ring = np.roll(way, start) - way.mean()
            turn = np.vdot(ring, said)
            smaller = min(1.0, abs(turn) / float(np.vdot(ring, ring).real))  # to fit a sheet
            off = min(off, float(np.abs(said - smaller * ring * turn / abs(turn)).max()))
    return off


def on_page(store: FolderStore, number: int) -> np.ndarray:
    """Give the corners of a scrap's drawing on its page, y down."""
    return np.array(OutlineDrawing(store.scrap(number)).points)


def on_photo(store: FolderStore, number: int) -> np.ndarray:
    """Give the corners of the line over the photo, in inches of the photo, y down."""
    scrap = store.scrap(number)
    photo = store.photo(scrap.photo or "")
    assert photo is not None and photo.view is not None
    (line,) = outlines_on_photo(photo.view, [scrap])
    points = np.array(re.findall(r"(-?[\d.]+) (-?[\d.]+)", line.path), dtype=float)
    return _corners(points) / PX_PER_IN


def _corners(points: np.ndarray) -> np.ndarray:
    """Leave out points on a straight line between their neighbours."""
    before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    bent = np.abs(cross) > 0.05 * np.hypot(*before.T) * np.hypot(*after.T)
    return points[bent]


def on_sheet(store: FolderStore, number: int) -> np.ndarray:
    """Give the corners of the scrap's outline on its printed cutting sheet, inches, y down."""
    scrap = store.scrap(number)
    to_cut = ScrapToCut(number, 1, "", "", scrap.outline, ())
    data = cutting_pdf(
        CutList("one", make_template("square", 1), (to_cut,), StackPlan((), (), 0)), LETTER
    )
    document = PdfDocument(data)
    outline = outline_on_sheet(document, len(scrap.outline.points))
    document.close()
    return outline * (1, -1) / 72


def outline_on_sheet(document: PdfDocument, corners: int) -> np.ndarray:
    """Give the line printed round a scrap on the last page, points of the page, y up.

    The lists before it are ruled with lines and boxes; the last one of so many corners is it.
    """
    page = document[len(document) - 1]
    paths = [_path(one.raw) for one in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH])]
    return [path for path in paths if len(path) == corners][-1]


def _path(shape: object) -> np.ndarray:
    points = []
    for index in range(raw.FPDFPath_CountSegments(shape)):
        segment = raw.FPDFPath_GetPathSegment(shape, index)
        x, y = raw.c_float(), raw.c_float()
        raw.FPDFPathSegment_GetPoint(segment, x, y)
        points.append((x.value, y.value))
    if len(points) > 1 and points[0] == points[-1]:
        points.pop()
    return np.array(points)


DRAWN: dict[str, Callable[[FolderStore, int], np.ndarray]] = {
    "page": on_page,
    "photo": on_photo,
    "cutting sheet": on_sheet,
}
TOLD: dict[str, Callable[[FolderStore, str], set[int]]] = {"match": by_match, "fit": by_fit}


def disagreements(folder: Path, count: int, seed: int, *, sheets: int | None = None) -> list[str]:
    """Say of every scrap which way of showing or asking does not agree with what was seen."""
    scraps = list(seen_scraps(count, seed))
    store = logged(folder / "stash", scraps)
    wrong = []
    for shape in SHAPES:
        right = {
            number
            for number, (seen, _) in enumerate(scraps, start=1)
            if seen.shape == shape and not seen.in_mirror
        }
        of_shape = {n for n, (seen, _) in enumerate(scraps, start=1) if seen.shape == shape}
        turned = by_match_turned(store, shape) & of_shape
        wrong += [f"match turned over: {shape} on scrap {n}" for n in turned ^ of_shape]
        for way, ask in TOLD.items():
            wrong += [
                f"{way}: {shape} on scrap {n}" for n in (ask(store, shape) & of_shape) ^ right
            ]
    wrong += [f"quilt picture: scrap {number}" for number in mirrored_in_quilt(store)]
    for way, draw in DRAWN.items():
        for number, (seen, _) in enumerate(scraps[: sheets if way == "cutting sheet" else None], 1):
            if askew(draw(store, number), seen) > 0.02:
                wrong.append(f"{way}: scrap {number}")
    return wrong
