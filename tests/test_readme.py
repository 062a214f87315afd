"""What a newcomer reads: the README's commands, example and snippet, and the frame of a case file that `words` prints."""

import contextlib
import io
import re
import tomllib

import pytest
from report_cases import ROOT

from hydro.case import loads
from hydro.case.keys.vessels import SHAPES
from hydro.elements.registry import family
from hydro.errors import InputError
from hydro.report.content.named import EXAMPLE
from hydro.report.terminal.word_list import listing, outline
from hydro_cli import main as command

README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```(\w*)\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)
KEY = "no such key"
PLACES = {
    "the file": ("title:", f"{KEY}: 1\ntitle:"), "tank": ("tank: {", f"tank: {{{KEY}: 1, "),
    "sump": ("sump:\n", f"sump:\n  {KEY}: 1\n"), "chambers": ("{name: pump,", f"{{{KEY}: 1, name: pump,"),
    "drains": ("{name: drain,", f"{{{KEY}: 1, name: drain,"), "pump": ("pump: {curve", f"pump: {{{KEY}: 1, curve"),
    "returns": ("[{line: [hose", f"[{{{KEY}: 1, line: [hose"), "water": ("drains:", f"water: {{{KEY}: 1}}\ndrains:"),
    "wishes": ("drains:", f"wishes: {{{KEY}: 1}}\ndrains:")}
"""For each section of a case file a change of the example that puts an unknown key there."""


def block(language, number=0):
    """Return a fenced block of the README by its language."""
    return [text for name, text in BLOCKS if name == language][number]


def after(heading):
    """Return the first fenced block after a heading."""
    return README.split(f"\n{heading}\n")[1].split("```\n")[1].strip()


@pytest.fixture
def case(tmp_path, monkeypatch):
    """Write the example of the README into a folder of its own and go there."""
    (tmp_path / "my-tank.yaml").write_text(block("yaml"), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return "my-tank.yaml"


def test_the_two_commands_stand_where_they_are_looked_for():
    """Under the two headings that are read by a script stands one line each: the demo, and the tests with their extra."""
    demo, tests = after("## Run the demo"), after("## Pass the tests")
    assert len(demo.splitlines()) == len(tests.splitlines()) == 1
    path = re.search(r"sumpwright run (\S+)$", demo)[1]
    assert (ROOT / path).is_file()
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert "pip install -q -e '.[test]'" in tests
    assert "test" in project["optional-dependencies"]
    assert "sumpwright" in project["scripts"]


def test_the_example_answers_as_printed(case, capsys):
    """The example is sound, no check of it fails, and its report has the answers word for word as the README shows them."""
    assert command.main(["check", case]) == 0
    capsys.readouterr()
    assert command.main(["run", case]) == 0
    report = capsys.readouterr().out
    shown = README.split("answers with:\n\n```\n")[1].split("```")[0]
    assert report == f"My tank\nmy-tank.yaml\n\n{shown}"
    labels = ("Verdict", "Felt-pen line", "Power cut", "Blocked drain", "Expect", "Measure")
    assert all(label in shown for label in labels)


def test_the_example_by_areas_and_heights(case):
    """The felt-pen line of the example is that of plane areas times heights: the sump filled to the room left at its rim, less
    what comes down, is the water that runs on one level over the drowned plate.

    0.45 m2 of sump (1.00 x 0.45 m), rim at 450 mm, room 25 mm; both chambers then stand at the line within 2 mm.
    """
    import hydro

    figures = hydro.figures(hydro.assess(hydro.load(case)))
    line = figures["highest running line, siphon breaks plugged, check valves stuck"].to("m").magnitude
    raised = block("yaml").replace("26 cm above sump bottom", f"{1000.0 * line:.3f} mm above sump bottom")
    down = hydro.figures(hydro.assess(loads(raised)))["comes down, siphon breaks plugged, check valves stuck"]
    assert line == pytest.approx(0.450 - 0.025 - down.to("m**3").magnitude / 0.45, abs=0.002)


def test_the_snippet_prints_what_is_said(case):
    """The Python of the README runs beside the example and prints what stands below it."""
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        exec(compile(block("python"), "README.md", "exec"), {})
    assert printed.getvalue() == README.split("\nprints\n\n```\n")[1].split("```")[0]


def test_commands_and_exit_codes_are_those_of_the_help(capsys):
    """Each command and each code that the help names is in the README, and no other command."""
    with pytest.raises(SystemExit):
        command.main(["--help"])
    said = " ".join(capsys.readouterr().out.split())
    told = " ".join(README.split())
    named = set(re.findall(r"`sumpwright (\w+)", README))
    assert named == {"run", "check", "happens", "faults", "pumps", "mend", "size", "report", "words", "schema"}
    assert all(re.search(rf"\b{name} [a-z]", said) for name in named)
    codes = (("0", "no check on floor or pump fails"), ("1", "one does"), ("2", "the input cannot be used"),
             ("3", "no solution was found"))
    for code, words in codes:
        assert f"{code} {words}" in said
        assert f"{code} {words}" in told


def complaint(text):
    """Return the one complaint about an unknown key."""
    with pytest.raises(InputError) as caught:
        loads(text)
    line, = [line for line in caught.value.complaints if line.key.endswith(KEY)]
    return line


@pytest.mark.parametrize("section", PLACES)
def test_the_frame_is_what_the_reader_takes(section):
    """Every key that a section's reader knows is in the frame that `words` prints, and no other (shapes stand apart)."""
    old, new = PLACES[section]
    assert old in EXAMPLE
    known = complaint(EXAMPLE.replace(old, new, 1)).expected.removeprefix("one of ").split(", ")
    aside = {"notes", "lid", "heater", "circulation pumps", "lights", "livestock", "weight", "up-turned elbow"}
    shapes = {*family("vessel"), "plan", "height"} if section in ("tank", "sump") else set()
    assert set(dict(outline())[section]) - aside == set(known) - aside - shapes


@pytest.mark.parametrize("section", PLACES)
def test_the_frame_marks_what_must_be_there(section):
    """A key that is marked as needed is missed where it is left out, by its name."""
    text = "drains: [{name: a}]\nreturns: [{name: b}]\ntank: {inside: 1 x 1 x 1 m}\nsump: {inside: 1 x 1 x 1 m}\n"
    if section == "the file":
        text = "title: nothing else"
    with pytest.raises(InputError) as caught:
        loads(text)
    owner = {"the file": "", "drains": "drain a: ", "returns": "return b: "}.get(section, f"{section}: ")
    missed = {told.key for told in caught.value.complaints if told.found == "the key is missing"}
    assert {f"{owner}{key}" for key, line in dict(outline())[section].items() if line.startswith(f"{key}*")} <= missed


@pytest.mark.parametrize("word", [*SHAPES])
def test_shapes_are_written_as_shown(word):
    """Each shape of a vessel can be written as `words` shows it."""
    form = SHAPES[word].written.replace(", beside it plan: 60 x 40 cm (at the rim) and ", "\n  plan: 60 x 40 cm\n  ")
    sump = "sump:\n  inside: 80 x 40 x 40 cm"
    assert sump in EXAMPLE
    assert loads(EXAMPLE.replace(sump, f"sump:\n  {form}")).sump.shape.kind == word


@pytest.mark.parametrize(("sought", "shown"), [("PN10", "50 PN10"), ("wishes", "top-up reservoir"), ("chambers", "ends in"),
                                               ("taper", "{rim: 60 x 40 cm"), ("pipe sizes", "1-1/2 in sch 40")])
def test_words_finds_sections_and_sizes(sought, shown):
    """A search of the words finds sections and keys of a case file and sizes of the catalogue, not only elements."""
    assert shown in " ".join(" ".join(listing(sought)).split())
