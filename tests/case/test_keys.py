"""The table of keys and the readers are one: every key of it is read, and a reader asks for nothing else."""

from __future__ import annotations

import doctest
from pathlib import Path

import pytest

from hydro.case import keys, load, loads, schema
from hydro.case.keys import SECTIONS
from hydro.case.syntax.reading import CaseSection, Reading
from hydro.case.syntax.yaml_nodes import YamlMapping
from hydro.elements.registry import load_all
from hydro.quantities.parsing import DIMENSIONS
from hydro.search.sizing.goals import read_goals

EVERY = Path(__file__).with_name("every_key.yaml")
SUMP = "sump: {bucket fill: [10 L = 44 mm, 20 L = 86 mm, 40 L = 166 mm], plan: 60 x 40 cm, height: 30 cm, bottom: at ground"
REST = """
tank: {inside: 60 x 40 x 30 cm, bottom: 1 m above ground}
drains: [{inlet: {standpipe: 43 mm, lip: 6 cm below tank rim}, line: [pipe 50 PN10 60 cm], into: {end: 25 cm above sump bottom}}]
pump: {curve: [0 L/h = 4.0 m, 6000 L/h = 0 m]}
returns: [{line: [hose 25 mm 90 cm], end: 3 cm below tank rim}]
wishes: {turnover: 2 .. 40 per hour}
"""
CUT = "ends in: {plate: 20 cm above sump bottom}"
SMALL = (f"{SUMP}, gear: 1 L, line: 10 cm above sump bottom}}{REST}",
         f"{SUMP}, chambers: [{{length: 20 cm, {CUT}}}, {{line: 10 cm above sump bottom}}]}}{REST}",
         f"{SUMP}, chambers: [{{share: 40 %, {CUT}}}, {{}}]}}{REST}water: {{total: 40 L}}")
"""What a single sump, and chambers of other kinds, have besides."""
BEFORE = {("tank", "header"), *((what, "except") for what in ("tank", "drain", "return", "pump"))}
"""Keys that are taken out of an entry before its section is read; held by what they make."""


@pytest.fixture(scope="module")
def read() -> set[tuple[str, str]]:
    """Return every key, with its section, that stands in one of the texts and that a reader asks for; no text has a mistake."""
    names = {id(section): name for name, section in SECTIONS.items()}
    found: set[tuple[str, str]] = set()
    take, finish = CaseSection.take, CaseSection.finish

    def note(section):
        if id(section.keys) in names:
            found.update((names[id(section.keys)], key) for key in section.known if key in section.table.entries)

    def taken(section, *arguments, **named):
        node = take(section, *arguments, **named)
        note(section)
        return node

    def finished(section, *arguments):
        note(section)
        return finish(section, *arguments)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(CaseSection, "take", taken)
        patch.setattr(CaseSection, "finish", finished)
        load(EVERY)
        for text in SMALL:
            loads(text)
        read_goals(EVERY.read_text(encoding="utf-8"), "every_key.yaml", {})
    return found


@pytest.mark.parametrize("name", SECTIONS)
def test_every_key_of_the_table_is_read(name, read):
    """Of each section, the readers take every key that the table has, in texts without a mistake."""
    assert {key for key in SECTIONS[name].keys if (name, key) not in read} == {key for what, key in BEFORE if what == name}


def test_a_key_that_is_not_in_the_table_is_not_asked_for():
    """A reader that asks for a key which neither the table nor the registry has for that section stops at once."""
    load_all()
    section = CaseSection(Reading("my.yaml"), YamlMapping({}, {}, 1), "tank", SECTIONS["tank"])
    assert section.take("bottom") is section.take("taper") is None
    for word in ("botom", "elbow 90"):
        with pytest.raises(KeyError):
            section.take(word)


def test_what_comes_before_the_sections():
    """The keys that are taken out before a section is read make what they say: a row's ring, and twins that differ."""
    build = load(EVERY)
    assert "row 4 to 1" in [run.name for run in build.runs]
    bottoms = [tank.bottom.offset.middle for tank in build.tanks if tank.name.startswith("rack")]
    assert bottoms == pytest.approx([0.9, 1.0, 0.9, 0.9])
    assert [pump.speed is not None and pump.speed.middle for pump in build.pumps if pump.name.startswith("spare")] == [0.9, 0.8]
    lips = [drain.inlet.values["lip"].offset.middle for drain in build.drains if drain.name.startswith("rack 1 ")]
    ends = [way.end.offset.middle for way in build.returns if way.name.startswith("rack 1 ")]
    assert (lips, ends) == (pytest.approx([-0.05, -0.04]), pytest.approx([-0.03, -0.04]))


@pytest.mark.parametrize("name", SECTIONS)
def test_the_table_is_sound(name):
    """What a key refers to is there: sections, families, dimensions, choices; and an example where it is required."""
    section = SECTIONS[name]
    kinds = {*DIMENSIONS, "", "height", "word", "name", "text", "prose", "wall", "product", "fill", "point", "bucket test",
             "none", "except", "defaults"}
    families = {kind.family for kind in load_all().values()}
    for key in section.keys.values():
        assert key.kind in kinds
        assert key.section in {"", *SECTIONS}
        assert key.unless in {"", *section.keys}
        assert {*key.families} <= families
        assert bool(key.choices) == (key.kind == "word")
        assert key.example or not key.required
    assert {*section.least_one, *section.most_one} <= section.keys.keys()
    assert {*section.families} <= families


@pytest.mark.parametrize("package", [keys, schema])
def test_the_examples_run(package):
    """The example in the description of the table, and in that of the schema, gives what it says."""
    assert doctest.testmod(package) == (0, 1)
