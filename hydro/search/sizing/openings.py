"""A case file with open values as something that can be filled in: what is open, its candidates, and the text of each choice.

    opened = read_openings(text, "my.yaml")
    opened.filled((0, 2))            the text with the first candidate of the first open value and the third of the second
    opened.written((0, 2))           the same as a file of its own, without the section 'open'

Nothing of the build is understood here: a filled text is read by `hydro.case`, like any other.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from hydro.case.syntax.open_values import SECTION, OpenPlace, open_places
from hydro.case.syntax.yaml_nodes import Text, YamlMapping, compose
from hydro.elements.registry import load_all
from hydro.errors import Complaint, InputError
from hydro.quantities.parsing import UnitProblem, nearest
from hydro.search.sizing.candidates import FORM, candidates, of_place

UNSAID = "\0"
"""Stands for candidates that were complained about already; no text of a file holds it."""
Choice = tuple[int, ...]
"""The place of a candidate for each open value."""


@dataclass(frozen=True, slots=True)
class Open:
    """An open value: its candidates in the file's words, the places where it stands, `name` ('' for one without).

    `listed` says that every candidate was written out, so that one which cannot be read is a mistake.
    """

    name: str
    candidates: tuple[str, ...]
    places: tuple[OpenPlace, ...]
    listed: bool

    @property
    def line(self) -> int:
        """The line where it first stands."""
        return self.places[0].line


@dataclass(frozen=True, slots=True)
class Openings:
    """A text with what it leaves open; `section` are the lines of 'open', counted from 0, first and behind the last."""

    text: str
    file: str
    values: tuple[Open, ...]
    section: tuple[int, int]

    def filled(self, choice: Choice) -> str:
        """Return the text with a choice filled in, every line where it stood."""
        spans = sorted(((place, one.candidates[k]) for one, k in zip(self.values, choice, strict=True) for place in one.places),
                       key=lambda pair: pair[0].start)
        pieces, at = [], 0
        for place, words in spans:
            pieces += [self.text[at:place.start], words + place.after]
            at = place.end
        lines = ("".join(pieces) + self.text[at:]).splitlines(keepends=True)
        first, last = self.section
        return "".join("\n" if first <= n < last else line for n, line in enumerate(lines))

    def written(self, choice: Choice) -> str:
        """Return the text with a choice filled in as a file of its own."""
        first, last = self.section
        lines = self.filled(choice).splitlines(keepends=True)
        return "".join(line for n, line in enumerate(lines) if not first <= n < last)

    def words(self, choice: Choice) -> list[str]:
        """Return the candidates of a choice, with what follows them where they first stand."""
        return [f"{one.candidates[k]} {one.places[0].tail.strip()}".strip() if _is_height(one) else one.candidates[k]
                for one, k in zip(self.values, choice, strict=True)]


def _is_height(one: Open) -> bool:
    return re.match(r"\s*(?:above|below)\s", one.places[0].tail) is not None


def read_openings(text: str, file: str) -> Openings:
    """Return what a text leaves open; `InputError` with every mistake in it, and where nothing is left open."""
    load_all()
    complaints: list[Complaint] = []
    span = section_lines(text, SECTION)
    stated = _stated(text, file, span, complaints)
    groups: dict[str, list[OpenPlace]] = {}
    for n, place in enumerate(open_places(text)):
        groups.setdefault(place.name or f"? {n}", []).append(place)
    made = [_value(places, text, file, stated, complaints) for places in groups.values()]
    values = [one for one in made if one is not None]
    complaints += [Complaint(file, entry.line, f"{SECTION}: {name}", "stands nowhere in the file",
                             f"'?{name}' where a value stands", nearest(name, groups))
                   for name, entry in stated.items() if name not in groups]
    if not groups and not complaints:
        complaints.append(Complaint(file, 0, "", "nothing is left open", "'?' where a value may be chosen, such as "
                                    "'pipe ? 40 PN10 or 50 PN10 1 m' or 'lip: ? 12 .. 18 cm below tank rim'"))
    if complaints:
        raise InputError(sorted(complaints, key=lambda one: one.line))
    return Openings(text, file, tuple(values), span)


def section_lines(text: str, key: str) -> tuple[int, int]:
    """Return the first line of a section of the file and the one behind its last, counted from 0; twice 0 where there is none."""
    lines = text.splitlines()
    for n, line in enumerate(lines):
        if re.match(rf"{key}\s*:(?:\s|$)", line):
            last = n + 1
            while last < len(lines) and (not lines[last].strip() or lines[last][0] in " \t}])"):
                last += 1
            while not lines[last - 1].strip():
                last -= 1
            return n, last
    return 0, 0


def _stated(text: str, file: str, span: tuple[int, int], complaints: list[Complaint]) -> dict[str, Text]:
    """Return the candidates of the section 'open' by name, as text."""
    first, last = span
    if not last:
        return {}
    lines = ["\n"] * first + [f"{line}\n" for line in text.splitlines()[first:last]]
    table, mistakes = compose("".join(lines), file)
    complaints += mistakes
    section = table.entries[SECTION]
    if not isinstance(section, YamlMapping):
        raise InputError([Complaint(file, section.line, SECTION, "no names with candidates", "{bore: 40 PN10 or 50 PN10}")])
    found: dict[str, Text] = {}
    for name, entry in section.entries.items():
        if isinstance(entry, Text) and re.fullmatch(r"[A-Za-z][\w-]*", name):
            found[name] = Text(entry.text.removeprefix("?").strip(), entry.line)
        elif isinstance(entry, Text):
            complaints.append(Complaint(file, entry.line, f"{SECTION}: {name}", "this is no name", "letters, figures, '-'"))
        else:
            complaints.append(Complaint(file, entry.line, f"{SECTION}: {name}", "this is no text", FORM))
            found[name] = Text(UNSAID, entry.line)
    return found


def _value(places: Sequence[OpenPlace], text: str, file: str, stated: dict[str, Text],
           complaints: list[Complaint]) -> Open | None:
    """Return one open value, None where its candidates cannot be made out."""
    name = places[0].name
    saying = [place for place in places if place.said]
    first, owner = places[0], f"?{name}" if name else places[0].key or places[0].before
    texts = [(place.said, place.line) for place in saying]
    texts += [(stated[name].text, stated[name].line)] if name in stated else []
    if len({" ".join(said.split()) for said, _ in texts}) > 1:
        where = " and ".join(str(line) for _, line in texts)
        complaints.append(Complaint(file, texts[-1][1], owner, f"its candidates are stated {len(texts)} times (lines {where})",
                                    "them at one place"))
        return None
    if texts and texts[0][0] == UNSAID:
        return None
    line = texts[0][1] if texts else first.line
    try:
        if name and not texts:
            raise UnitProblem(f"nothing says what '{name}' may be", f"{FORM}, behind one '?{name}' or in a section "
                              f"'{SECTION}: {{{name}: ...}}'")
        found = candidates(texts[0][0]) if texts else of_place(first, text)
    except UnitProblem as problem:
        complaints.append(Complaint(file, line, owner, problem.found, problem.expected, problem.nearest))
        return None
    return Open(name, tuple(found), tuple(places), bool(texts) and " or " in texts[0][0])
