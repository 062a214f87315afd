"""The JSON Schema of case files, held by an independent validator: what the reader takes passes, single mistakes do not."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from hydro.case.schema import case_schema
from hydro_cli import main as command

ROOT = Path(__file__).resolve().parents[2]
README = re.findall(r"^```yaml\n(.*?)^```$", (ROOT / "README.md").read_text(encoding="utf-8"), re.MULTILINE | re.DOTALL)[0]
BAD_INPUT = ROOT / "tests" / "bad_input"
CURVE = next(line.strip() for line in README.splitlines() if line.startswith("  curve:"))
SEVERAL = (BAD_INPUT / "several.yaml").read_text(encoding="utf-8")
FILES = [*sorted((ROOT / "cases").glob("*.yaml")), *sorted((ROOT / "cases" / "large").glob("*.yaml")),
         BAD_INPUT / "sound.yaml", BAD_INPUT / "several.yaml", Path(__file__).with_name("every_key.yaml")]
VALIDATOR = Draft202012Validator(case_schema())


class Yaml12(yaml.SafeLoader):
    """Reads scalars by the core schema of YAML 1.2, as editors do: 'yes' and 'off' are text."""

    yaml_implicit_resolvers: dict[str, Any] = {}  # noqa: RUF012


for tag, pattern in (("bool", "true|True|TRUE|false|False|FALSE"), ("null", "~|null|Null|NULL|"), ("int", "[-+]?[0-9]+"),
                     ("float", r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")):
    Yaml12.add_implicit_resolver(f"tag:yaml.org,2002:{tag}", re.compile(f"^({pattern})$"), None)


def plain(data: Any) -> Any:
    """Return data with keys as JSON has them: texts."""
    if isinstance(data, dict):
        return {str(key): plain(value) for key, value in data.items()}
    return [plain(value) for value in data] if isinstance(data, list) else data


def passes(text: str) -> bool:
    """Whether a case file passes the schema."""
    return VALIDATOR.is_valid(plain(yaml.load(text, Yaml12)))


def test_it_is_a_schema_of_its_draft():
    """The schema is itself valid by the meta-schema of draft 2020-12."""
    Draft202012Validator.check_schema(case_schema())


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_sound_files_pass(path):
    """Every case that the reader takes passes, the one with every key among them."""
    assert passes(path.read_text(encoding="utf-8"))


@pytest.mark.parametrize(("old", "new"), [
    ("title: My tank", "title: 12"), ("title: My tank", "goals: {quiet: yes}\nopen: {bore: 40 PN10 or 50 PN10}"),
    ("bottom: 85 cm above ground", "bottom: '? 80 .. 90 cm above ground'"), ("inflow, length: 35 cm", "7, length: about 35 cm"),
    ("at ground", "At ground"),
    ("chamber: inflow, end", "chamber: , end"), ("at ground", "4 cm Above the ground"), ("[elbow 90]", "elbow 90"),
    ("[elbow 90]", "[{like: elbow, size: 28 mm}, 2 x Elbow 45, like bend]"), ("{hole: 9 mm, at: 8 cm below tank rim}", "none"),
    ("{hole: 9 mm, at: 8 cm below tank rim}", "{hole: 9 mm, at: 8 cm below tank rim, siphon break ratio: 1}"),
    ("{standpipe: 57 mm, lip", "{standpipe: {rim: 57 mm, fin: yes}, lip"),
    ("{standpipe: 57 mm, lip", "{standpipe: 57 mm, fin: No, lip"),
    ("[bulkhead 50 mm,", "[{pipe: 63 PN10 95 cm, slope: 2 %}, bulkhead 50 mm,"),
    ("  bottom: 85 cm above ground", "  bottom: 85 cm above ground\n  wall: {glass: 12 mm, toughened: false}"),
    ("wishes:", "defaults: {fitting losses: 1.1}\nwishes:"), ("drains:\n  - name: main", "drains:\n  - name: 2 x main"),
    (CURVE, "curve: small.csv")])
def test_other_spellings_pass(old, new):
    """What the reader takes in another form, or leaves to `size`, passes too."""
    assert old in README
    assert passes(README.replace(old, new, 1))


MISTAKES = {
    "a misspelt key of the file": ("wishes:", "wish:"), "a misspelt key of the tank": ("  bottom: 85", "  botom: 85"),
    "a misspelt shape": ("  inside: 140", "  insides: 140"), "no shape": ("  inside: 140 x 60 x 55 cm ", "  # "),
    "two shapes": ("  bottom: 85", "  bucket fill: [1 L = 1 cm, 2 L = 2 cm]\n  bottom: 85"),
    "no bottom": ("  bottom: 85 cm above ground\n", ""), "no pump": ("pump:\n  curve", "notes:\n  curve"),
    "no returns": ("returns:", "livestock:"), "nothing of what the pump can do": ("  curve:", "  # curve:"),
    "a bare number": ("85 cm above ground", "85"), "a height from nowhere": ("85 cm above ground", "85 cm"),
    "a place that is none": ("8 cm below tank rim", "8 cm below tank rin"), "a minus sign": ("85 cm above", "-85 cm above"),
    "no unit": ("length: 35 cm", "length: 35"), "two sides where three are": ("140 x 60 x 55 cm", "140 cm"),
    "a mapping where a list is expected": (CURVE, "curve: {most flow: 3600 L/h, most height: 2.6 m}"),
    "a list where a mapping is expected": ("{chamber: inflow, end: 32 cm above sump bottom}", "[inflow, 32 cm]"),
    "text where a section is expected": ("wishes: {turnover: 3 .. 10 per hour, top-up reservoir: 5 L}", "wishes: many"),
    "a point of a curve without '='": ("1000 L/h = 2.4 m", "1000 L/h 2.4 m"),
    "an unknown inlet": ("{standpipe: 57", "{standpip: 57"),
    "an inlet without its lip": ("57 mm, lip: 8 cm below tank rim}", "57 mm}"),
    "a field of another element": ("57 mm, lip: 8 cm", "57 mm, turns: 8 cm"),
    "an unknown part": ("pipe 63 PN10", "pipette 63 PN10"), "an inlet in a line": ("[elbow 90]", "[standpipe 40 mm]"),
    "a part as the end of a chamber": ("ends in: {plate: 30 cm above sump bottom}", "ends in: elbow 90"),
    "a place of two kinds": ("{chamber: inflow, end", "{chamber: inflow, tank: tank, end"),
    "a drain without its end": ("{chamber: inflow, end: 32 cm above sump bottom}", "{chamber: inflow}"),
    "length and share": ("length: 35 cm", "length: 35 cm, share: 40 %"),
    "a word that is no choice": ("    end: 9 cm", "    points: backwards\n    end: 9 cm"),
    "an unknown default": ("wishes:", "defaults: {fitting loses: 1.1}\nwishes:"),
    "an unknown key of a break": ("{hole: 9 mm, at", "{hole: 9 mm, bore: 9 mm, at"),
    "water stated twice": ("wishes:", "water: {still: 20 cm above sump bottom, total: 200 L}\nwishes:"),
    "no drains in the list": ("wishes:", "pumps: []\nwishes:")}


@pytest.mark.parametrize("mistake", MISTAKES)
def test_single_mistakes_do_not_pass(mistake):
    """A file with one mistake that shows in the text alone is refused."""
    old, new = MISTAKES[mistake]
    assert old in README
    assert not passes(README.replace(old, new, 1))


@pytest.mark.parametrize(("old", "new"), [
    ("into: {chamber:", "into: {chambre:"), ("from: far", "form: far"), ("header: ", "heador: "), ("same as: ", "same: ")])
def test_mistakes_among_several_do_not_pass(old, new):
    """A misspelt key in a file with several tanks and pumps is refused too."""
    assert old in SEVERAL
    assert not passes(SEVERAL.replace(old, new, 1))


def test_the_command_writes_it(tmp_path, capsys):
    """`sumpwright schema` prints the schema, and with --to writes the same to a file."""
    assert command.main(["schema"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert command.main(["schema", "--to", str(tmp_path / "case.schema.json")]) == 0
    assert json.loads((tmp_path / "case.schema.json").read_text(encoding="utf-8")) == printed == case_schema()
