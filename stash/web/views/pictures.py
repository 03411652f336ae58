"""Pictures of cloth for the page: always drawn anew as JPEG, never the bytes that were sent."""

from __future__ import annotations

import io

import numpy as np
import shapely
from PIL import Image
from starlette.requests import Request
from starlette.responses import Response

from stash.colour.spaces import lab_of_srgb, srgb_of_lab
from stash.errors import NotFoundError
from stash.photo.files.reading import read_photo
from stash.scrap import Picture, Scrap
from stash.usecases.photos.draw_photo import photo_with_outlines
from stash.web.page_tools import Page, PageTools

__all__ = [
    "PAGES",
    "grey_picture",
    "photo_size_px",
    "picture_response",
    "picture_size_in",
    "swatch_square",
]

SWATCH_PX = 360
_SMALL_PX = 110
_FLAT_PX = 1400
_PHOTO_PX = 2100
_QUALITY = 86
_A_YEAR_S = 365 * 24 * 3600


def swatch_square(scrap: Scrap, picture: Picture) -> tuple[int, int, int, int]:
    """Find the square in the middle of the cloth, in pixels: left, top, right, bottom.

    It lies in the largest circle inside the outline, so that no backing shows.
    """
    radius = shapely.maximum_inscribed_circle(scrap.outline.polygon, tolerance=0.05)
    (x, y), _ = radius.coords
    half_px = radius.length / 2**0.5 * picture.px_per_in
    column = (x - picture.left_in) * picture.px_per_in
    row = (picture.top_in - y) * picture.px_per_in
    left, top, right, bottom = column - half_px, row - half_px, column + half_px, row + half_px
    return (
        round(left),
        round(top),
        max(round(right), round(left) + 1),
        max(round(bottom), round(top) + 1),
    )


def grey_picture(image: Image.Image) -> Image.Image:
    """Give the picture with its lightness alone: each pixel's grey of the same L*."""
    lab = lab_of_srgb(np.asarray(image, dtype=np.float64) / 255)
    lab[..., 1:] = 0.0
    return Image.fromarray(np.uint8(np.round(srgb_of_lab(lab) * 255)))


def picture_response(data: bytes, kind: str = "image/jpeg", *, keep: bool = True) -> Response:
    """Answer with a picture; its address changes when it does, so browsers may keep it."""
    much = f"private, max-age={_A_YEAR_S}, immutable" if keep else "private, no-store"
    return Response(data, media_type=kind, headers={"Cache-Control": much})


def picture_size_in(tools: PageTools, picture: Picture) -> tuple[float, float]:
    """Give width and height of a kept picture, inches."""
    with Image.open(io.BytesIO(tools.store.picture(picture.sha256))) as opened:
        width_px, height_px = opened.size
    return width_px / picture.px_per_in, height_px / picture.px_per_in


def _swatch(tools: PageTools, request: Request) -> Response:
    scrap, picture = _pictured(tools, request)
    grey = bool(request.query_params.get("grey"))
    side_px = _SMALL_PX if request.query_params.get("small") else SWATCH_PX
    key = f"{picture.sha256} {scrap.outline.points} {grey} {side_px}"
    held = tools.shelf.get(key)
    if held is None:
        square = swatch_square(scrap, picture)
        with Image.open(io.BytesIO(tools.store.picture(picture.sha256))) as opened:
            shown = opened.convert("RGB").crop(square)
        shown.thumbnail((side_px, side_px), Image.Resampling.LANCZOS)
        held = _jpeg(grey_picture(shown) if grey else shown)
        tools.shelf.put(key, held)
    return picture_response(held)


def _flat(tools: PageTools, request: Request) -> Response:
    _, picture = _pictured(tools, request)
    with Image.open(io.BytesIO(tools.store.picture(picture.sha256))) as opened:
        shown = opened.convert("RGB")
    shown.thumbnail((_FLAT_PX, _FLAT_PX), Image.Resampling.LANCZOS)
    return picture_response(_jpeg(shown))


def photo_size_px(tools: PageTools, sha256: str) -> tuple[int, int]:
    """Give width and height of a logged photo, upright."""
    height, width = _photo(tools, sha256)[1]
    return width, height


def _upright(tools: PageTools, request: Request) -> Response:
    sha256 = request.path_params["sha256"]
    if tools.store.photo(sha256) is None:
        raise NotFoundError("photo", sha256[:12])
    return picture_response(_photo(tools, sha256)[0])


def _drawn(tools: PageTools, request: Request) -> Response:
    data = photo_with_outlines(tools.store, request.path_params["sha256"])
    return picture_response(data, keep=False)


def _photo(tools: PageTools, sha256: str) -> tuple[bytes, tuple[int, int]]:
    """Give a photo upright and small enough for a page, as a JPEG, and its full height, width."""
    held, size = tools.shelf.get(sha256), tools.photo_sizes.get(sha256)
    if held is None or size is None:
        pixels = read_photo(tools.store.picture(sha256), name=sha256[:12]).pixels_srgb
        size = (pixels.shape[0], pixels.shape[1])
        # Whole numbers of pixels are averaged: a tenth of the time of a finer filter.
        held = _jpeg(Image.fromarray(pixels).reduce(-(-max(size) // _PHOTO_PX)))
        tools.shelf.put(sha256, held)
        tools.photo_sizes[sha256] = size
    return held, size


def scrap_shown(tools: PageTools, number: int) -> Scrap:
    """Give a scrap whose picture is asked for; raises NotFoundError.

    One that was taken out a moment ago still stands on pages that are loading, and in the bin.
    """
    try:
        return tools.store.scrap(number)
    except NotFoundError:
        for scrap in tools.store.bin():
            if scrap.number == number:
                return scrap
        raise


def _pictured(tools: PageTools, request: Request) -> tuple[Scrap, Picture]:
    scrap = scrap_shown(tools, request.path_params["number"])
    if scrap.picture is None:
        raise NotFoundError("picture", scrap.number)
    return scrap, scrap.picture


def _jpeg(image: Image.Image) -> bytes:
    out = io.BytesIO()
    image.save(out, "JPEG", quality=_QUALITY, optimize=True)
    return out.getvalue()


PAGES = (
    Page("/picture/{number:number}/swatch.jpg", look=_swatch),
    Page("/picture/{number:number}/flat.jpg", look=_flat),
    Page("/photo/{sha256}/upright.jpg", look=_upright),
    Page("/photo/{sha256}/drawn.jpg", look=_drawn),
)
