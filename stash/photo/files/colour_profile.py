"""What a file's numbers mean: its own RGB where that is a camera's, else turned into 8-bit sRGB."""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Any

import numpy as np
from PIL import Image, ImageCms

from stash.colour.spaces import linear_of_srgb, srgb_of_linear
from stash.errors import NotAPhotoError

__all__ = ["OwnColours", "own_colours", "to_srgb"]

_BROKEN = (
    "The colour profile in this file is broken and was left aside; "
    "colours are read as ordinary (sRGB) ones.",
)
_PRINT = (
    "This is a picture made for a press (CMYK); its colours were turned into screen colours and "
    "may be off.",
)
_Primaries = tuple[tuple[float, float], ...]
# Matrices linear RGB -> linear sRGB, derived from the primaries of Adobe RGB (1998) 4.3.1.1
# and of BT.2020 / SMPTE EG 432-1 (P3), all white D65.
_PRIMARIES: dict[str, _Primaries] = {
    "adobe": ((0.64, 0.33), (0.21, 0.71), (0.15, 0.06)),
    "p3": ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060)),
    "bt2020": ((0.708, 0.292), (0.170, 0.797), (0.131, 0.046)),
    "srgb": ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06)),
}
_WHITE = (0.3127, 0.3290)  # D65
_ADOBE_GAMMA = 563 / 256  # Adobe RGB (1998) 4.3.4.2
_HEIF_PRIMARIES = {9: "bt2020", 11: "p3", 12: "p3"}  # ISO/IEC 23091-2, colour primaries
# Levels of 255 that a grey may be coded away from sRGB: Adobe RGB's curve is 5 off at most, those
# of ROMM RGB and of linear files 40 and more; there pictures look too dark to find things in.
_LIKE_SRGB = 12


@dataclass(frozen=True, slots=True)
class OwnColours:
    """What the RGB of a file means, whose colours reach further than sRGB's.

    Attributes
    ----------
    profile : bytes
        The ICC profile that says it; empty where only a name does.
    space : str
        That name, one of `_PRIMARIES`.
    """

    profile: bytes = b""
    space: str = ""

    def to_srgb(self, image: Image.Image) -> Image.Image:
        """Give an RGB image, or a part of one, in sRGB; what lies outside is clipped."""
        if self.profile:
            transform = _transform(self.profile, "RGB")
            return image if transform is None else transform.apply(image)
        return _by_matrix(image, _linear_levels(self.space), _PRIMARIES[self.space])


def own_colours(image: Image.Image, *, adobe_rgb: bool = False) -> OwnColours | None:
    """Say what a file's own RGB means; None where it is sRGB, or has to be turned into it.

    A camera's wide colours are measured as they are: in sRGB strong teals and reds would be cut
    off. Files of other kinds (grey, press, transparent, coded unlike sRGB in their greys) are not.
    """
    if image.mode != "RGB" or "transparency" in image.info:
        return None
    profile = image.info.get("icc_profile")
    if profile:
        if _changes_nothing(profile) or not _greys_like_srgb(profile):
            return None
        return OwnColours(profile=profile)
    space = _named_space(image, adobe_rgb=adobe_rgb)
    return OwnColours(space=space) if space else None


def _named_space(image: Image.Image, *, adobe_rgb: bool) -> str:
    if adobe_rgb:
        return "adobe"
    nclx = image.info.get("nclx_profile")
    code = nclx.get("color_primaries") if isinstance(nclx, dict) else None
    return _HEIF_PRIMARIES.get(code, "") if isinstance(code, int) else ""


@lru_cache(maxsize=8)
def _greys_like_srgb(profile: bytes) -> bool:
    transform = _transform(profile, "RGB")
    if transform is None:
        return False
    greys = np.repeat(np.arange(256, dtype=np.uint8)[None, :, None], 3, axis=2)
    after = np.asarray(transform.apply(Image.fromarray(greys))).astype(int)
    return bool(np.abs(after - greys).max() <= _LIKE_SRGB)


def to_srgb(
    image: Image.Image,
    name: str,
    *,
    adobe_rgb: bool = False,
    tags: Mapping[int, object] = MappingProxyType({}),
) -> tuple[Image.Image, tuple[str, ...]]:
    """Give an RGB image in sRGB (relative colorimetric), and what was odd about its colours.

    Parameters
    ----------
    image : Image
        The picture or a part of it; may be changed.
    name : str
        Told in errors.
    adobe_rgb : bool
        Whether the photo's details name the wide space.
    tags : mapping
        Of a TIFF.

    Raises
    ------
    NotAPhotoError
        For press colours without a profile: what they look like cannot be known.
    """
    profile = image.info.get("icc_profile")
    flat = _usual_mode(image, tags)
    if flat.mode == "CMYK":
        return _from_press(flat, profile, name)
    alpha = flat.getchannel("A") if flat.mode in {"RGBA", "LA"} else None
    rgb = flat if alpha is None else flat.convert(flat.mode[:-1])
    said: tuple[str, ...] = ()
    if profile:
        rgb, said = _by_profile(rgb, profile)
    elif rgb.mode == "RGB":
        rgb = _by_hint(rgb, image, adobe_rgb=adobe_rgb)
    if rgb.mode != "RGB":
        rgb = rgb.convert("RGB")
    if alpha is not None:
        rgb = Image.composite(rgb, Image.new("RGB", rgb.size, "white"), alpha)
    return rgb, said


def _usual_mode(image: Image.Image, tags: Mapping[int, object]) -> Image.Image:
    mode = image.mode
    if mode.startswith("I"):
        return _from_16_bit(image, turned_round=tags.get(262) == 0)
    if mode == "F":
        raise ValueError("floating point pictures are not photos")
    if "transparency" in image.info:
        return image.convert("RGBA")
    if mode in {"RGB", "RGBA", "L", "LA", "CMYK"}:
        return image
    return image.convert({"1": "L", "PA": "RGBA", "La": "LA", "RGBa": "RGBA"}.get(mode, "RGB"))


def _from_16_bit(image: Image.Image, *, turned_round: bool) -> Image.Image:
    if not image.mode.startswith("I;16"):
        raise ValueError("numbers of 32 bits are no photo")
    values = ((np.asarray(image).astype(np.uint32) + 128) // 257).astype(np.uint8)
    # TIFF 6.0, tag 262: 0 counts from white; the library turns it round for 8 bits only.
    return Image.fromarray(255 - values if turned_round else values)


def _from_press(image: Image.Image, profile: Any, name: str) -> tuple[Image.Image, tuple[str, ...]]:
    transform = _transform(profile, "CMYK") if profile else None
    if transform is None:
        raise NotAPhotoError(
            name,
            "This picture is made for a press (CMYK) and does not say for which, so its colours "
            "cannot be known. Use the photo as the camera took it.",
        )
    return _applied(image, transform), _PRINT


def _by_profile(image: Image.Image, profile: bytes) -> tuple[Image.Image, tuple[str, ...]]:
    transform = _transform(profile, image.mode)
    if transform is None and image.mode == "L":
        # A black-and-white picture may carry the colour profile it was edited under.
        transform = _transform(profile, "RGB")
        image = image.convert("RGB") if transform is not None else image
    if transform is None:
        return image, _BROKEN
    if image.mode == "RGB" and _changes_nothing(profile):
        return image, ()
    return _applied(image, transform), ()


@lru_cache(maxsize=8)
def _transform(profile: bytes, mode: str) -> ImageCms.ImageCmsTransform | None:
    space = {"RGB": "RGB", "L": "GRAY", "CMYK": "CMYK"}[mode]
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        if source.profile.xcolor_space.strip() != space:
            return None
        return ImageCms.ImageCmsTransform(
            source,
            ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")),
            mode,
            "RGB",
            ImageCms.Intent.RELATIVE_COLORIMETRIC,
        )
    except (OSError, ImageCms.PyCMSError, ValueError, TypeError):
        return None


def _applied(image: Image.Image, transform: ImageCms.ImageCmsTransform) -> Image.Image:
    if image.mode == "RGB":
        transform.apply_in_place(image)
        return image
    return transform.apply(image)


@lru_cache(maxsize=8)
def _changes_nothing(profile: bytes) -> bool:
    transform = _transform(profile, "RGB")
    if transform is None:
        return True
    steps = np.arange(0, 256, 15, dtype=np.uint8)
    cube = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 1, 3)
    after = np.asarray(transform.apply(Image.fromarray(cube))).astype(int)
    return bool(np.abs(after - cube).max() <= 1)


def _by_hint(rgb: Image.Image, image: Image.Image, *, adobe_rgb: bool) -> Image.Image:
    """Turn colours that a file describes without a profile: by EXIF, PNG gamma or HEIF codes."""
    space = _named_space(image, adobe_rgb=adobe_rgb)
    if space:
        return OwnColours(space=space).to_srgb(rgb)
    levels = np.arange(256) / 255
    nclx = image.info.get("nclx_profile")
    code = nclx.get("color_primaries") if isinstance(nclx, dict) else None
    gamma = image.info.get("gamma")
    if image.format != "PNG" or code or not gamma or "srgb" in image.info:
        return rgb
    primaries = _png_primaries(image)
    if primaries is not None:
        return _by_matrix(rgb, levels ** (1 / gamma), primaries)
    if abs(gamma - 1 / 2.2) > 0.02:
        curve = np.rint(255 * srgb_of_linear(levels ** (1 / gamma))).astype(np.uint8)
        return rgb.point([int(value) for value in np.tile(curve, 3)])
    return rgb


def _png_primaries(image: Image.Image) -> _Primaries | None:
    """Give the corners of the colour space that a PNG's cHRM states, where not those of sRGB."""
    stated = image.info.get("chromaticity")
    if not stated or len(stated) != 8 or min(stated) <= 0:
        return None
    white, *found = zip(stated[::2], stated[1::2], strict=True)
    corners = tuple(found)
    usual = _PRIMARIES["srgb"]
    off = np.abs(np.array(corners) - np.array(usual)).max()
    if np.abs(np.array(white) - _WHITE).max() > 0.002 or off < 0.005:
        return None
    return corners if abs(np.linalg.det(_columns(corners))) > 0.01 else None


def _linear_levels(space: str) -> Any:
    levels = np.arange(256) / 255
    return levels**_ADOBE_GAMMA if space == "adobe" else linear_of_srgb(levels)


def _by_matrix(image: Image.Image, linear: Any, space: _Primaries) -> Image.Image:
    matrix = (np.linalg.inv(_xyz_of(_PRIMARIES["srgb"])) @ _xyz_of(space)).T
    pixels = np.asarray(image)
    out = np.empty_like(pixels)
    for top in range(0, len(pixels), 256):
        band = srgb_of_linear(linear[pixels[top : top + 256]] @ matrix)
        out[top : top + 256] = np.rint(255 * band).astype(np.uint8)
    return Image.fromarray(out)


def _xyz_of(primaries: _Primaries) -> Any:
    columns = _columns(primaries)
    x, y = _WHITE
    return columns * np.linalg.solve(columns, np.array([x / y, 1.0, (1 - x - y) / y]))


def _columns(primaries: _Primaries) -> Any:
    return np.array([[x / y, 1.0, (1 - x - y) / y] for x, y in primaries]).T
