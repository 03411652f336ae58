"""Ask and draw a thousand lopsided scraps every way there is; say where the ways disagree.

usage: python -m tests.benchmarks.lopsided_scraps [--scraps N] [--seed N]
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from tests.usecases.seen_scraps import disagreements


def main() -> None:
    """Ask and count."""
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--scraps", type=int, default=1000)
    given.add_argument("--seed", type=int, default=7)
    asked = given.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        wrong = disagreements(Path(folder), asked.scraps, asked.seed)
    for line in wrong[:20]:
        print(line)
    print(f"{asked.scraps} scraps, {len(wrong)} disagreements")


if __name__ == "__main__":
    main()
