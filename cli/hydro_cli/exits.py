"""Exit codes, and how a command's help tells them."""

FINE, FAILED, BAD_INPUT, NO_SOLUTION, INTERRUPTED, NOBODY_READS = 0, 1, 2, 3, 130, 141
"""130 and 141 are what a shell expects of a program stopped by Ctrl-C, and of one that writes to a pipe nobody reads."""


def exit_codes(fine: str, failed: str, unsolved: str = "no solution was found", in_part: bool = False) -> str:
    """Return the exit codes in words; `in_part` where Ctrl-C prints what was found by then."""
    stopped = "; what was found by then is printed" if in_part else ""
    return "\n".join(("exit codes:", f"  0  {fine}", f"  1  {failed}", "  2  the input cannot be used: one line for each mistake",
                      f"  3  {unsolved}", f"130  stopped by Ctrl-C{stopped}"))
