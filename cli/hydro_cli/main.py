"""The way from a command line to an exit code. Whatever is imported here comes before Ctrl-C is caught, so next to nothing is."""

from __future__ import annotations

from collections.abc import Sequence

from .exits import BAD_INPUT, INTERRUPTED, NOBODY_READS
from .streams import drop, flush, open_streams, say


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code; argparse itself ends the program with 2 for a wrong command line."""
    try:
        open_streams()
        try:
            from .arguments import parser
            from .runner import run

            return run(parser().parse_args(argv))
        finally:
            flush()
    except KeyboardInterrupt:
        say("sumpwright: stopped")
        return INTERRUPTED
    except BrokenPipeError:
        drop(1)
        return NOBODY_READS
    except OSError as problem:
        drop(1)
        say(f"sumpwright: cannot print ({problem.strerror}); expected room where the output goes")
        return BAD_INPUT
