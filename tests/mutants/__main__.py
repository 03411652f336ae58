"""Say how many edits of a package the tests notice: `python -m tests.mutants --help`.

First `map` runs tests once and notes which functions each of them enters; then `run` tries a
seeded draw of edits, each only against the tests that enter its function; `tell` sums up. All of
it lies in the folder of `--work`; a run that was stopped goes on where it was.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from pathlib import Path

from tests.mutants.edits import Edit, edits_of, optional_keywords
from tests.mutants.trial import REPO, Reach, Result, copied_tree, load_libraries, tried, work_out

PACKAGES = ("usecases", "drawing", "quilt", "colour", "cli", "web")


def edits_in(package: str) -> list[Edit]:
    """Give every edit of a package, in the order of its files."""
    files = sorted((REPO / "stash").rglob("*.py"))
    optional = optional_keywords(file.read_bytes() for file in files)
    within = REPO / "stash" / package
    chosen = [file for file in files if file.is_relative_to(within)] or [within]
    found: list[Edit] = []
    for file in chosen:
        found += edits_of(str(file.relative_to(REPO)), file.read_bytes(), optional)
    return found


def drawn(edits: Sequence[Edit], count: int, seed: int) -> list[Edit]:
    """Draw edits at random, at most one of a line."""
    # By a number that follows from edit and seed alone: what else changes does not change the draw.
    mixed = sorted(edits, key=lambda edit: hashlib.sha256(f"{seed} {edit.key}".encode()).digest())
    lines: set[tuple[str, int]] = set()
    found: list[Edit] = []
    for edit in mixed:
        if len(found) == count:
            break
        if (edit.module, edit.line) not in lines:
            lines.add((edit.module, edit.line))
            found.append(edit)
    return found


def results_in(work: Path) -> dict[str, Result]:
    """Read what became of each edit that was tried, the newest word on each."""
    file = work / "results.jsonl"
    lines = file.read_text().splitlines() if file.exists() else []
    return {one["key"]: Result(**one) for one in map(json.loads, lines)}


def run(work: Path, options: argparse.Namespace) -> None:
    """Try a draw of edits and keep what became of each."""
    os.nice(max(0, 5 - os.nice(0)))  # others may want the machine
    reach, known = Reach.read(work / "reach.json"), results_in(work)
    survived = {key for key, one in known.items() if one.end in ("survived", "not reached")}
    edits = drawn(edits_in(options.package), options.count, options.seed)
    left = [one for one in edits if one.key not in known or (options.again and one.key in survived)]
    tree = copied_tree(work)
    load_libraries()
    with (work / "results.jsonl").open("a") as kept:
        for number, edit in enumerate(left, 1):
            result = tried(edit, reach, tree, most_s=options.seconds)
            kept.write(json.dumps(asdict(result)) + "\n")
            kept.flush()
            where = f"{edit.module}:{edit.line} {edit.kind}"
            print(
                f"{number}/{len(left)} {result.end:11} {result.seconds:5.1f} s {where}", flush=True
            )


def tell(work: Path, options: argparse.Namespace) -> None:
    """Print the share that was noticed by package, and what was not."""
    chosen = _drawn_results(work, options)
    for package, results in chosen.items():
        ends = Counter(one.end for one in results)
        noticed = ends["killed"] + ends["too long"]
        if results:
            print(f"{package}: {noticed} of {len(results)} noticed ({noticed / len(results):.0%})")
    for line in _lines_of_survivors(chosen):
        print(line)


def _drawn_results(work: Path, options: argparse.Namespace) -> dict[str, list[Result]]:
    known = results_in(work)
    found = {}
    for package in (options.package,) if options.package else PACKAGES:
        edits = drawn(edits_in(package), options.count, options.seed)
        found[package] = [known[edit.key] for edit in edits if edit.key in known]
    return found


def _lines_of_survivors(chosen: dict[str, list[Result]]) -> Iterator[str]:
    for results in chosen.values():
        for one in sorted(results, key=lambda one: (one.module, one.line)):
            if one.end in ("survived", "not reached"):
                change = f"{one.old.strip()!r} -> {one.new.strip()!r}"
                place = f"{one.module}:{one.line} {one.function}"
                yield f"{one.key} {place}: {one.kind}: {change} ({one.end}, {one.tests} tests)"


def main() -> None:
    """Read the words of the command line and do what they say."""
    reader = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__)
    reader.add_argument("--work", type=Path, required=True, help="folder for all that is kept")
    asked = reader.add_subparsers(dest="asked", required=True)
    mapping = asked.add_parser("map", help="run tests once, note what they enter")
    mapping.add_argument("words", nargs="*", help="pytest's own words: files, -m, -k")
    for name in ("run", "tell"):
        one = asked.add_parser(name)
        one.add_argument("--package", default=None, help=f"one of {', '.join(PACKAGES)}, or a file")
        one.add_argument("--count", type=int, default=60)
        one.add_argument("--seed", type=int, default=1)
        one.add_argument("--seconds", type=float, default=40, help="of tests for one edit, at most")
        one.add_argument("--again", action="store_true", help="try those anew that survived")
    options, more = reader.parse_known_args()
    options.work.mkdir(parents=True, exist_ok=True)
    if options.asked == "map":
        work_out(options.work.resolve(), [*options.words, *more])
    else:
        {"run": run, "tell": tell}[options.asked](options.work.resolve(), options)


if __name__ == "__main__":
    main()
