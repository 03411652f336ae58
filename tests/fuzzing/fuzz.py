"""Coverage-guided fuzzing of everything that reads a stranger's bytes.

Run as ``python tests/fuzzing/fuzz.py photo --seconds 600`` with atheris installed besides. New
findings are named as they come, written to ``--findings`` and do not stop the run; the last line
counts runs and findings. Only Python code is steered by coverage (ours and the picture library's
readers); the decoders in C are run, not steered.
"""

from __future__ import annotations

import argparse
import copy
import functools
import hashlib
import io
import json
import random
import struct
import sys
import time
import traceback
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

_CORPUS = Path(__file__).with_name("corpus")
_TARGETS = (
    "photo", "drawing", "template", "palette_file", "words", "outlines", "import", "backup",
    "arguments",
)  # fmt: skip
_OF_JSON = ("template", "outlines", "import")
_ODD = (
    None, True, 0, -1, 1, 2, 1e308, -1e308, 1e-320, 10**30, 2**63, 0.1, float("nan"), float("inf"),
    "", "a", "\x00", "\ud800", "photos/../x.jpg", [], {}, [[]], [[0, 0]], [[0, 0], [1, 0], [0, 1]],
)  # fmt: skip
_ODD_WORDS = (
    b"", b"1", b"-1", b"0", b"99999999999999999999", b"1e308", b"-1e308", b"nan", b"inf", b"1/0",
    b"4 1/2", b"0,0 3,0 3,3", b"\xff\xfe", b"\xed\xa0\x80", b"\x1b[2J", b"a\x07b", b"\r\n",
    b"\xe2\x80\xae", b"a" * 300, b"9" * 400, b"%s%n", b"--", b"-", b".", b"sea", b"square",
    b"hexagon", b"tumbler", b"blue", b"#1f3f7a", b"#fff,#000", b"x.json", b"x.svg", b"kept.zip",
    b"a.jpg", b"folder", b"4", b"2.5 cm", b"3 in", b"letter", b"a4", b"in", b"cm", b"chart24",
    b"0.55", b"\xf0\x9f\xa7\xb5", b"1,2,3", b"2026-02-30",
)  # fmt: skip
_SLOW_S = 5.0
_REPORT_S = 2.0


class Run:
    """One target's run: how many inputs, which findings."""

    def __init__(self, target: str, findings: Path, feed: Callable[[str, bytes], bool]) -> None:
        self.target, self.folder, self.feed = target, findings, feed
        self.runs = self.answered = 0
        self.found: dict[str, str] = {}
        self.slowest_s = 0.0
        self.reported_s = 0.0

    def one(self, data: bytes) -> None:
        """Feed one input and keep it if it is a new finding."""
        self.runs += 1
        started = time.process_time()
        try:
            self.answered += self.feed(self.target, data)
        except Exception as problem:
            self._keep(problem, data)
        took = time.process_time() - started
        self.slowest_s = max(self.slowest_s, took)
        if took > _SLOW_S:
            self._keep(TimeoutError(f"{took:.1f} s"), data)
        # The library ends the process without a word once its time is over.
        if time.monotonic() - self.reported_s > _REPORT_S:
            self.report()

    def _keep(self, problem: Exception, data: bytes) -> None:
        ours = [
            frame for frame in traceback.extract_tb(problem.__traceback__)
            if "/stash/" in frame.filename or "targets" in frame.filename
        ]  # fmt: skip
        where = f"{Path(ours[-1].filename).name}:{ours[-1].lineno}" if ours else "time"
        key = f"{type(problem).__name__} {where}"
        if isinstance(problem, AssertionError):
            key = f"{key} {str(problem)[:40]}"
        if key in self.found:
            return
        name = f"{self.target}-{hashlib.sha256(data).hexdigest()[:12]}"
        self.found[key] = name
        (self.folder / name).write_bytes(data)
        print(f"FINDING {self.target} {key}: {str(problem)[:200]!r} -> {name}", flush=True)

    def report(self) -> None:
        """Write down how far it is, for when the process is stopped from outside."""
        self.reported_s = time.monotonic()
        told = {
            "target": self.target, "runs": self.runs, "answered": self.answered,
            "slowest_s": round(self.slowest_s, 2), "findings": sorted(self.found),
            "processor_s": round(time.process_time()),
        }  # fmt: skip
        (self.folder / f"{self.target}.json").write_text(json.dumps(told))


def _mutate(data: bytes, max_size: int) -> bytes:
    import atheris

    return bytes(atheris.Mutate(data, max_size))


def _mutate_json(data: bytes, max_size: int, seed: int) -> bytes:
    """Put something odd in place of one value, or fall back on mutated bytes."""
    rng = random.Random(seed)
    if rng.random() < 0.3:
        return _mutate(data, max_size)
    try:
        whole = json.loads(data)
    except (ValueError, RecursionError):
        whole = None
    if not isinstance(whole, dict | list):
        return _mutate(data, max_size)
    for _ in range(rng.choice((1, 1, 2, 4))):
        _spoil(whole, rng)
    return json.dumps(whole).encode()[:max_size]


def _spoil(whole: Any, rng: random.Random) -> None:
    at = whole
    while True:
        keys = list(at) if isinstance(at, dict) else list(range(len(at)))
        if not keys:
            return
        key = rng.choice(keys)
        if isinstance(at[key], dict | list) and at[key] and rng.random() < 0.8:
            at = at[key]
            continue
        how = rng.random()
        if how < 0.15:
            del at[key]
        elif how < 0.3 and isinstance(at, list):
            at.insert(key, copy.deepcopy(at[key]))
        elif how < 0.5 and isinstance(at[key], int | float):
            at[key] = at[key] * rng.choice((-1, 0.5, 2, 1 + 1e-9, 1e6))
        else:
            at[key] = copy.deepcopy(rng.choice(_ODD))
        return


def _mutate_words(words: list[list[str]], data: bytes, max_size: int, seed: int) -> bytes:
    """Make a command line of a real command, its options and odd values; or mutated bytes."""
    rng = random.Random(seed)
    if rng.random() < 0.2:
        return _mutate(data, max_size)
    line = [word.encode() for word in rng.choice(words)]
    known = [one for one in line if not one.startswith(b"-")]
    options = [one for one in line if one.startswith(b"-")]
    said = [*known, *(_odd_word(rng) for _ in range(rng.choice((0, 0, 1, 1, 2, 3))))]
    for _ in range(rng.choice((0, 1, 1, 2, 3))):
        if options:
            said.append(rng.choice(options))
        if rng.random() < 0.8:
            said.append(_odd_word(rng))
    if rng.random() < 0.2:
        said[rng.randrange(len(said))] = _odd_word(rng)
    return b"\0".join(said)[:max_size]


def _odd_word(rng: random.Random) -> bytes:
    word = rng.choice(_ODD_WORDS)
    how = rng.random()
    if how < 0.1:
        return word + rng.choice(_ODD_WORDS)
    if how < 0.15:
        return b",".join([word] * rng.choice((2, 3, 50)))
    if how < 0.2 and word:
        at = rng.randrange(len(word))
        return word[:at] + bytes([rng.randrange(1, 256)]) + word[at + 1 :]
    return word


def _mutate_backup(data: bytes, max_size: int, seed: int) -> bytes:
    """Spoil one thing inside an archive and put its digests right, so that it is looked at."""
    rng = random.Random(seed)
    if not data.startswith(b"PK") or rng.random() < 0.2:
        return _mutate(data, max_size)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = {name: archive.read(name) for name in archive.namelist()}
            manifest = json.loads(members.pop("manifest.json"))
    except Exception:  # it was spoilt before
        return _mutate(data, max_size)
    if members and rng.random() < 0.5:
        name = rng.choice(sorted(members))
        members[name] = _mutate(members[name], max_size)
        if isinstance(manifest, dict) and isinstance(manifest.get("sha256"), dict):
            manifest["sha256"][name] = hashlib.sha256(members[name]).hexdigest()
    elif isinstance(manifest, dict | list):
        _spoil(manifest, rng)
    if members and rng.random() < 0.2:
        name = rng.choice(sorted(members))
        other = rng.choice(
            ("../x", "photos/x", name.upper(), "stash.db", "manifest.json", "a" * 99)
        )
        members[other] = members.pop(name)
    return _sealed(members, manifest, rng.choice((0, 0, 0, 8, 14)))[:max_size]


def _sealed(members: dict[str, bytes], manifest: Any, packing: int) -> bytes:
    """Write an archive as a backup is written: its comment is the digest of what comes before."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", packing) as archive:
        archive.comment = b"0" * 64
        for name, content in members.items():
            archive.writestr(name, content)
        archive.writestr("manifest.json", json.dumps(manifest))
    whole = file.getvalue()[:-64]
    return whole + hashlib.sha256(whole).hexdigest().encode()


def _mutate_photo(data: bytes, max_size: int, seed: int) -> bytes:
    """Mutate bytes, then put a PNG's checksums right so that the change is looked at."""
    data = _mutate(data, max_size)
    if not data.startswith(b"\x89PNG\r\n\x1a\n") or seed % 4 == 0:
        return data
    out, at = bytearray(data), 8
    while at + 12 <= len(out):
        (length,) = struct.unpack_from(">I", out, at)
        end = at + 8 + length
        if end + 4 > len(out):
            break
        out[end : end + 4] = struct.pack(">I", zlib.crc32(out[at + 4 : end]))
        at = end + 4
    return bytes(out)


def main() -> None:
    """Run from the command line."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("target", choices=_TARGETS)
    options.add_argument("--seconds", type=int, default=60)
    options.add_argument("--findings", type=Path, default=Path("fuzzing-findings"))
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    import atheris  # here, so that the tests' collection does not need it

    with atheris.instrument_imports(include=["stash", "PIL", "tests.fuzzing.targets"]):
        from tests.fuzzing.targets import command_words, feed
    from tests.fuzzing.seeds import seeds_of

    corpus = given.findings / f"corpus-{given.target}"
    corpus.mkdir(parents=True, exist_ok=True)
    for number, data in enumerate(seeds_of(given.target)):
        (corpus / f"seed-{number}").write_bytes(data)
    run = Run(given.target, given.findings, feed)
    words = [
        sys.argv[0], str(corpus), str(_CORPUS), f"-max_total_time={given.seconds}",
        f"-seed={given.seed}", "-timeout=60", "-rss_limit_mb=2500", "-verbosity=0",
        f"-max_len={80_000 if given.target in ('import', 'backup') else 8_000}",
        f"-artifact_prefix={given.findings}/{given.target}-",
    ]  # fmt: skip
    mutator = None
    if given.target in _OF_JSON:
        mutator = _mutate_json
    elif given.target == "photo":
        mutator = _mutate_photo
    elif given.target == "backup":
        mutator = _mutate_backup
    elif given.target == "arguments":
        mutator = functools.partial(_mutate_words, command_words())
    atheris.Setup(words, run.one, custom_mutator=mutator)
    try:
        atheris.Fuzz()
    finally:
        run.report()


if __name__ == "__main__":
    main()
