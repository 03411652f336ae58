"""What a finished top needs, in words for the screen and for paper."""

from __future__ import annotations

from collections.abc import Callable

from stash.quilt.finishing import Binding, Finishing
from stash.quilt.thread import Thread
from stash.units import cloth_words, length_words, size_words

__all__ = ["finishing_words"]

Said = tuple[str, tuple[str, ...]]


def finishing_words(
    answer: Finishing, thread: Thread | None = None, *, unit: str = "in"
) -> tuple[Said, ...]:
    """Say it in lines under short headings; lengths in the unit ``in`` or ``cm``."""

    def long(inches: float) -> str:
        """Word a length of that many inches in the unit asked for."""
        return length_words(inches, unit=unit)

    edge, backing = answer.edge, answer.backing
    curve = ", curves followed" if edge.curved else ""
    panels = "one piece" if backing.panels == 1 else f"{backing.panels} panels {backing.direction}"
    each = "" if backing.panels == 1 else " each"
    said: list[Said] = [
        (
            "Finished",
            (
                f"{size_words(edge.width_in, edge.length_in, unit=unit)}, nearest to a "
                f"{answer.nearest_size}",
            ),
        ),
        ("Edge", (f"{long(edge.edge_in)}{curve}",)),
        ("Binding", _binding(answer.binding, long, unit)),
        (
            "Backing",
            (
                f"{size_words(backing.width_in, backing.length_in, unit=unit)}: {panels}, "
                f"{long(backing.panel_in)} long{each}; {cloth_words(backing.inches, unit=unit)}",
            ),
        ),
        ("Batting", (size_words(answer.batting.width_in, answer.batting.length_in, unit=unit),)),
    ]
    if thread is not None:
        said.append(
            (
                "Thread",
                (
                    f"{thread.piecing_m:.0f} m for the seams, needle and bobbin together, at "
                    f"{thread.stitch_mm:g} mm a stitch; cotton on cotton, in the middle value of "
                    "the quilt",
                ),
            )
        )
    if answer.trimmed is not None:
        cut = answer.trimmed
        size = size_words(cut.width_in, cut.length_in, unit=unit)
        loses = size_words(cut.lost_width_in, cut.lost_length_in, unit=unit)
        said.append(
            (
                "Trimmed",
                (f"straight {size}; loses {loses} and {cut.lost_share:.0%} of the top",),
            )
        )
        said.append(("  binding", _binding(cut.binding, long, unit)))
    return tuple(said)


def _binding(binding: Binding, long: Callable[[float], str], unit: str) -> tuple[str, ...]:
    lines = [
        f"{long(binding.length_in)} ({long(binding.extra_in)} added), {binding.fold} fold, "
        f"cut {long(binding.cut_in)} wide"
    ]
    if binding.strips is not None:
        strips = _count(binding.strips, "strip")
        lines.append(f"{strips} across the cloth; {cloth_words(binding.inches, unit=unit)}")
    else:
        if binding.single is not None:
            strips = _count(len(binding.single.strips_in), "bias strip")
            depth, wide = long(binding.single.depth_in), long(binding.single.width_in)
            lines.append(f"{strips} cut one by one from {depth} of cloth {wide} wide")
        lines.append(
            f"or continuous bias from a square of {long(binding.square_in or 0)}, "
            f"or {long(binding.rectangle_depth_in or 0)} of the whole width"
        )
    return (*lines, *binding.notes)


def _count(number: int, word: str) -> str:
    return f"one {word}" if number == 1 else f"{number} {word}s"
