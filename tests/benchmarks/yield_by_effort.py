"""Pieces found at several efforts beside the best: python -m tests.benchmarks.yield_by_effort.

Every second pair of a scrap and a shape of the shared fit cases that gives a piece at all, turned
freely. Prints the share of the best known and the processor time a scrap.
"""

import json
import sys
import time

from stash.shape.nesting.filling import Effort, fill
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import template_of_file
from stash.shape.templates.turning import Turning
from tests.shared_data import shared

__all__ = ["sampled"]


def sampled(every):
    """Give (outline, template, best known count) of every so many pairs that hold a piece."""
    data = json.loads(shared("data/fit_cases.json").read_text())
    shapes = {
        name: template_of_file(json.dumps({"cut": one["vertices"]}).encode(), ".json")
        for name, one in data["templates"].items()
    }
    pairs = [
        (case, shapes[name], answer["count_lower"])
        for case in data["cases"]
        for name, answer in case["answers"].items()
        if answer["count_lower"] > 0
    ]
    return [
        (outline_of(case["outer"], case["holes"], error_in=case["uncertainty_in"]), shape, known)
        for case, shape, known in pairs[::every]
    ]


def main():
    efforts = [int(word) for word in sys.argv[1:]] or [0, 12, 48]
    sample = sampled(2)
    known = sum(count for _, _, count in sample)
    for steps in efforts:
        began = time.process_time()
        found = [
            fill(outline, shape, turning=Turning.free(), effort=Effort(steps)).pieces
            for outline, shape, _ in sample
        ]
        each_s = (time.process_time() - began) / len(sample)
        fewer = sum(got < count for got, (_, _, count) in zip(found, sample, strict=True))
        more = sum(got > count for got, (_, _, count) in zip(found, sample, strict=True))
        print(
            f"| {steps} | {len(sample)} | {sum(found)} of {known} | {sum(found) / known:.1%} |"
            f" {fewer} | {more} | {each_s:.2f} s |",
            flush=True,
        )


if __name__ == "__main__":
    main()
