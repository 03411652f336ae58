"""How the answers about sheets read: as JSON-able data and in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from stash.cli.messages import print_table, say
from stash.units import size_words

if TYPE_CHECKING:
    from stash.drawing.bin_label import BinLabel
    from stash.drawing.cutting_sheet import CutList
    from stash.quilt.cutting import ScrapToCut
    from stash.quilt.finishing import Binding, Finishing
    from stash.quilt.quilting_lines import QuiltingGuide
    from stash.quilt.sewing_order_and_pressing import SewingPlan
    from stash.quilt.thread import Thread
    from stash.scrap import Scrap
    from stash.shape.templates.template import Template

__all__ = [
    "cut_record",
    "finishing_record",
    "guide_record",
    "guide_sentence",
    "label_record",
    "say_cuts",
    "say_finishing",
    "say_scraps",
    "say_sewing",
    "scrap_record",
    "sewing_record",
    "template_record",
]


def template_record(template: Template) -> dict[str, Any]:
    """Give a printed template: its cut box, its strips and its notches."""
    from stash.drawing.template_lines import notches_of  # loads the PDF library
    from stash.quilt.cutting import strip_plan, strip_widths
    from stash.quilt.strip_nesting import template_strips

    strip = strip_plan(template)
    left, bottom, right, top = template.cut_polygon().bounds
    widths = strip_widths(template)
    return {
        "template": template.name,
        "cut_width_in": round(right - left, 4),
        "cut_height_in": round(top - bottom, 4),
        "seam_allowance_in": template.seam_allowance_in,
        "strip_across_in": round(widths.across_in, 4),
        "strip_along_in": round(widths.along_in, 4),
        "strip": None if strip is None else asdict(strip),
        "strips_of_40_in": [
            {
                "width_in": round(one.width_in, 4),
                "turn_deg": one.turn_deg,
                "by_halves": one.by_halves,
                "pieces": one.pieces,
            }
            for one in template_strips(template)
        ],
        "notches": len(notches_of(template)),
    }


def cut_record(cuts: CutList, *, unit: str = "in") -> dict[str, Any]:
    """Give where pieces lie, stacks and strips."""
    return {
        "quilt": cuts.title,
        **template_record(cuts.template),
        "pieces": sum(len(scrap.pieces) for scrap in cuts.scraps),
        "scraps": [_scrap_to_cut(cuts.template, scrap, unit) for scrap in cuts.scraps],
        "stacks": [
            {
                "layers": [
                    {
                        "scrap": layer.scrap,
                        "turn_deg": layer.turn_deg,
                        "move_in": list(layer.move_in),
                        "pieces": [one + 1 for one in layer.pieces],
                    }
                    for layer in stack.layers
                ],
                "cuts": [[list(point) for point in ring] for ring in stack.cuts],
                "pieces": stack.pieces,
                "smallest_on_top": stack.smallest_on_top,
            }
            for stack in cuts.stacks.stacks
        ],
        "cut_alone": [{"scrap": scrap, "piece": piece + 1} for scrap, piece in cuts.stacks.alone],
        "regrets": [asdict(one) for one in cuts.regrets],
        "passes": {"stacked": cuts.stacks.passes, "one_by_one": cuts.stacks.pieces},
    }


def say_cuts(cuts: CutList, *, unit: str = "in") -> None:
    """Write the cut list."""
    print_table(
        ["scrap", "fabric", "bin", "pieces"],
        [
            [str(one.number), f"{one.fabric} {one.name}".strip(), one.place, str(len(one.pieces))]
            for one in cuts.scraps
        ],
    )
    say()
    from stash.quilt.regret import regret_words
    from stash.quilt.stacks import pass_words, stack_words  # loads shapely

    for number, stack in enumerate(cuts.stacks.stacks, start=1):
        say(f"Stack {number}, {stack_words(stack)}.")
    say(pass_words(cuts.stacks))
    for words in regret_words(cuts.regrets, unit=unit):
        say(words)


def sewing_record(plan: SewingPlan, template: Template, *, unit: str = "in") -> dict[str, Any]:
    """Give the steps, the rows with their pressing, and every seam."""
    from stash.quilt.sewing_steps import curve_steps, sewing_steps

    names = [place.name for place in plan.pattern.places]
    steps = sewing_steps(plan, seam_in=template.seam_allowance_in, unit=unit)
    return {
        "template": template.name,
        "setting": plan.pattern.setting.name,
        "joined_by": str(plan.way),
        "diagonal_rows": plan.diagonal,
        "steps": [asdict(step) for step in (*steps, *curve_steps(plan))],
        "rows": [
            {
                "row": number + 1,
                "pieces": [names[piece] for piece in pieces],
                "pressed_to": plan.press_of_row(number),
            }
            for number, pieces in enumerate(plan.rows)
        ],
        "seams": [
            {
                "pieces": [names[one.seam.first], names[one.seam.second]],
                "joint": str(one.joint),
                "curved": one.seam.bulging is not None,
                "length_in": round(one.seam.segment.length_in, 4),
                "on_top": None if one.on_top is None else names[one.on_top],
                "pressed_to": "open" if one.press_to is None else names[one.press_to],
                "partial": one.partial,
                "from": _point(_ends(one)[one.from_end]),
                "to": _point(_ends(one)[1 - one.from_end]),
            }
            for one in plan.seams
        ],
    }


def say_sewing(plan: SewingPlan, template: Template, *, unit: str = "in") -> None:
    """Write the steps."""
    from stash.quilt.sewing_steps import curve_steps, sewing_steps

    steps = sewing_steps(plan, seam_in=template.seam_allowance_in, unit=unit)
    for number, step in enumerate(steps, start=1):
        say(f"{number}. {step.heading}: {step.text}")
    curved = curve_steps(plan)
    if curved:
        say()
        say("A curved seam:")
        for step in curved:
            say(f"   {step.heading}: {step.text}")


def guide_record(lines: QuiltingGuide) -> dict[str, Any]:
    """Give length, passes, thread and the lines."""
    from stash.quilt.thread import quilting_thread  # light, but only here

    return {
        "style": str(lines.style),
        "length_in": round(lines.length_in, 2),
        "repeated_in": round(lines.repeated_in, 2),
        "edge_in": round(lines.edge_in, 2),
        "passes": lines.passes,
        "lines": [
            {"number": number, "start": _point(one.start), "length_in": round(one.length_in, 2)}
            for number, one in enumerate(lines.lines, start=1)
        ],
        **asdict(quilting_thread(lines.length_in)),
        "runs": [[_point(point) for point in run] for run in lines.runs],
        "crossings": [_point(point) for point in lines.crossings],
    }


def guide_sentence(lines: QuiltingGuide, *, unit: str = "in") -> str:
    """Say length, passes and thread."""
    from stash.drawing.quilting_sheet import guide_words, thread_words  # PDF

    return f"{guide_words(lines, unit=unit)}. {thread_words(lines)}"


def finishing_record(answer: Finishing, thread: Thread | None = None) -> dict[str, Any]:
    """Give everything a finished top needs."""
    trimmed = answer.trimmed
    return {
        "width_in": round(answer.edge.width_in, 4),
        "length_in": round(answer.edge.length_in, 4),
        "edge_in": round(answer.edge.edge_in, 4),
        "curved": answer.edge.curved,
        "inner_corners": answer.edge.inner_corners,
        "nearest_size": answer.nearest_size,
        "binding": _binding_record(answer.binding),
        "backing": asdict(answer.backing),
        "batting": asdict(answer.batting),
        "thread": None if thread is None else asdict(thread),
        "trimmed": None
        if trimmed is None
        else {**asdict(trimmed), "binding": _binding_record(trimmed.binding)},
    }


def say_finishing(answer: Finishing, thread: Thread | None = None, *, unit: str = "in") -> None:
    """Write what a finished top needs."""
    from stash.quilt.finishing_words import finishing_words  # loads shapely

    for head, lines in finishing_words(answer, thread, unit=unit):
        for k, line in enumerate(lines):
            say(f"{'' if k else head:10} {line}")


def label_record(label: BinLabel) -> dict[str, Any]:
    """Give what a label says."""
    return asdict(label)


def scrap_record(scrap: Scrap) -> dict[str, Any]:
    """Give a scrap found by its bin's label."""
    short_in, long_in = scrap.outline.least_box_in()
    return {
        "scrap": scrap.number,
        "fabric": scrap.fabric,
        "width_in": round(short_in, 3),
        "height_in": round(long_in, 3),
    }


def say_scraps(scraps: Sequence[Scrap], *, unit: str = "in") -> None:
    """Write the scraps of a bin."""
    rows = [
        [
            str(one.number),
            str(one.fabric),
            size_words(*one.outline.least_box_in(), unit=unit),
        ]
        for one in scraps
    ]
    print_table(["scrap", "fabric", "size"], rows)


def _scrap_to_cut(template: Template, scrap: ScrapToCut, unit: str) -> dict[str, Any]:
    from stash.quilt.cutting import strip_words  # loads shapely

    return {
        "scrap": scrap.number,
        "fabric": scrap.fabric,
        "bin": scrap.place,
        "washed": scrap.washed,
        "pieces": [[_point(point) for point in ring] for ring in scrap.pieces],
        "places": list(scrap.places),
        "left_sq_in": [round(one.area_sq_in, 2) for one in scrap.left],
        "strips": []
        if scrap.strips is None
        else list(strip_words(template, scrap.strips, unit=unit)),
    }


def _binding_record(binding: Binding) -> dict[str, Any]:
    return {
        "fold": str(binding.fold),
        "grain": str(binding.grain),
        "length_in": round(binding.length_in, 4),
        "extra_in": binding.extra_in,
        "cut_in": binding.cut_in,
        "strips": binding.strips,
        "bias_square_in": binding.square_in,
        "bias_rectangle_depth_in": binding.rectangle_depth_in,
        "single_strips": None if binding.single is None else asdict(binding.single),
        "bias_square_gives_in": binding.square_gives_in,
        "inches": binding.inches,
        "yards": binding.yards,
        "notes": list(binding.notes),
    }


def _ends(one: Any) -> tuple[Sequence[float], Sequence[float]]:
    return (one.seam.segment.start, one.seam.segment.end)


def _point(point: Sequence[float]) -> list[float]:
    return [round(float(point[0]), 4), round(float(point[1]), 4)]
