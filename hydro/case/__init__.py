"""A case file -> a `Build`: YAML in trade words, a unit on every number, every mistake in one line and all of them at once.

    load(path)            a file
    loads(text, file)     a text; `file` is the name that complaints carry, and its folder is where a curve's file is looked for

Both raise `InputError` with every independent complaint. No library of science is imported on the way. The parts:
`yaml_nodes` (text to a tree with lines), `values` (text of one value), `reading` (complaints and sections), `positional` and
`items` (elements, by the registry), `same_as`, `vessels`, `plumbing`, `pump_curve`, `settings`, `rules`, `sections`.
"""

from __future__ import annotations

import os
from pathlib import Path

from hydro.build import Build
from hydro.case.reading import Reading
from hydro.case.sections import read_build
from hydro.case.yaml_nodes import compose, read_text
from hydro.errors import InputError

__all__ = ["load", "loads"]


def load(path: str | os.PathLike[str]) -> Build:
    """Return the build that a case file describes; InputError holds every mistake in it."""
    where = Path(path)
    return _build(read_text(where), str(path), where.parent)


def loads(text: str, file: str = "<text>") -> Build:
    """Return the build that a text describes; InputError holds every mistake in it."""
    return _build(text, file, Path(file).parent)


def _build(text: str, file: str, folder: Path) -> Build:
    table, complaints = compose(text, file)
    reading = Reading(file, complaints=complaints)
    build = read_build(reading, table, folder)
    if reading.complaints:
        ordered = sorted(dict.fromkeys(reading.complaints), key=lambda complaint: complaint.line)
        raise InputError(ordered)
    return build
