"""Text for a terminal of 80 columns: cleaning, wrapping, tables. Knows nothing of water.

Widths are counted in columns of a terminal, not in characters: a wide sign takes two, a combining accent none.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence

WIDTH = 80
LABEL = 15
"""Width of the label column of `labelled`."""
GAP = 2
LEAST = 8
"""No column of words is squeezed below this."""

Cells = Sequence[str]


def clean(text: str) -> str:
    """Return text on one line, with '?' for every sign that steers a terminal or cannot be printed."""
    return "".join(sign if sign.isprintable() else "?" for sign in " ".join(text.split()))


def columns(text: str) -> int:
    """Return how many columns a text takes."""
    return sum(0 if unicodedata.combining(sign) else 2 if unicodedata.east_asian_width(sign) in "WF" else 1
               for sign in text)


def _broken(word: str, width: int) -> list[str]:
    """Return a word in pieces of at most `width` columns."""
    pieces, piece = [], ""
    for sign in word:
        if columns(piece + sign) > width and piece:
            pieces.append(piece)
            piece = ""
        piece += sign
    return [*pieces, piece]


def wrap(text: str, width: int) -> list[str]:
    """Return a text in lines of at most `width` columns; longer words are broken. An empty text is one empty line."""
    lines, line = [], ""
    for word in clean(text).split(" "):
        for piece in _broken(word, width):
            if line and columns(line) + 1 + columns(piece) > width:
                lines.append(line)
                line = piece
            else:
                line = f"{line} {piece}" if line else piece
    return [*lines, line]


def paragraph(text: str, indent: int = 2, hang: int = 0) -> list[str]:
    """Return a text wrapped behind an indent; lines after the first stand `hang` columns further in."""
    lines = wrap(text, WIDTH - indent - hang)
    return [" " * (indent + (hang if number else 0)) + line for number, line in enumerate(lines)]


def titled(title: str, file: str) -> list[str]:
    """Return what stands first: the title of a build on three lines at the most, and its file where there is one."""
    return [*wrap(title or "A build", WIDTH)[:3], *([clean(file)] if file else [])]


def noted(notes: Iterable[str]) -> list[str]:
    """Return the notes under a table, those that say something."""
    return [line for note in notes if note for line in paragraph(f"{note}.", 2, 2)]


def listed(text: str) -> list[str]:
    """Return an entry of a list."""
    return paragraph(f"- {text}", 2, 2)


def labelled(label: str, *texts: str) -> list[str]:
    """Return texts beside a label, one below the other."""
    lines = [line for text in texts if text for line in wrap(text, WIDTH - LABEL)]
    shown = [label, *[""] * len(lines)]
    return [f"{mark:<{LABEL}}{line}".rstrip() for mark, line in zip(shown, lines, strict=False)]


def heading(text: str) -> list[str]:
    """Return the heading of a section."""
    return ["", clean(text), "-" * min(columns(clean(text)), WIDTH)]


def table(rows: Iterable[Cells], words: Iterable[int] = (0,), indent: int = 2) -> list[str]:
    """Return the lines of a table, see `table_rows`."""
    return [line for lines in table_rows(rows, words, indent) for line in lines]


def table_rows(rows: Iterable[Cells], words: Iterable[int] = (0,), indent: int = 2) -> list[list[str]]:
    """Return rows of cells as lines of at most 80 columns, one list of lines a row; the first row is the head.

    The columns numbered in `words` hold words: they stand to the left and are wrapped where room is short. All others are
    numbers: they stand to the right and are never broken, only their heads are.
    """
    grid = [[clean(cell) for cell in row] for row in rows]
    wordy = set(words)
    widths = _widths(grid, wordy, WIDTH - indent)
    set_rows = []
    for row in grid:
        lines = []
        cells = [wrap(cell, width) for cell, width in zip(row, widths, strict=True)]
        for k in range(max(map(len, cells))):
            line = (" " * GAP).join(_set(cell[k] if k < len(cell) else "", width, column in wordy)
                                    for column, (cell, width) in enumerate(zip(cells, widths, strict=True)))
            lines.append((" " * indent + line).rstrip())
        set_rows.append(lines)
    return set_rows


def _set(text: str, width: int, left: bool) -> str:
    blank = " " * (width - columns(text))
    return text + blank if left else blank + text


def _narrowest(text: str, lines: int) -> int:
    """Return the least width at which a text takes at most so many lines, its words whole."""
    width = max(map(columns, text.split(" ")))
    while len(wrap(text, width)) > lines:
        width += 1
    return width


def _widths(grid: list[list[str]], wordy: set[int], room: int) -> list[int]:
    """Return the widths of the columns: as their content asks, and the widest words shortened until the row fits."""
    head, *body = grid
    content = [max((columns(row[column]) for row in body), default=0) for column in range(len(head))]
    for lines in (2, 3, 99):
        widths = [max(longest, columns(title) if column in wordy else _narrowest(title, lines))
                  for column, (title, longest) in enumerate(zip(head, content, strict=True))]
        if sum(widths) + GAP * (len(widths) - 1) <= room:
            break
    while sum(widths) + GAP * (len(widths) - 1) > room:
        widest = max(wordy, key=lambda column: widths[column])
        if widths[widest] <= LEAST:
            break
        widths[widest] -= 1
    return widths
