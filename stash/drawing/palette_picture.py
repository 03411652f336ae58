"""A palette as a picture: swatches as wide as their amount, each with its name."""

from __future__ import annotations

from dataclasses import dataclass

from stash.colour.colour_name import colour_name
from stash.colour.palette import Amount, Palette, Target
from stash.colour.palette_files import typical_lab
from stash.colour.spaces import Lab, hex_of_lab
from stash.drawing.canvas import INK, PALE_INK, Canvas, png_of, svg_of

__all__ = ["draw_palette"]

_WIDTH, _MARGIN, _GAP = 1200.0, 48.0, 10.0
_WEIGHT = {Amount.MAIN: 4.0, Amount.SOME: 2.0, Amount.TOUCH: 1.0}
_LEAST_WIDTH = 92.0
_SWATCH_HEIGHT = 190.0


@dataclass(frozen=True, slots=True)
class _Patch:
    name: str
    note: str
    labs: tuple[Lab, ...]
    weight: float


def draw_palette(palette: Palette, *, svg: bool = False) -> bytes:
    """Draw a palette as PNG or SVG.

    Families are shown by three values of a typical colour, single colours by themselves; what
    is ruled out stands crossed out below, by name.
    """
    rows = _rows(_patches(palette))
    row_height = _SWATCH_HEIGHT + 74
    height = 132 + len(rows) * row_height + (118 if palette.ruled_out else 30)
    canvas = Canvas(_WIDTH, height)
    canvas.text((_MARGIN, 34), palette.name, size=34, fill=INK)
    welcome = "neutrals welcome" if palette.neutrals else "no neutrals"
    canvas.text((_WIDTH - _MARGIN, 48), welcome, size=18, fill=PALE_INK, align="right")
    y = 104.0
    for row in rows:
        _draw_row(canvas, row, y)
        y += row_height
    if palette.ruled_out:
        _draw_ruled_out(canvas, palette, y)
    return svg_of(canvas) if svg else png_of(canvas)


def _patches(palette: Palette) -> list[_Patch]:
    patches = []
    for wanted in palette.families:
        values = (wanted.value,) if wanted.value else ("dark", "", "light")
        labs = tuple(typical_lab(wanted.family, value) for value in values)
        if wanted.family in ("white", "grey", "black") or wanted.value:
            labs = (typical_lab(wanted.family, wanted.value),)
        name = f"{wanted.value} {wanted.family}".strip()
        patches.append(_Patch(name, _amount_text(wanted.amount), labs, _WEIGHT[wanted.amount]))
    grouped: dict[tuple[str, Amount], list[Lab]] = {}
    for target in palette.targets:
        grouped.setdefault((target.name or hex_of_lab(target.lab), target.amount), []).append(
            target.lab
        )
    for (name, amount), labs_of_name in grouped.items():
        shown = f"{colour_name(labs_of_name[0])}, {name}" if name.startswith("#") else name
        patches.append(_Patch(shown, _amount_text(amount), tuple(labs_of_name), _WEIGHT[amount]))
    return sorted(patches, key=lambda patch: -patch.weight)


def _amount_text(amount: Amount) -> str:
    return {Amount.MAIN: "mostly", Amount.SOME: "some", Amount.TOUCH: "a touch"}[amount]


def _rows(patches: list[_Patch]) -> list[list[_Patch]]:
    """As many to a row as leave every patch room for its name."""
    rows: list[list[_Patch]] = []
    for patch in patches:
        if rows and len(rows[-1]) < 6:
            rows[-1].append(patch)
        else:
            rows.append([patch])
    return rows


def _draw_row(canvas: Canvas, row: list[_Patch], y: float) -> None:
    room = _WIDTH - 2 * _MARGIN - _GAP * (len(row) - 1) - _LEAST_WIDTH * len(row)
    total = sum(patch.weight for patch in row)
    x = _MARGIN
    for patch in row:
        width = _LEAST_WIDTH + room * patch.weight / total
        stripe = width / len(patch.labs)
        for number, lab in enumerate(patch.labs):
            canvas.rect(x + number * stripe, y, stripe, _SWATCH_HEIGHT, fill=hex_of_lab(lab))
        canvas.frame(x, y, width, _SWATCH_HEIGHT)
        canvas.text((x, y + _SWATCH_HEIGHT + 12), patch.name, size=19, fill=INK, width=width)
        canvas.text((x, y + _SWATCH_HEIGHT + 38), patch.note, size=16, fill=PALE_INK, width=width)
        x += width + _GAP


def _draw_ruled_out(canvas: Canvas, palette: Palette, y: float) -> None:
    canvas.text((_MARGIN, y + 8), "ruled out", size=16, fill=PALE_INK)
    x = _MARGIN
    shown = {family: typical_lab(family) for family in palette.without}
    for shade in palette.avoided:
        if isinstance(shade, Target):
            shown[shade.called] = shade.lab
        else:
            shown[shade.called] = typical_lab(shade.family, shade.value)
    for family, lab in shown.items():
        canvas.rect(x, y + 36, 64, 34, fill=hex_of_lab(lab))
        canvas.frame(x, y + 36, 64, 34)
        canvas.line(x, y + 70, x + 64, y + 36, fill=INK)
        canvas.line(x, y + 36, x + 64, y + 70, fill=INK)
        canvas.text((x + 74, y + 42), family, size=18, fill=INK)
        x += 190
