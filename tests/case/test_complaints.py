"""Every mistake in a case file gets one line: where it stands, what stands there, what is expected, the nearest word.

The texts are the invented `bad_input/sound.yaml` with something in it replaced.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from hydro.case import loads
from hydro.errors import InputError

SOUND = (Path(__file__).parents[1] / "bad_input" / "sound.yaml").read_text(encoding="utf-8")
PIPE, LIP, TURNS = "pipe 40 PN10 120 cm", "lip: 10 cm below tank rim", "turns: 40 cm above tank bottom .. 55 cm above tank bottom"
CURVE, BOX = "curve: [0 L/h = 4.0 m, 3000 L/h = 3.0 m, 5000 L/h = 0 m]", "inside: 100 x 50 x 45 cm"
LINE, SPLASH = ", line: 20 cm above sump bottom", "length: 40 cm, ends in: {plate: 30 cm above sump bottom}"
TITLE = "title: Test loop"


def changed(*pairs: tuple[str, str]) -> str:
    """Return the sound text with one or more of its pieces replaced, each of which must be there."""
    text = SOUND
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new, 1)
    return text


def complaints(text: str) -> list[str]:
    """Return the complaints about a text, as its author sees them."""
    with pytest.raises(InputError) as caught:
        loads(text, "my.yaml")
    return str(caught.value).splitlines()


VALUES = {
    "unit missing": (7, "length: 40 cm", "length: 40", ("splash: length", "no unit on '40'", "12 cm")),
    "wrong dimension": (7, "length: 40 cm", "length: 40 L", ("splash: length", "'40 L' is a volume", "a length")),
    "which gallon": (2, "90 cm above", "90 gal above", ("tank: bottom", "which gallon", "US gal")),
    "decimal comma": (20, "12 cm below", "12,5 cm below", ("return 1: end", "comma", "'12.5'")),
    "not a number": (7, "length: 40 cm", "length: nan cm", ("splash: length", "no number in 'nan cm'")),
    "endless": (7, "length: 40 cm", "length: 1e999 cm", ("splash: length", "1e999", "sensible size")),
    "nothing written": (7, "length: 40 cm", "length: ''", ("splash: length", "nothing is written", "a length")),
    "a list for a value": (7, "length: 40 cm", "length: [40 cm]", ("splash: length", "a list stands here", "one value")),
    "text for a mapping": (16, f"pump:\n  {CURVE}\n  line: [hose 32 mm 150 cm]\n", "pump: big\n",
                           ("pump", "'big' stands here", "curve")),
    "minus sign": (2, "90 cm above", "-90 cm above", ("tank: bottom", "minus sign", "'above' or 'below'")),
    "two sides for a box": (4, BOX, "inside: 100 x 50 cm", ("sump: inside", "2 sides", "length x width x height")),
    "a vast box": (4, BOX, "inside: 100 x 50 x 45 m", ("sump: inside", "out of physical range", "20 mm to 30 m")),
    "hot": (1, TITLE, "temperature: 80 °C", ("temperature", "'80 °C' is out of physical range", "0 °C to 40 °C")),
    "salinity": (1, TITLE, "salinity: 35 %", ("salinity", "'35 %' is a share", "35 g/kg")),
    "display units": (1, TITLE, "units: metrc", ("units", "'metrc'", "metric, US, imperial", "did you mean 'metric'")),
}

HEIGHTS = {
    "bare height": (12, LIP, "lip: 10 cm", ("left: lip", "'10 cm'", "above or below", "ground, tank bottom, tank rim, "
                                             "tank water, sump bottom, sump rim", "lip of NAME")),
    "over for above": (2, "cm above ground", "cm over ground", ("tank: bottom", "'90 cm over ground'", "above or below")),
    "unknown place": (12, LIP, "lip: 10 cm below tank rmi", ("left: lip", "'tank rmi'", "did you mean 'tank rim'")),
    "lip of nobody": (15, "9 cm below tank rim", "1 cm above lip of lefty",
                      ("right: lip", "no drain 'lefty'", "left, right", "did you mean 'left'")),
    "lip of itself": (15, "9 cm below tank rim", "1 cm above lip of right", ("right: lip", "circle", "ground")),
    "one turn": (12, TURNS, "turns: 40 cm above tank bottom", ("left: turns", "one height", "two heights with '..'")),
    "turns backwards": (12, TURNS, "turns: 55 cm above tank bottom .. 40 cm above tank bottom",
                        ("left: turns", "lowest position is above the highest")),
    "lip outside turns": (12, LIP, "lip: 3 cm below tank rim", ("left: lip", "20 mm above the highest", "'turns'")),
    "lip above the rim": (12, LIP, "lip: 1 cm above tank rim", ("left: lip", "10 mm above the tank rim", "below")),
    "lip below the bottom": (12, LIP, "lip: 70 cm below tank rim", ("left: lip", "100 mm below the tank bottom")),
    "end above its inlet": (14, "end: 25 cm above", "end: 170 cm above", ("left: end", "ends above its inlet", "below the lip")),
    "end below the sump": (14, "end: 25 cm above", "end: 5 cm below", ("left: end", "50 mm below the sump bottom")),
    "break below the tank": (20, "12 cm below tank rim",
                             "12 cm below tank rim, siphon break: {hole: 8 mm, at: 80 cm below tank rim}",
                             ("return 1: siphon break: at", "200 mm below the tank bottom")),
    "mouth below the tank": (20, "12 cm below", "80 cm below", ("return 1: end", "200 mm below the tank bottom")),
    "notch over the rim": (2, "bottom: 90", "lowest opening: 1 cm above tank rim, bottom: 90",
                           ("tank: lowest opening", "10 mm above the tank rim")),
    "line above the rim": (9, "line: 20 cm above", "line: 50 cm above", ("pump: line", "50 mm above the sump rim")),
    "line below the bottom": (9, "line: 20 cm above", "line: 5 cm below", ("pump: line", "50 mm below the sump bottom")),
    "intake above the rim": (17, "  curve", "  intake: 46 cm above sump bottom\n  curve",
                             ("pump: intake", "10 mm above the sump rim")),
}

SUMP = {
    "chambers too long": (7, SPLASH, SPLASH.replace("40 cm", "110 cm"), ("splash: length", "1.1 m, beyond the sump (1 m)")),
    "mats out of order": (8, "at: 70 cm", "at: 30 cm", ("mats: at", "300 mm", "order in which the water passes")),
    "plate over the rim": (7, "plate: 30 cm", "plate: 50 cm", ("splash: top", "50 mm above the sump rim")),
    "no length": (7, "length: 40 cm, ", "", ("splash: length", "the key is missing", "at: 40 cm", "share: 40 %")),
    "two lengths": (7, "length: 40 cm", "length: 40 cm, share: 40 %", ("chamber splash", "more than one")),
    "no end": (8, "ends in: {mat: coarse, at: 70 cm, top: 28 cm above sump bottom}", "at: 70 cm",
               ("mats: ends in", "missing", "plate")),
    "an end at the wall": (9, "name: pump,", "name: pump, ends in: {plate: 3 cm above sump bottom},",
                           ("pump: ends in", "the last chamber ends at the sump's wall")),
    "unknown grade": (8, "mat: coarse", "mat: corse", ("mats", "'corse'", "coarse, medium, fine", "did you mean 'coarse'")),
    "unknown end": (7, "plate: 30", "plte: 30", ("splash", "no word for the end of a chamber", "did you mean 'plate'")),
    "no line": (4, LINE, "", ("water", "nothing says how much water", "line: HEIGHT", "still", "total")),
    "two waters": (16, "pump:\n", "water: {total: 900 L}\npump:\n", ("water", "stated 2 times (lines 9 and 16)", "exactly one")),
    "a line without a pump": (8, "name: mats,", "name: mats, line: 20 cm above sump bottom,", ("mats: line", "without the pump")),
    "one fill": (4, BOX, "bucket fill: [40 L = 450 mm]\n  plan: 100 x 50 cm", ("sump: bucket fill", "fewer than two fills")),
    "falling fills": (4, BOX, "bucket fill: [10 L = 470 mm, 20 L = 400 mm]\n  plan: 100 x 50 cm",
                      ("sump: bucket fill", "the height does not rise")),
    "shrinking fills": (4, BOX, "bucket fill: [20 L = 100 mm, 20 L = 400 mm]\n  plan: 100 x 50 cm",
                        ("sump: bucket fill", "the volume does not rise")),
    "a fill without '='": (4, BOX, "bucket fill: [10 L 47 mm, 20 L = 400 mm]\n  plan: 100 x 50 cm",
                           ("sump: bucket fill", "'10 L 47 mm' has no '='", "10 L = 47 mm")),
    "fills without a plan": (7, BOX, "bucket fill: [100 L = 200 mm, 200 L = 450 mm]",
                             ("splash: length", "length of the sump is not known", "plan")),
    "no shape": (4, BOX, "lowest opening: 44 cm above sump bottom", ("sump", "no shape", "inside, taper, bucket fill")),
    "widening tub": (4, BOX, "taper: {rim: 100 x 50 cm, bottom: 110 x 40 cm, height: 45 cm}",
                     ("sump: taper: bottom", "length at the bottom is larger")),
}

PARTS = {
    "no length": (13, PIPE, "pipe 40 PN10", ("left: pipe", "without 'length'")),
    "unknown pipe": (13, PIPE, "pipe 40 PN11 120 cm", ("left: pipe", "'40 PN11'", "did you mean '40 PN10'")),
    "bore without unit": (13, PIPE, "pipe 28.4 1.7 m", ("left: pipe", "no unit on '28.4'", "SIZE LENGTH", "28.4 mm")),
    "length without unit": (13, PIPE, "pipe 40 PN10 120", ("left: pipe", "no unit on '120'", "SIZE LENGTH")),
    "too much": (13, PIPE, "pipe 40 PN10 120 cm 2 L", ("left: pipe", "'2 L' is left over", "SIZE LENGTH")),
    "unknown part": (13, PIPE, "ribed hose 38 mm 120 cm", ("drain left", "no known word", "did you mean 'ribbed hose'")),
    "an inlet in a line": (13, "elbow 90", "standpipe", ("left", "'standpipe' is an inlet", "part of a line", "pipe, hose")),
    "wide open": (13, "elbow 90", "gate valve 140 % open", ("gate valve", "'140 %' is out of physical range", "2 % to 100 %")),
    "negative K": (13, "elbow 90", "K -3", ("left: K", "'-3' is out of physical range", "0 to 100000")),
    "no K": (13, "elbow 90", "K", ("left: K", "without 'K'")),
    "no twins": (13, "elbow 90", "0 x elbow 90", ("drain left", "'0 x'", "1 to 50")),
    "two words": (13, "elbow 90", "{pipe: 32 PN10 3 cm, hose: 3 mm 3 cm}", ("drain left", "both 'pipe' and 'hose'")),
    "unknown field": (13, "elbow 90", "{pipe: 32 PN10 3 cm, roughnes: 1 mm}",
                      ("pipe (2): roughnes", "unknown key", "did you mean 'pipe roughness'")),
    "a list in a list": (13, "elbow 90", "[elbow 90]", ("drain left", "a list stands here")),
    "no bore": (14, f"[bulkhead 38 mm, {PIPE}, elbow 90]", "[elbow 90, K 2]",
                ("left: line", "no part of the line names its bore")),
    "vast rim": (12, "elbow up: 43 mm", "elbow up: 43 m", ("drain left", "'43 m' is out of physical range", "5 mm to 600 mm")),
    "unknown inlet": (12, "elbow up:", "elbow op:", ("drain left", "no word for an inlet", "did you mean 'elbow up'")),
    "missing lip": (12, LIP + ", ", "", ("drain left", "without 'lip'", "LENGTH above or below a place")),
    "misspelt lip": (12, LIP, LIP.replace("lip", "lpi"), ("left: lpi", "unknown key", "did you mean 'lip'")),
    "strainer perhaps": (12, LIP, LIP + ", strainer: perhaps", ("left: strainer", "'perhaps'", "yes, no")),
    "points": (20, "end: 12", "points: sidways, end: 12", ("return 1: points", "'sidways'", "did you mean 'sideways'")),
    "vast hole": (20, "end: 12", "siphon break: {hole: 8 cm, at: 3 cm below tank rim}, end: 12",
                  ("siphon break: hole", "'8 cm' is out of physical range", "0.5 mm to 50 mm")),
    "hole nowhere": (20, "end: 12", "siphon break: {hole: 8 mm}, end: 12", ("siphon break", "without 'at'")),
    "break not described": (20, "60 cm]", "60 cm, siphon break]", ("return 1: line", "none described", "hole: 8 mm")),
}

NAMES = {
    "used twice": (15, "name: right", "name: left", ("drain left", "'left' is used twice (first in line 11)")),
    "same as nobody": (15, "same as: left", "same as: lfet", ("right: same as", "no drain 'lfet'", "did you mean 'left'")),
    "into nowhere": (14, "chamber: splash", "chamber: splsh", ("left: chamber", "no chamber 'splsh'", "did you mean 'splash'")),
    "pump nowhere": (17, "  curve", "  chamber: pmp\n  curve", ("pump: chamber", "no chamber 'pmp'", "did you mean 'pump'")),
    "top key": (1, "title:", "titel:", ("titel", "unknown key", "did you mean 'title'")),
    "top key missing": (1, "returns:\n  - {line: [pipe 32 PN10 60 cm], end: 12 cm below tank rim}\n", "",
                        ("returns", "the key is missing")),
    "chamber key": (7, "length: 40", "lenght: 40", ("splash: lenght", "unknown key", "did you mean 'length'")),
    "default": (1, TITLE, "defaults: {rim weir coeficient: 0.6}", ("defaults: rim weir coeficient", "no such default",
                                                                   "did you mean 'rim weir coefficient'")),
    "wish": (1, TITLE, "wishes: {turnovr: 3 per hour}", ("wishes: turnovr", "unknown key", "did you mean 'turnover'")),
    "counted on": (1, TITLE, "wishes: {count on: checkvalves}", ("wishes: count on", "did you mean 'check valves'")),
    "key twice": (10, "drains:", "tank: 3\ndrains:", ("tank", "stands twice (first in line 2)", "each key once")),
    "merge key": (10, "drains:", "<<: {a: 1}\ndrains:", ("<<", "merge keys", "'same as: NAME'")),
}

PUMP = {
    "one point": (17, CURVE, "curve: [0 L/h = 4 m]", ("pump: curve", "a curve of 1 point", "two points or more")),
    "begins at no height": (17, "0 L/h = 4.0 m", "0 L/h = 0 m", ("pump: curve", "the curve begins at no height", "outlet shut")),
    "one bucket": (17, CURVE, "bucket: [10 L in 7 s at 1 m]", ("pump: bucket", "one bucket test alone", "two tests")),
    "buckets the wrong way round": (17, CURVE, "bucket: [10 L in 7 s at 1 m, 10 L in 6 s at 2 m]",
                                    ("pump: bucket", "no less flow at the greater height", "the higher with less flow")),
    "buckets alike": (17, CURVE, "bucket: [10 L in 7 s at 1 m, 10 L in 7 s at 2 m]", ("no less flow at the greater height",)),
    "same flow twice": (17, "3000 L/h", "0 L/h", ("pump: curve", "the same flow stands twice", "flows that rise")),
    "falling flow": (17, "5000 L/h", "2000 L/h", ("pump: curve", "a flow is lower than the one before")),
    "not a number": (17, "= 3.0 m", "= nan m", ("pump: curve", "no number in 'nan m'")),
    "below zero": (17, "= 0 m", "= -1 m", ("pump: curve", "a height below zero")),
    "no '='": (17, "3000 L/h = 3.0 m", "3000 L/h 3.0 m", ("pump: curve", "'3000 L/h 3.0 m' has no '='")),
    "all flat at zero": (17, CURVE, "curve: [0 L/h = 0 m, 100 L/h = 0 m]", ("pump: curve", "no point has a height")),
    "no such file": (17, CURVE, "curve: nothere.csv", ("pump: curve", "'nothere.csv'", "no such file")),
    "nothing known": (17, "  " + CURVE + "\n", "", ("pump", "nothing says what the pump can do", "curve", "box", "bucket")),
    "half a box": (17, CURVE, "box: {most flow: 3000 L/h}", ("pump: most height", "missing", "3.8 m")),
    "bucket": (17, CURVE, "bucket: [10 L in 7 s]", ("pump: bucket", "'10 L in 7 s'", "VOLUME in TIME at HEIGHT")),
    "bucket time": (17, CURVE, "bucket: [10 L in 7 at 1 m]", ("pump: bucket", "no unit on '7'", "a time")),
    "speed": (17, "  curve", "  speed: 300 %\n  curve", ("pump: speed", "'300 %' is out of physical range", "5 % to 150 %")),
}

EVERY = {f"{table}: {name}": row for table, rows in (
    ("value", VALUES), ("height", HEIGHTS), ("sump", SUMP), ("part", PARTS), ("name", NAMES), ("pump", PUMP))
    for name, row in rows.items()}


@pytest.mark.parametrize(("line", "old", "new", "fragments"), EVERY.values(), ids=EVERY.keys())
def test_one_mistake_one_line(line: int, old: str, new: str, fragments: tuple[str, ...]) -> None:
    """One mistake gives one line that names its place, what stands there and what is expected."""
    lines = complaints(changed((old, new)))
    assert len(lines) == 1, lines
    assert lines[0].startswith(f"my.yaml:{line}: ")
    assert not [fragment for fragment in fragments if fragment not in lines[0]], lines[0]


@pytest.mark.parametrize("name", ["pump strength", "rim weir coefficient", "rim orifice coefficient with fin", "comb coefficient",
                                  "siphon break coefficient", "fitting losses", "plate weir coefficient", "strainer factor"])
@pytest.mark.parametrize("value", ["0", "0.001"])
def test_what_divides_is_not_zero(name: str, value: str) -> None:
    """A default by which something is divided is refused at nothing, and at less than a tenth of what it may be."""
    line, = complaints(changed((TITLE, f"{TITLE}\ndefaults: {{{name}: {value}}}")))
    assert line.startswith(f"my.yaml:2: defaults: {name}: ")
    assert "out of physical range" in line


def test_what_may_be_zero_is_taken() -> None:
    """A loss that is left out may be zero: a rounded entrance, a check valve that opens by itself."""
    text = f"{TITLE}\ndefaults: {{inlet entrance loss: 0, check valve cracking head: 0 mm, pipe roughness: 0 mm}}"
    assert loads(changed((TITLE, text)), "my.yaml").overrides["inlet entrance loss"].middle == 0.0


def test_two_returns_need_a_bore_of_their_own() -> None:
    """The only return goes on from the pump's line; two that name no bore are both complained of."""
    way = "{line: [pipe 32 PN10 60 cm], end: 12 cm below tank rim}"
    bare = "{line: [elbow 90], end: 12 cm below tank rim}"
    assert loads(changed((way, bare)), "my.yaml").returns
    lines = complaints(changed((way, f"{bare}\n  - {bare}")))
    assert len(lines) == 2
    assert all("no part of the line names its bore" in line for line in lines)


def test_sound_text_is_sound() -> None:
    """The text from which every mistake is made has none itself."""
    assert loads(SOUND, "my.yaml").title == "Test loop"


def test_all_mistakes_at_once() -> None:
    """Independent mistakes are all told at once, in the order of their lines."""
    lines = complaints(changed(
        (TITLE, "titel: x"), ("90 cm above", "90 gal above"), ("length: 40 cm", "length: 40"), ("coarse", "corse"),
        (LIP, "lip: 10 cm"), (PIPE, "pip 40 PN10 120 cm"), ("chamber: splash", "chamber: splsh"),
        ("9 cm below tank rim", "9 cm below tnk rim"), ("3000 L/h", "0 L/h"), ("hose 32 mm 150 cm", "hose 32 mm"),
        ("12 cm below", "12 litres below")))
    assert [int(line.split(":")[1]) for line in lines] == [1, 2, 7, 8, 12, 13, 14, 15, 17, 18, 20]


def test_twin_does_not_repeat_a_mistake() -> None:
    """A mistake in an entry that a twin repeats is told once."""
    assert len(complaints(changed((PIPE, "pipe 40 PN10 120")))) == 1


def test_circle_of_vessels_is_told_once() -> None:
    """Tank and sump measured from each other are one mistake, however many heights hang on them."""
    lines = complaints(changed(("90 cm above ground", "10 cm above sump rim"), ("2 cm above ground", "10 cm below tank bottom")))
    assert len(lines) == 1
    assert "circle" in lines[0]


def test_two_that_repeat_each_other() -> None:
    """Two entries that are 'same as' each other are told, each at its own line."""
    lines = complaints(changed(("name: left\n", "name: left\n    same as: right\n")))
    assert all("same as" in line and "leads back" in line for line in lines)
    assert [line.split(":")[1] for line in lines] == ["12", "16"]


def test_range_is_shown_in_the_units_of_the_file() -> None:
    """What is physically possible is told in the units the file asks for."""
    line, = complaints(changed((TITLE, "units: US"), ("elbow up: 43 mm", "elbow up: 43 ft")))
    assert "0.2 in to 23.6 in" in line  # 5 mm and 600 mm at 25.4 mm to the inch, to 0.1 in


def test_shares_and_lengths_do_not_mix() -> None:
    """Chambers are all measured or all shared out, and shares add up to no more than the sump."""
    line, = complaints(changed(("length: 40 cm", "share: 40 %")))
    assert "shares and lengths beside each other" in line
    line, = complaints(changed(("length: 40 cm", "share: 60 %"), ("at: 70 cm, ", ""), ("name: mats", "name: mats, share: 70 %")))
    assert "add up to 130 %" in line


def test_no_complaint_breaks_into_lines() -> None:
    """A complaint stays one line even where the text it quotes does not."""
    for text in (changed((LIP, 'lip: "10 cm\\nbelow tank"')), changed((TITLE, '"ti\\ntle": x'))):
        with pytest.raises(InputError) as caught:
            loads(text, "my.yaml")
        assert all("\n" not in str(complaint) for complaint in caught.value.complaints)


def test_every_missing_section_is_named() -> None:
    """A file with a title alone is told all five sections that it needs, each in a line."""
    lines = complaints("title: nothing else\n")
    assert [line.split(": ")[1] for line in lines] == ["tank", "sump", "drains", "returns", "pump"]


def test_a_part_that_cannot_be_read_is_told_once() -> None:
    """Where the only pipe of a return cannot be read, or the pump is missing, no second line asks for a bore."""
    assert len(complaints(changed(("hose 32 mm 150 cm", "hoze 32 mm 150 cm"), ("pipe 32 PN10 60 cm", "elbow 90")))) == 1


def test_a_line_below_the_intake_is_refused() -> None:
    """A running line that the pump's intake stands above is a mistake of the file, told at the line."""
    lines = complaints(changed(("  curve", "  intake: 30 cm above sump bottom\n  curve")))
    assert len(lines) == 1
    assert "below the pump's intake" in lines[0]
