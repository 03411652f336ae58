"""Many threads look at a folder in which no stash has begun yet."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from stash.wiring import open_store


def test_many_threads_may_look_at_an_empty_stash_at_once(tmp_path: Path) -> None:
    store = open_store(tmp_path / "stash")
    with ThreadPoolExecutor(8) as threads:
        looks = [
            threads.submit(lambda: (store.scraps(), store.documents("card"))) for _ in range(400)
        ]
        assert {look.result() for look in looks} == {((), ())}
