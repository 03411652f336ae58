"""Palettes as files for other programs: GIMP palettes, CSV, JSON and Adobe swatch exchange."""

from __future__ import annotations

import csv
import io
import json
import re
import struct
from collections.abc import Callable, Iterator

import numpy as np

from stash.colour.naming import FAMILIES, family_of
from stash.colour.palette import Palette, Target
from stash.colour.spaces import Lab, hex_of_lab, lab_of_hex
from stash.colour.tones import TONES
from stash.errors import PaletteError

__all__ = [
    "PALETTE_FORMATS",
    "ase_of_palette",
    "csv_of_palette",
    "gpl_of_palette",
    "json_of_palette",
    "palette_of_gpl",
    "typical_lab",
]

_MOST_COLOURS = 500  # twice what such files hold usually; no quilt has as many
_ROW = re.compile(r"^\s*(\d{1,3})\s+(\d{1,3})\s+(\d{1,3})(?:\s+(.*))?$")
# A colour in the middle of each family, to show it by; own choice, tested to be in the family.
_TYPICAL = dict(
    zip(
        FAMILIES,
        (
            "#f5f5f2", "#8d9091", "#1b1b1c", "#efe6cf", "#c9b596", "#6b4730", "#eda5b4", "#b02a33",
            "#dd7a35", "#d3a040", "#f2dc5c", "#76702f", "#4f8f4c", "#2c8c8c", "#3366a5", "#7a4a93",
        ),
        strict=True,
    )
)  # fmt: skip
_LIGHTNESS = {"light": 78.0, "medium": 55.0, "dark": 27.0}


_MUTED = 0.6  # of the chroma, where a tone is shown by a duller colour; judgement


def typical_lab(family: str, value: str = "") -> Lab:
    """Give a colour to show a family by, of a tone if asked."""
    lightness, a, b = lab_of_hex(_TYPICAL[family])
    if value:
        shown = TONES[value].shown_as
        shrink = {"light": 0.55, "medium": 1.0, "dark": 0.75}[shown]
        shrink *= _MUTED if value in ("muted", "earth") else 1.0
        return (_LIGHTNESS[shown], a * shrink, b * shrink)
    return (lightness, a, b)


def palette_of_gpl(name: str, text: str) -> Palette:
    """Read a GIMP palette file; each of its colours becomes a main colour.

    Raises
    ------
    PaletteError
        If the text is no GIMP palette, or holds no colour; the message names the line.
    """
    lines = text.lstrip("\ufeff").splitlines()
    if not lines or lines[0].strip().lower() != "gimp palette":
        raise PaletteError("This is not a GIMP palette; its first line should say “GIMP Palette”.")
    targets: list[Target] = []
    for number, line in enumerate(lines[1:], start=2):
        plain = line.strip()
        if not plain or plain.startswith("#") or re.match(r"(?i)(name|columns|channels):", plain):
            continue
        found = _ROW.match(line)
        levels = [int(level) for level in found.groups()[:3]] if found else [256]
        if found is None or max(levels) > 255:
            raise PaletteError(f"Line {number} of the GIMP palette is no colour: “{plain[:40]}”.")
        label = (found[4] or "").strip()
        code = "#" + "".join(f"{level:02x}" for level in levels)
        if len(targets) == _MOST_COLOURS:
            raise PaletteError(
                f"This GIMP palette has more than {_MOST_COLOURS} colours; keep those the quilt "
                "shall have."
            )
        targets.append(Target(lab_of_hex(code), name="" if label.lower() == "untitled" else label))
    if not targets:
        raise PaletteError("This GIMP palette holds no colour.")
    return Palette(name, targets=tuple(targets))


def _entries(palette: Palette) -> Iterator[tuple[str, str, Lab]]:
    for target in palette.targets:
        yield target.label, target.amount.value, target.lab
    for wanted in palette.families:
        label = f"{wanted.value} {wanted.family}".strip()
        yield label, wanted.amount.value, typical_lab(wanted.family, wanted.value)


def gpl_of_palette(palette: Palette) -> str:
    """Write a GIMP palette; a family stands for itself by a typical colour."""
    title = " ".join(palette.name.split())
    lines = ["GIMP Palette", f"Name: {title}", "Columns: 0", "#"]
    for label, amount, lab in _entries(palette):
        code = hex_of_lab(lab).lstrip("#")
        levels = [int(code[i : i + 2], 16) for i in (0, 2, 4)]
        lines.append("{:3d} {:3d} {:3d}\t".format(*levels) + f"{label} ({amount})")
    return "\n".join(lines) + "\n"


def csv_of_palette(palette: Palette) -> str:
    """Write a table: role, name, amount, family, hex colour, L*, a*, b*."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["role", "name", "amount", "family", "hex", "L*", "a*", "b*"])
    for label, amount, lab in _entries(palette):
        numbers = [f"{v:.2f}" for v in np.asarray(lab)]
        writer.writerow(["wanted", label, amount, family_of(lab).family, hex_of_lab(lab), *numbers])
    for family in palette.without:
        writer.writerow(["ruled out", family, "", family, "", "", "", ""])
    for shade in palette.avoided:
        writer.writerow(["ruled out", shade.called, "", "", "", "", "", ""])
    return out.getvalue()


def json_of_palette(palette: Palette) -> str:
    """Write JSON: what is wanted, with hex and CIELAB (white D65), and what is ruled out."""
    wanted = [
        {
            "name": label,
            "amount": amount,
            "family": str(family_of(lab).family),
            "hex": hex_of_lab(lab),
            "lab": [round(float(value), 2) for value in lab],
        }
        for label, amount, lab in _entries(palette)
    ]
    body = {
        "palette": palette.name,
        "wanted": wanted,
        "ruled_out": list(palette.ruled_out),
        "neutrals": palette.neutrals,
    }
    return json.dumps(body, ensure_ascii=False, indent=1) + "\n"


def ase_of_palette(palette: Palette) -> bytes:
    """Write an Adobe swatch exchange file: one group of the palette's name, colours as sRGB.

    The layout is that of docs/sources.md, "swatch exchange": big-endian blocks of kind, length,
    name in UTF-16 ended by a zero, colour model, levels from 0 to 1, and how the ink is used.
    """
    blocks = [_ase_block(0xC001, _ase_name(palette.name))]
    for label, _, lab in _entries(palette):
        code = hex_of_lab(lab).lstrip("#")
        levels = [int(code[i : i + 2], 16) / 255 for i in (0, 2, 4)]
        colour = struct.pack(">4s3fH", b"RGB ", *levels, 2)  # 2: neither global nor spot
        blocks.append(_ase_block(0x0001, _ase_name(label) + colour))
    blocks.append(_ase_block(0xC002, b""))
    return struct.pack(">4sHHI", b"ASEF", 1, 0, len(blocks)) + b"".join(blocks)


def _ase_block(kind: int, body: bytes) -> bytes:
    return struct.pack(">HI", kind, len(body)) + body


def _ase_name(name: str) -> bytes:
    units = name.replace("\0", " ").encode("utf-16-be", errors="replace") + b"\0\0"
    return struct.pack(">H", len(units) // 2) + units


# What a file's ending asks for.
PALETTE_FORMATS: dict[str, Callable[[Palette], bytes]] = {
    ".gpl": lambda palette: gpl_of_palette(palette).encode(),
    ".csv": lambda palette: csv_of_palette(palette).encode(),
    ".json": lambda palette: json_of_palette(palette).encode(),
    ".ase": ase_of_palette,
}
