"""Palettes as files for other programs: GIMP palettes and CSV."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator

import numpy as np

from stash.colour.naming import FAMILIES, family_of
from stash.colour.palette import Palette, Target
from stash.colour.spaces import Lab, hex_of_lab, lab_of_hex
from stash.errors import PaletteError

__all__ = ["csv_of_palette", "gpl_of_palette", "palette_of_gpl", "typical_lab"]

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


def typical_lab(family: str, value: str = "") -> Lab:
    """Give a colour to show a family by, light, medium or dark if asked."""
    lightness, a, b = lab_of_hex(_TYPICAL[family])
    if value:
        shrink = {"light": 0.55, "medium": 1.0, "dark": 0.75}[value]
        return (_LIGHTNESS[value], a * shrink, b * shrink)
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
    targets = []
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
    return out.getvalue()
