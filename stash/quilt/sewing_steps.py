"""A sewing plan in plain words, one step after the other."""

from __future__ import annotations

from dataclasses import dataclass

from stash.quilt.sewing_order_and_pressing import Joint, SewingPlan, Way, row_width
from stash.units import CM_PER_INCH, length_words

__all__ = ["Step", "curve_steps", "sewing_steps"]


@dataclass(frozen=True, slots=True)
class Step:
    """One step: what it is about, and what to do."""

    heading: str
    text: str


def sewing_steps(plan: SewingPlan, *, seam_in: float = 0.25, unit: str = "in") -> tuple[Step, ...]:
    """Write the steps for a top: the machine, squares, rows, long seams, pressing.

    What they say is common practice, no source, but for the width test (Melody Crust,
    Precision Piecing, 2015).
    """
    steps = [_machine(seam_in, unit)]
    if plan.units > 1:
        steps.append(_units(plan))
    if any(one.joint is Joint.ROW for one in plan.seams):
        steps.append(_rows(plan))
        steps.append(_row_pressing(plan))
    if any(one.joint is Joint.BETWEEN for one in plan.seams):
        steps.append(_between(plan, length_words(seam_in, unit=unit)))
        steps.append(_long_pressing(plan))
    return tuple(steps)


def curve_steps(plan: SewingPlan) -> tuple[Step, ...]:
    """Write how a curved seam is pinned and sewn; nothing for straight shapes."""
    if not plan.curved:
        return ()
    return (
        Step("Lay", "Right sides together, the hollow edge on top of the bulging one."),
        Step(
            "Pin",
            "The middle snips first, then both ends, each where the seam lines meet. Both arcs "
            "have one radius on the seam line: nothing is stretched or eased in.",
        ),
        Step(
            "Sew",
            "Slowly, the hollow piece on top, its edge brought to the edge below as you go. "
            "Nothing is clipped; the snips end before the seam line.",
        ),
        Step("Press", "Towards the bulging piece, iron set down and lifted, not pushed."),
    )


def _machine(seam_in: float, unit: str) -> Step:
    width = length_words(seam_in, unit=unit)
    strip_in = 1.5 if unit == "in" else 4 / CM_PER_INCH  # round in either unit
    strip = length_words(strip_in, unit=unit)
    test = length_words(row_width(strip_in, 3, seam_in), unit=unit)
    stitches = "10 to 12 stitches an inch (2.5 to 2.1 mm)" if unit == "in" else "Stitches of 2.5 mm"
    return Step(
        "Set up",
        f"A scant {width} seam, a thread less than that: three strips {strip} wide sewn side by "
        f"side measure {test}. {stitches}. Begin and end on a scrap of waste cloth.",
    )


def _units(plan: SewingPlan) -> Step:
    if plan.units == 2:
        return Step(
            "Squares",
            "Sew the pieces in pairs along the long side; do not pull, it is bias. Press every "
            "square the same way.",
        )
    return Step(
        "Squares",
        "Sew the four pieces of a square in two pairs and press each seam towards the next piece "
        "round the square; the halves then nest. Sew them together and press on round the "
        "square, the middle opened flat.",
    )


def _rows(plan: SewingPlan) -> Step:
    if plan.diagonal:
        return Step(
            "Rows",
            "Pieces of one row touch only at their points, so sew diagonal rows, from the upper "
            "left down to the right. Keep them in order.",
        )
    what = "squares" if plan.units > 1 else "pieces"
    more = ""
    if plan.way is Way.SET_IN:
        more = (
            " Stop a seam allowance short of the raw edge at every end where another row comes "
            "in; at the border of the quilt sew right through."
        )
    elif plan.way is Way.CURVED:
        more = " Hollow edge on top, bulging edge below, from end to end."
    return Step("Rows", f"Sew the {what} of each row from left to right.{more}")


def _row_pressing(plan: SewingPlan) -> Step:
    if plan.curved:
        return Step(
            "Press the rows",
            "Every seam towards its bulging piece. Above and below each crossing the seams then "
            "lie to opposite sides and nest.",
        )
    four_meet = any(any(one.opened) for one in plan.seams)
    why = (
        "so that seams that meet lie to opposite sides and nest"
        if four_meet
        else "so that no two allowances lie on each other where rows meet"
    )
    if len(plan.rows) == 1:
        return Step("Press the row", "All seams to the right.")
    return Step("Press the rows", f"Odd rows to the right, even rows to the left, {why}.")


def _between(plan: SewingPlan, seam: str) -> Step:
    match = f"Match crossings {seam} from the edge and pin them there"
    if plan.way is Way.STRAIGHT:
        return Step("Join the rows", f"{match}, then sew the long seam in one go.")
    if plan.way is Way.CURVED:
        return Step(
            "Join the rows",
            f"{match}. Sew from the left, arc by arc, crossing to crossing; turn the rows over "
            "between arcs so that the hollow edge is on top, and overlap three or four "
            "stitches instead of sewing backwards.",
        )
    if plan.way is Way.SET_IN:
        return Step(
            "Join the rows",
            "Sew each short edge on its own, from the left, from seam line to seam line: stop, "
            "needle down, turn the pieces, lay the next edge. Overlap three or four stitches "
            "instead of sewing backwards.",
        )
    return Step(
        "Set in shell by shell",
        "From the top row down. Each dome goes under the two hollows above it: sew from the "
        "middle of the dome to its left end, then from the middle to its right end. Overlap "
        "three or four stitches at the middle.",
    )


def _long_pressing(plan: SewingPlan) -> Step:
    if plan.way is Way.STRAIGHT:
        opened = any(one.joint is Joint.BETWEEN and one.press_to is None for one in plan.seams)
        text = (
            "Open where four or more pieces meet." if opened else "Downwards, towards the next row."
        )
        return Step("Press the long seams", text)
    if plan.way is Way.CURVED:
        return Step(
            "Press the long seams",
            "Each arc towards its bulging piece; where four meet, open the allowances flat.",
        )
    if plan.way is Way.SET_IN:
        return Step(
            "Press the long seams",
            "Downwards; where three meet, fan the allowances so that they lie flat.",
        )
    return Step("Press the domes", "Towards the dome; where four meet, open the allowances flat.")
