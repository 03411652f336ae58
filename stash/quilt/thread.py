"""How much thread sewing takes: a lockstitch uses more than the line it sews is long."""

from __future__ import annotations

import math
from dataclasses import dataclass

from stash.errors import PlanError

__all__ = [
    "PIECING_MM",
    "QUILTING_MM",
    "QuiltingThread",
    "Thread",
    "quilting_thread",
    "quilting_thread_m",
    "thread_for",
    "thread_ratio",
]

MM_PER_IN = 25.4
PIECING_MM = 2.1  # 12 stitches to the inch: the stitch length sheet of common practice
QUILTING_MM = 2.5  # 10 to the inch, as many quilt by machine: common practice, no source
# What the stitch goes through, pressed by the foot (judgement; two cottons of 0.25 mm, and a
# cotton batting between two of them):
_SEAM_THICK_MM = 0.5
_QUILT_THICK_MM = 2.5
# 50 wt cotton on a common bobbin, not wound to the brim: common practice, no source
BOBBIN_M = 50.0
STITCHES_A_MINUTE = 400.0  # a walking pace for lines that turn: judgement
_SPARE = 1.1  # ends, bobbin changes, a seam sewn twice: judgement


@dataclass(frozen=True, slots=True)
class Thread:
    """Thread to have at hand, needle and bobbin together.

    Attributes
    ----------
    piecing_m : float
        For the seams of the top, metres.
    seam_in : float
        How long those are.
    stitch_mm : float
        Stitch length it was worked out for.
    """

    piecing_m: float
    seam_in: float
    stitch_mm: float


@dataclass(frozen=True, slots=True)
class QuiltingThread:
    """What quilting lines take.

    Attributes
    ----------
    thread_m : float
        Needle and bobbin together, metres, with a tenth to spare.
    bobbins : int
        Full ones to wind: half the thread, ``BOBBIN_M`` on each.
    minutes : float
        At the machine while it sews, ``STITCHES_A_MINUTE``; pauses and marking not counted.
    stitch_mm : float
        Stitch length it was worked out for.
    """

    thread_m: float
    bobbins: int
    minutes: float
    stitch_mm: float


def thread_ratio(stitch_mm: float, thick_mm: float) -> float:
    """Give the length of thread, both together, for each length sewn.

    Each of the two threads runs along the stitch, and once a stitch goes half through the cloth
    and back: 2 x (stitch + thickness) for every stitch (computed). Seams in two cottons come to
    2.5, which is the figure printed for a lockstitch (stitch type 301; from memory).

    Examples
    --------
    >>> round(thread_ratio(2.1, 0.5), 2)
    2.48
    """
    if not (0.5 <= stitch_mm <= 10):
        raise PlanError(
            f"A stitch of {stitch_mm:g} mm is not one a machine sews; give 0.5 to 10 mm."
        )
    return 2 * (stitch_mm + thick_mm) / stitch_mm


def thread_for(seam_in: float, *, stitch_mm: float = PIECING_MM) -> Thread:
    """Give the thread that piecing takes, with a tenth to spare."""
    metres = seam_in * MM_PER_IN / 1000 * thread_ratio(stitch_mm, _SEAM_THICK_MM) * _SPARE
    return Thread(metres, seam_in, stitch_mm)


def quilting_thread(line_in: float, *, stitch_mm: float = QUILTING_MM) -> QuiltingThread:
    """Give thread, bobbins and minutes that quilting lines take.

    Examples
    --------
    >>> taken = quilting_thread(1000 / 25.4 * 100)  # 100 m of lines, 40,000 stitches
    >>> taken.bobbins, taken.minutes
    (5, 100.0)
    """
    metres = quilting_thread_m(line_in, stitch_mm=stitch_mm)
    bobbins = max(1, math.ceil(metres / 2 / BOBBIN_M))
    minutes = line_in * MM_PER_IN / stitch_mm / STITCHES_A_MINUTE
    return QuiltingThread(metres, bobbins, minutes, stitch_mm)


def quilting_thread_m(line_in: float, *, stitch_mm: float = QUILTING_MM) -> float:
    """Give the metres of thread, needle and bobbin together, that quilting lines take."""
    return line_in * MM_PER_IN / 1000 * thread_ratio(stitch_mm, _QUILT_THICK_MM) * _SPARE
