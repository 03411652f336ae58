"""Start of the ``stash`` command."""

from __future__ import annotations

import os
import sys

from stash.errors import StashError

__all__ = ["main"]


def main() -> None:
    """Run the command line; a problem reads as one sentence and ends with exit code 1."""
    from stash.cli.app import make_app  # noqa: PLC0415 - keeps ``import stash.__main__`` free

    try:
        make_app(sys.argv[1:])()
    except StashError as problem:
        _end(str(problem), 1)
    except KeyboardInterrupt:
        _end("stopped; what was logged is kept.", 130)
    except Exception as fault:  # a fault of ours: a quilter gets a sentence, a tester the trace
        if os.environ.get("STASH_TRACE"):
            raise
        _end(
            f"something went wrong that is no fault of yours ({type(fault).__name__}: {fault}). "
            "What was logged is kept. Run the same with STASH_TRACE=1 to see where it happened.",
            1,
        )


def _end(sentence: str, code: int) -> None:
    print(f"stash: {sentence}", file=sys.stderr)  # noqa: T201
    raise SystemExit(code) from None


if __name__ == "__main__":
    main()
