"""Photos from bytes: upright pixels in the file's own RGB, or one sentence saying why not.

Pillow reads, because it takes the size from the header before decoding, knows colour
profiles and refuses files that are cut off; everything after works on the array.
"""

from __future__ import annotations

import io
import struct
import warnings
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import pillow_heif
from numpy.typing import NDArray
from PIL import (  # the plugins name themselves to Pillow when imported
    AvifImagePlugin,  # noqa: F401
    BmpImagePlugin,  # noqa: F401
    GifImagePlugin,  # noqa: F401
    Image,
    JpegImagePlugin,  # noqa: F401
    MpoImagePlugin,  # noqa: F401
    PngImagePlugin,  # noqa: F401
    TiffImagePlugin,  # noqa: F401
    UnidentifiedImageError,
    WebPImagePlugin,  # noqa: F401
)

from stash.errors import (
    DamagedPhotoError,
    EmptyPhotoError,
    NotAPhotoError,
)
from stash.photo.files.colour_codes import check_no_hdr, note_colour_codes
from stash.photo.files.colour_profile import OwnColours, own_colours, to_srgb
from stash.photo.files.file_kind import (
    begins_as_photo,
    jpeg_has_its_end,
    kind_that_is_no_photo,
    looks_like_heif,
)
from stash.photo.files.photo_details import read_details
from stash.photo.files.picture_size import MAX_MEGAPIXELS, check_size, too_large

__all__ = ["Photo", "PixelsU8", "read_photo"]

PixelsU8 = NDArray[np.uint8]

_FORMATS = ("JPEG", "PNG", "WEBP", "GIF", "TIFF", "BMP", "AVIF")  # MPO opens as JPEG
_NO_PHOTO = "This file is not a photo that can be read. Save it as JPEG, HEIC or PNG; try again."
_RAW_PERHAPS = (
    "This file is not a photo that can be read, perhaps a camera raw file. Export it as JPEG or "
    "HEIC and log that."
)
_BAND_ROWS = 64  # rows copied at a time: no second full copy, and 3 times faster than one
_FAULTS = (
    OSError,
    ValueError,
    RuntimeError,
    SyntaxError,
    EOFError,
    TypeError,
    LookupError,
    OverflowError,
    AttributeError,
    MemoryError,
    struct.error,
    zlib.error,
)


@dataclass(frozen=True, eq=False)
class Photo:
    """A photo as it is measured.

    Attributes
    ----------
    pixels : uint8, shape (height, width, 3)
        Upright, red first, as the file codes them: sRGB, or what ``own`` says. A card tells what
        they mean, so it is these that are measured.
    name : str
        File name, a label only.
    warnings : tuple of str
        What was odd about the file, one sentence each.
    has_colour : bool
        False for black-and-white pictures.
    focal_35mm : float or None
        35 mm equivalent focal length, if the photo's details tell it.
    dots_per_in : tuple of two floats, or None
        Resolution across and along that the file states; a scanner's is true, a camera's is not.
    has_profile : bool
        Whether a colour profile says what the file's colours mean.
    own : OwnColours or None
        What wider colours than sRGB's ``pixels`` are coded in.
    """

    pixels: PixelsU8
    name: str
    warnings: tuple[str, ...] = ()
    has_colour: bool = True
    focal_35mm: float | None = None
    dots_per_in: tuple[float, float] | None = None
    has_profile: bool = False
    own: OwnColours | None = None

    @cached_property
    def pixels_srgb(self) -> PixelsU8:
        """The same in sRGB, for showing and for where no card tells colours; clipped to it."""
        own = self.own
        if own is None:
            return self.pixels
        return _by_bands(
            self.pixels.shape[:2], lambda band: own.to_srgb(Image.fromarray(self.pixels[band]))
        )


def read_photo(data: bytes, *, name: str) -> Photo:
    """Turn the bytes of a photo file into upright sRGB pixels.

    The format is told by the content, never by the name. Of a file with several pictures the
    first is taken; see-through parts are laid on white.

    Parameters
    ----------
    data : bytes
        The whole file.
    name : str
        How the user knows the file; used as a label only.

    Raises
    ------
    UnreadablePhotoError
        One of its leaves: empty, no photo, damaged, too large or too small.
    """
    if not data:
        raise EmptyPhotoError(name, "This file is empty. Copy it from the phone again.")
    other = kind_that_is_no_photo(data)
    if other is not None:
        raise NotAPhotoError(name, other)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # odd metadata is told in our own words
        image, said = _decoded(data, name)
        dots_per_in, has_profile = _dots_per_in(image), bool(image.info.get("icc_profile"))
        details = read_details(image)
        said += details.warnings
        own = own_colours(image, adobe_rgb=details.adobe_rgb)
        if own is None:
            pixels, profile_said = _srgb_pixels(image, name, adobe_rgb=details.adobe_rgb)
        else:
            pixels, profile_said = _own_pixels(image), ()
        image.close()
    said += profile_said
    pixels = _upright(pixels, details.orientation)
    if dots_per_in is not None and details.orientation > 4:  # lies on its side
        dots_per_in = dots_per_in[::-1]
    has_colour = _has_colour(pixels)
    if not has_colour:
        said += ("This picture is black-and-white (grey): it shows value, but no colour.",)
    return Photo(
        pixels,
        name,
        said,
        has_colour,
        details.focal_35mm,
        dots_per_in,
        has_profile and not profile_said,
        own,
    )


def _dots_per_in(image: Image.Image) -> tuple[float, float] | None:
    try:
        across, along = (float(value) for value in image.info["dpi"])
    except (KeyError, *_FAULTS, ArithmeticError):
        return None
    return (across, along) if across > 0 and along > 0 else None


def _decoded(data: bytes, name: str) -> tuple[Image.Image, tuple[str, ...]]:
    try:
        image = _opened(data)
    except Image.DecompressionBombError:
        raise too_large(name, f"more than {MAX_MEGAPIXELS}") from None
    except UnidentifiedImageError as fault:
        if begins_as_photo(data):
            raise _damaged(name, fault) from None
        perhaps_raw = data.startswith((b"II", b"MM"))
        raise NotAPhotoError(name, _RAW_PERHAPS if perhaps_raw else _NO_PHOTO) from None
    except _FAULTS as fault:
        raise _damaged(name, fault) from None
    _check_raw(image, name)
    _check_planes(image, name)
    check_size(image, data, name)
    note_colour_codes(image, data)
    check_no_hdr(image, name)
    if image.format in {"JPEG", "MPO"} and not jpeg_has_its_end(data):
        raise _damaged(name, EOFError())
    said: tuple[str, ...] = ()
    if image.format != "MPO" and _has_more_pictures(image):
        said = ("This file holds several pictures (frames); only the first was used.",)
    try:
        image.load()
    except _FAULTS as fault:
        raise _damaged(name, fault) from None
    return image, said


def _has_more_pictures(image: Image.Image) -> bool:
    """Look no further than the second picture: a file may claim any number of them."""
    try:
        return bool(getattr(image, "is_animated", False))
    except _FAULTS:
        return False  # what follows the first picture is broken, and not used


def _opened(data: bytes) -> Image.Image:
    if looks_like_heif(data):
        heif = pillow_heif.open_heif(io.BytesIO(data), convert_hdr_to_8bit=True)
        width, height = heif.size
        if width * height > MAX_MEGAPIXELS * 1e6:
            raise Image.DecompressionBombError
        picture: Image.Image = pillow_heif.HeifImageFile(io.BytesIO(data))  # type: ignore[no-untyped-call]
        picture.info["turn_is_applied"] = True
        return picture
    return Image.open(io.BytesIO(data), formats=_FORMATS)


def _check_raw(image: Image.Image, name: str) -> None:
    if image.format != "TIFF":
        return
    tags = _tags(image)
    # TIFF 6.0 and DNG 1.6: 254 bit 0 = a reduced copy, 330 = further pictures, 50706 = DNG.
    if 50706 in tags or (330 in tags and int(tags.get(254, 0)) & 1):
        raise NotAPhotoError(
            name,
            "This is a camera raw file (DNG); its sensor data cannot be measured. "
            "Export the photo as JPEG or HEIC and log that.",
        )


def _check_planes(image: Image.Image, name: str) -> None:
    """Refuse what the library reads without a word, but wrongly: 16 bits in separate planes."""
    tags = _tags(image)
    bits = tags.get(258, 8)
    deepest = max(bits) if isinstance(bits, tuple) and bits else bits
    if tags.get(284) == 2 and deepest != 8:
        raise NotAPhotoError(
            name,
            "This TIFF keeps its colours apart with more than 8 bits each, which cannot be read. "
            "Save it as JPEG or PNG.",
        )


def _damaged(name: str, fault: BaseException) -> DamagedPhotoError:
    cut = "truncated" in str(fault).lower() or isinstance(fault, EOFError)
    what = "is incomplete (cut off)" if cut else "is damaged or of a kind that cannot be read"
    return DamagedPhotoError(
        name, f"This photo {what}. Copy it from the phone again, or save it as JPEG."
    )


def _srgb_pixels(
    image: Image.Image, name: str, *, adobe_rgb: bool
) -> tuple[PixelsU8, tuple[str, ...]]:
    said: tuple[str, ...] = ()

    def converted(rows: slice) -> Image.Image:
        """Convert a band of rows and note what was said of its colours."""
        nonlocal said
        band = _band(image, rows)
        band.format = image.format  # a cut-out forgets it
        rgb, said = to_srgb(band, name, adobe_rgb=adobe_rgb, tags=_tags(image))
        return rgb

    try:
        pixels = _by_bands((image.height, image.width), converted)
    except _FAULTS as fault:
        raise _damaged(name, fault) from None
    return pixels, said


def _own_pixels(image: Image.Image) -> PixelsU8:
    return _by_bands((image.height, image.width), lambda rows: _band(image, rows))


def _band(image: Image.Image, rows: slice) -> Image.Image:
    return image.crop((0, rows.start, image.width, rows.stop))


def _by_bands(size_px: tuple[int, ...], band_of: Callable[[slice], Image.Image]) -> PixelsU8:
    """Convert a band of rows at a time: no second copy of the whole, whatever its kind."""
    height, width = size_px
    pixels = np.empty((height, width, 3), dtype=np.uint8)
    for top in range(0, height, _BAND_ROWS):
        rows = slice(top, min(top + _BAND_ROWS, height))
        pixels[rows] = np.asarray(band_of(rows))
    return pixels


def _tags(image: Image.Image) -> Mapping[int, Any]:
    return getattr(image, "tag_v2", {}) if image.format == "TIFF" else {}


def _upright(pixels: PixelsU8, orientation: int) -> PixelsU8:
    # EXIF 2.32, tag 274: where the stored first row and first column lie in the upright picture.
    turned = {
        2: lambda p: p[:, ::-1],
        3: lambda p: p[::-1, ::-1],
        4: lambda p: p[::-1],
        5: lambda p: p.swapaxes(0, 1),
        6: lambda p: p[::-1].swapaxes(0, 1),
        7: lambda p: p[::-1, ::-1].swapaxes(0, 1),
        8: lambda p: p[:, ::-1].swapaxes(0, 1),
    }
    if orientation not in turned:
        return pixels
    return np.ascontiguousarray(turned[orientation](pixels))


def _has_colour(pixels: PixelsU8) -> bool:
    step = max(1, min(pixels.shape[:2]) // 200)
    red, green, blue = np.moveaxis(pixels[::step, ::step], 2, 0)
    spread = np.maximum(np.maximum(red, green), blue) - np.minimum(np.minimum(red, green), blue)
    return bool(spread.max() > 3)  # JPEG rounding moves a grey by up to 2
