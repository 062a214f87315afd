"""The words of a case file and the defaults that it may override, out of the registry: what `sumpwright words` prints."""

from __future__ import annotations

from hydro.case.keys import SECTIONS, SectionKeys
from hydro.case.keys.vessels import SHAPES
from hydro.case.sections.settings import known_defaults
from hydro.catalog import pipe_sizes, waste_pipes
from hydro.elements.registry import Default, Field, Kind, load_all
from hydro.quantities.tape import plain_band, unrounded
from hydro.quantities.unit_table import nearest, spoken
from hydro.report.terminal.layout import heading, listed, paragraph

FAMILIES = {"vessel": "Shapes of a tank or sump", "inlet": "Inlets of a drain", "part": "Parts of a line",
            "barrier": "What a chamber ends in", "edge": "What a tank spills over into its box",
            "break": "Siphon breaks"}


HEIGHTS = ("A height says from where: 5 cm below tank rim, 3 cm above lip of NAME. Places: ground, tank bottom, tank rim, tank "
           "water, sump bottom, sump rim, lip of NAME (a drain). With several vessels: NAME bottom, NAME rim, NAME water; in a "
           "box's drains box bottom, box rim, box water. A number may be rough: about 12 cm, 150..170 cm. '2 x elbow 90' stands "
           "for two.")


def outline() -> list[tuple[str, dict[str, str]]]:
    """Return the headings of the sections, those of files with several of something last, each with a line for every key.

    A key that must be there has a star.
    """
    def lines(section: SectionKeys, several: bool) -> dict[str, str]:
        told = {name: key.several if several else key.written for name, key in section.keys.items()}
        stars = {name for name, key in section.keys.items() if key.required and not (several and key.written)}
        return {name: f"{name}{'*' * (name in stars)}: {line}" for name, line in told.items() if line}
    one = [(section.title, lines(section, False)) for section in SECTIONS.values() if section.title]
    return one + [(section.several, lines(section, True)) for section in SECTIONS.values() if section.several]


def kinds() -> list[Kind]:
    """Return every kind once, by family and word."""
    once = {id(kind): kind for kind in load_all().values()}
    order = [*FAMILIES]
    return sorted(once.values(), key=lambda kind: (order.index(kind.family) if kind.family in order else 99, kind.word))


def listing(sought: str = "") -> list[str]:
    """Return the lines of the listing; none where nothing holds the words sought."""
    folded = sought.casefold().strip()
    lines = _sections(folded)
    family = ""
    for kind in kinds():
        if not any(folded in word.casefold() for word in (kind.word, *kind.also)):
            continue
        if kind.family != family:
            family = kind.family
            lines += heading(FAMILIES.get(family, family))
        lines += paragraph(described(kind), 2, 4)
    lines += _pipes(folded)
    found = [default for name, default in sorted(known_defaults().items()) if folded in name.casefold()]
    if found:
        lines += heading("Defaults, overridden under 'defaults' by name")
    for default in found:
        lines += listed(default_words(default))
    return lines[1:] if lines else []


def _sections(folded: str) -> list[str]:
    """Return the frame of a case file: all of it, or the sections that have the words sought in their name or a key."""
    found = [(name, keys) for name, keys in outline() if any(folded in word for word in (name, *keys))]
    if not found:
        return []
    lines = heading("The sections of a case file, and how their keys are written")
    for name, keys in found:
        lines += ["", *paragraph(f"{name}:"), *(line for key in keys.values() for line in paragraph(key, 4, 4))]
    return [*lines, "", *paragraph("* must be there; a pump needs one of curve, box and bucket; tank, sump and pump may stand in "
                                   "a list instead. " + HEIGHTS)]


def _pipes(folded: str) -> list[str]:
    """Return the pipe sizes of the catalogue that hold the words sought, those of one kind together."""
    kinds: dict[str, list[str]] = {}
    for words, size in (pipe_sizes() | waste_pipes()).items():
        if folded in "pipe sizes" or folded in words.casefold():
            kinds.setdefault(size.source, []).append(words)
    lines = heading("Pipe sizes of the catalogue: 'pipe 50 PN10 104 cm', 'elbow 90 50 PN10'") if kinds else []
    return lines + [line for standard, sizes in kinds.items() for line in listed(f"{standard}: {', '.join(sizes)}")]


def near(sought: str) -> str:
    """Return the closest word or name of a default, '' if none is near."""
    words = [word for name, keys in outline() for word in (name, *keys)]
    return nearest(sought, [*load_all(), *known_defaults(), *words])


def described(kind: Kind) -> str:
    """Return a kind: its words, what may stand behind it, and its summary."""
    fields = [_field(one, kind) for one in kind.fields]
    also = f" (also {', '.join(kind.also)})" if kind.also else ""
    summary = f": {kind.summary}" if kind.summary else ""
    if kind.word in SHAPES:
        return f"{kind.word}{also}{summary} -- written '{SHAPES[kind.word].written}'"
    return f"{kind.word}{also}{summary}" + (f" -- {'; '.join(fields)}" if fields else "")


def _field(field: Field, kind: Kind) -> str:
    what = {"height": "a height", "size": "a bore or a size of the catalogue", "table": "volumes and heights",
            "height range": "two heights"}
    name = field.name.replace("_", " ")
    dimension = "/".join(field.choices) or what.get(field.dimension) or spoken(field.dimension).noun
    placed = kind.positional.index(field.name) + 1 if field.name in kind.positional else 0
    order = f", place {placed}" if placed and len(kind.positional) > 1 else ""
    return f"{name} ({dimension}{order}{'' if field.required else ', optional'})"


def default_words(default: Default) -> str:
    """Return a default with its value, band and source."""
    likely = plain_band(default.low, default.high, default.dimension, "metric")
    band = f" ({likely})" if likely else ""
    return f"{default.name} {unrounded(default.middle, default.dimension, 'metric')}{band}: {default.source}"
