"""The way from a command line to an exit code: 0 holds, 1 fails, 2 bad input, 3 no solution."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from hydro import __version__

from .arguments import parser
from .output import BAD_INPUT

INTERRUPTED, NOBODY_READS = 130, 141
"""Exit codes a shell expects: stopped by Ctrl-C, and written to a pipe that was closed."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code; argparse itself ends the program with 2 for a wrong command line."""
    arguments = parser(__version__).parse_args(argv)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            # A terminal that cannot show '²' shows '?' for it; it is no reason to stop.
            stream.reconfigure(errors="replace")
    try:
        code = _command(arguments)
        sys.stdout.flush()
    except KeyboardInterrupt:
        print("sumpwright: stopped", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        # Whatever is still in the buffer goes nowhere; else Python complains once more on its way out.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return NOBODY_READS
    except OSError as problem:
        # Nothing more can be printed; the same detour for the rest of the buffer.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        print(f"sumpwright: cannot print ({problem.strerror}); expected room where the output goes", file=sys.stderr)
        return BAD_INPUT
    return code


def _command(arguments: object) -> int:
    options = vars(arguments)
    if options["command"] == "run":
        from .run import run

        return run(options["cases"], options["json"], options["units"], options["to"], options["all"])
    if options["command"] == "happens":
        from .happens import happens

        return happens(options)
    if options["command"] == "faults":
        from .faults import faults

        return faults(options)
    if options["command"] == "mend":
        from .mend import mend

        return mend(options)
    if options["command"] == "pumps":
        from .pumps import pumps

        return pumps(options)
    if options["command"] == "size":
        from .size import size

        return size(options)
    if options["command"] == "report":
        from .report import report

        return report(options["case"], options["units"], options["to"], options["template"], options["paper"],
                      options["prices"])
    if options["command"] == "check":
        from .check import check

        return check(options["cases"], options["units"])
    if options["command"] == "schema":
        from .schema import schema

        return schema(options["to"])
    from .words import words

    return words(options["word"], options["to"])
