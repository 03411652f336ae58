"""A process to be killed: logs made-up photos and says so after each, as ``stash log`` would.

Run as ``python log_made_photos.py HOME FIRST COUNT``.
"""

from __future__ import annotations

import sys
from pathlib import Path

from stash.errors import StashError
from stash.wiring import open_store
from tests.storage.made_records import made_photo


def main() -> None:
    home, first, count = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    photos = [made_photo(seed) for seed in range(first, first + count)]
    print("ready", flush=True)
    try:
        store = open_store(home)
        for seed, photo in enumerate(photos, start=first):
            store.log_photo(photo)
            print(seed, flush=True)
    except StashError as problem:
        print(f"stash: {problem}", file=sys.stderr)
        raise SystemExit(1) from None


if __name__ == "__main__":
    main()
