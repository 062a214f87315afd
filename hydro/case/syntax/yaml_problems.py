"""What a YAML parser cannot read, in plain words, at the line where the mistake is: most of them it finds a line later."""

from __future__ import annotations

from typing import Any

MOST_DEPTH = 20
"""So many lists and mappings may stand in each other."""


def told(problem: Any, lines: list[str]) -> tuple[int, str, str]:
    """Return the line of a parser's error, what stands there, and what is expected, out of the lines of the text."""
    words, context = problem.problem or "", problem.context or ""
    mark = problem.problem_mark or problem.context_mark
    line = mark.line + 1 if mark else 0
    begun = problem.context_mark.line + 1 if problem.context_mark else line
    there = lines[line - 1] if 0 < line <= len(lines) else ""
    if "\t" in there[:len(there) - len(there.lstrip())]:
        return line, "a tab at the start of the line", "spaces in front of the words"
    if there.rstrip(" ,}]").endswith("?"):
        return line, f"{_shown(lines, line)} leaves a value open", "a value; 'sumpwright size' works out what is left open"
    if "nesting" in words:
        return line, f"lists or mappings more than {MOST_DEPTH} deep in each other", "a flatter file"
    if "quoted scalar" in context:
        return begun, f"a quote opens in {_shown(lines, begun)} and is not closed", "a closing quote"
    if "simple key" in context and "':'" in words:
        space = ":" in lines[begun - 1]
        return begun, f"{_shown(lines, begun)} has no {'space behind its colon' if space else 'colon'}", "'key: value'"
    if "mapping values" in words:
        before = _without_colon(lines, line)
        if before:
            return before, f"{_shown(lines, before)} has no colon", "'key: value'"
        return (line, f"{_shown(lines, line)} has a colon too many or does not line up",
                "'key: value', lined up with its neighbours")
    if "flow" in context and begun < line:
        return (begun, f"a bracket opens in {_shown(lines, begun)} and is not closed, or a comma is missing, up to line {line}",
                "each bracket closed, entries parted by commas")
    if "',' or" in words or "flow" in words or "<block end>" in words or "expected key" in words:
        return (line, f"{_shown(lines, line)} does not fit (a bracket, a comma or the indent)",
                "each bracket closed, entries lined up")
    return line, f"{_shown(lines, line)} cannot be read ({words})", "'key: value'; text with special signs in quotes"


def _shown(lines: list[str], line: int) -> str:
    there = lines[line - 1].strip()[:60] if 0 < line <= len(lines) else ""
    return f"'{there}'" if there else "the end of the file"


def _without_colon(lines: list[str], line: int) -> int:
    """Return the line above another one if it is a key without its colon, else 0: the two then read as one text."""
    above = next((k for k in range(line - 1, 0, -1) if lines[k - 1].strip() and not lines[k - 1].lstrip().startswith("#")), 0)
    text = lines[above - 1].strip() if above else ""
    closes = sum(map(text.count, "]}")) > sum(map(text.count, "[{"))
    return above if text and ":" not in text and not text.startswith("-") and not closes else 0
