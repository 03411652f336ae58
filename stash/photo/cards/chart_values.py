"""What the squares of 24-patch charts are said to be: published values, or a file of them.

The common chart's inks were changed in November 2014. The values its maker published for either
formulation (2016) are under D50; they were brought to D65 by a Bradford transform. They come with
colour-science (BSD 3-Clause), from which tests/photo/test_card.py works them out again.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from stash.colour.spaces import D65_WHITE, FloatArray, lab_of_xyz, linear_of_lab, xyz_of_lab
from stash.errors import MeasureError

__all__ = ["AVERAGE", "PUBLISHED", "published_linear", "read_values"]

AVERAGE = "average"
PUBLISHED: Mapping[str, str] = MappingProxyType(
    {
        AVERAGE: "the mean of 30 charts that were measured",
        "before-2014": "published for charts made before November 2014",
        "after-2014": "published for charts made since November 2014",
    }
)
# CIELAB, white D65, 2 degree observer, row by row from dark skin to black.
_BEFORE_2014 = (
    (37.77, 12.59, 13.74), (65.43, 16.85, 17.38), (50.22, -2.30, -21.53),
    (43.04, -14.95, 22.05), (55.37, 11.47, -25.16), (70.91, -33.08, 0.27),
    (62.04, 33.60, 56.36), (40.66, 16.05, -45.14), (50.62, 47.70, 15.19),
    (30.44, 24.89, -21.59), (72.29, -27.95, 57.87), (71.39, 15.89, 67.71),
    (29.57, 20.60, -49.21), (55.23, -41.21, 31.93), (41.47, 52.75, 26.87),
    (81.22, -0.44, 80.27), (51.73, 51.21, -15.24), (51.56, -23.96, -27.84),
    (96.53, -0.53, 1.18), (81.26, -0.60, -0.32), (66.78, -0.68, -0.49),
    (50.87, -0.13, -0.27), (35.67, -0.30, -1.21), (20.47, 0.01, -0.96),
)  # fmt: skip
_AFTER_2014 = (
    (37.32, 13.37, 14.58), (64.38, 18.02, 17.05), (49.62, -1.18, -22.17),
    (43.35, -14.64, 22.86), (55.18, 12.14, -24.57), (70.67, -31.94, 0.08),
    (62.11, 33.37, 55.77), (40.06, 16.25, -44.37), (50.06, 48.10, 15.60),
    (30.21, 24.39, -20.88), (71.52, -28.41, 58.85), (70.97, 14.75, 67.25),
    (29.15, 21.66, -48.74), (54.35, -42.68, 32.87), (41.82, 50.32, 27.36),
    (81.30, -1.87, 80.92), (50.40, 52.48, -14.82), (50.10, -24.99, -27.52),
    (95.17, -1.30, 2.92), (81.29, -0.61, 0.44), (66.90, -0.74, -0.05),
    (50.76, -0.14, 0.14), (35.64, -0.41, -0.47), (20.64, 0.11, -0.46),
)  # fmt: skip
_D50_WHITE = np.array([0.96422, 1.0, 0.82521])  # ISO 13655
# Cone responses after Bradford, Lam 1985; as in ICC.1:2022 annex E.
_CONES_OF_XYZ = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)


def published_linear(values: str) -> FloatArray:
    """Give linear sRGB (24, 3), not clipped, of one of ``PUBLISHED`` other than the average."""
    tables = {"before-2014": _BEFORE_2014, "after-2014": _AFTER_2014}
    return linear_of_lab(np.array(tables[values]))


def read_values(text: str) -> FloatArray:
    """Read 24 rows of CIELAB under D50, as makers give them; linear sRGB (24, 3), not clipped.

    The last three numbers of a line are L*, a*, b*; lines without three are headings.

    Raises
    ------
    MeasureError
        If there are not 24 rows, or their numbers are no colours.
    """
    numbers = [re.findall(r"-?\d+(?:\.\d+)?", line.replace(";", " ")) for line in text.splitlines()]
    rows = [[float(value) for value in row[-3:]] for row in numbers if len(row) >= 3]
    if len(rows) != 24:
        raise MeasureError(
            f"This file holds {len(rows)} rows of three numbers; a chart has 24. Write L*, a* and "
            "b* (D50) of one square a line, row by row from dark skin to black."
        )
    lab = np.array(rows)
    if lab[:, 0].min() < 0 or lab[:, 0].max() > 100 or np.abs(lab[:, 1:]).max() > 128:
        raise MeasureError(
            "These numbers are no CIELAB colours: L* lies between 0 and 100, a* and b* within 128."
        )
    return linear_of_lab(_under_d65(lab))


def _under_d65(lab: FloatArray) -> FloatArray:
    gain = (_CONES_OF_XYZ @ D65_WHITE) / (_CONES_OF_XYZ @ _D50_WHITE)
    adapt = np.linalg.inv(_CONES_OF_XYZ) @ np.diag(gain) @ _CONES_OF_XYZ
    return lab_of_xyz(xyz_of_lab(lab, white=_D50_WHITE) @ adapt.T)
