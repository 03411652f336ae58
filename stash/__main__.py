"""Start of the ``stash`` command."""

from __future__ import annotations

import sys

from stash.errors import StashError

__all__ = ["main"]


def main() -> None:
    """Run the command line; a problem reads as one sentence and ends with exit code 1."""
    from stash.cli.app import make_app  # noqa: PLC0415 - keeps ``import stash.__main__`` free

    try:
        make_app()()
    except StashError as problem:
        print(f"stash: {problem}", file=sys.stderr)  # noqa: T201
        raise SystemExit(1) from None
    except KeyboardInterrupt:
        print("stash: stopped; what was logged is kept.", file=sys.stderr)  # noqa: T201
        raise SystemExit(130) from None


if __name__ == "__main__":
    main()
