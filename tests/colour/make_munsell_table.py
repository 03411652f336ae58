"""Make the Munsell table that ships in stash/colour/munsell.npy.

Run ``python tests/colour/make_munsell_table.py`` after changing anything here. The rows are
the renotation of the Munsell colours (Newhall, Nickerson, Judd 1943, Journal of the Optical
Society of America 33, 385; public domain), as colour-science carries them, moved from
illuminant C to D65 by the Bradford transform and written as CIELAB.
"""

from __future__ import annotations

from pathlib import Path

import colour
import numpy as np

from stash.colour.spaces import D65_WHITE

# Hue letters in circle order; the family's middle, 5, lies at 5 + 10 * index of 100.
LETTERS = ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP")
TABLE = Path(__file__).parents[2] / "stash" / "colour" / "munsell.npy"


def hue_number(hue: str) -> float:
    """Give 2.5R as 2.5, 5YR as 15 ... on the circle of 100."""
    letters = hue.lstrip("0123456789.")
    return (float(hue[: -len(letters)]) + 10 * LETTERS.index(letters)) % 100


def luminance_of_value(value):
    """Y in 0..1 of a Munsell value, ASTM D1535 (magnesium oxide taken out)."""
    powers = np.stack([value, value**2, value**3, value**4, value**5])
    return np.array([1.1914, -0.22533, 0.23352, -0.020484, 0.00081939]) @ powers / 100


def rows():
    """Give (n, 6) of L, a, b and hue, chroma, value."""
    from_c = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["C"]
    notation, xyy = [], []
    for (hue, value, chroma), values in colour.MUNSELL_COLOURS["Munsell Colours All"]:
        notation.append((hue_number(hue), chroma, value))
        xyy.append(values)
    chips = np.array(notation, dtype=float)
    xyz = colour.xyY_to_XYZ(np.array(xyy) * [1, 1, 0.01])
    # The table's Y is on the scale where magnesium oxide is 100; the polynomial is not.
    xyz *= (luminance_of_value(chips[:, 2]) / xyz[:, 1])[:, None]
    white_c = colour.xy_to_XYZ(from_c)
    moved = colour.adaptation.chromatic_adaptation_VonKries(
        xyz, white_c, D65_WHITE, transform="Bradford"
    )
    lab = colour.XYZ_to_Lab(moved, colour.XYZ_to_xy(D65_WHITE))
    greys = np.linspace(0.0, 10.0, 21)
    lightness = colour.XYZ_to_Lab(
        luminance_of_value(greys)[:, None] * D65_WHITE, colour.XYZ_to_xy(D65_WHITE)
    )
    neutral = np.column_stack([lightness, np.zeros(21), np.zeros(21), greys])
    table = np.vstack([np.column_stack([lab, chips]), neutral])
    # Rows far outside what a card or a camera can see only slow the look-up down.
    return table[np.abs(table[:, 1:3]).max(axis=1) < 127]


def encoded():
    """The table as hundredths in int16."""
    return np.round(rows() * 100).astype(np.int16)


if __name__ == "__main__":
    np.save(TABLE, encoded())
    print(TABLE, encoded().shape)
