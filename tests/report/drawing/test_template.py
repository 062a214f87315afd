"""The 1:1 template, read back from the PDF's own numbers and from the SVG, and the panel drawing."""

import io
import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from functools import cache
from itertools import combinations

import pypdf
import pytest
from pypdf.generic import ContentStream
from report_cases import ROOT, assessed

from hydro.case import loads
from hydro.checks.assessment import assess
from hydro.drilling.panels import holes_of
from hydro.drilling.sheet import sheet_of
from hydro.drilling.tiles import OVERLAP, tiles, windows
from hydro.errors import InputError
from hydro.report.drawing.panel_drawing import label_boxes, panel_drawing
from hydro.report.drawing.template import drawing, template

POINT = 25.4 / 72.0
CASES = {"demo": "A4", "us-inch": "Letter"}
SEAM = (("from left: 203 cm", "from left: 46 cm"),)
CROWDED = (("wall: plywood 18 mm", "wall: glass 12 mm"), ("from left: 203 cm", "from left: 46 cm"),
           ("    end: 110 mm below tank rim", "    end: 110 mm below tank rim\n"
            "    hole: {in: back, diameter: 45 mm, from left: 60 cm, at: 9 cm below tank rim}"))


@dataclass
class Sheet:
    """What stands on a page, mm: straight lines, circles as (x, y, radius), texts by their start."""

    lines: list
    circles: list
    texts: dict
    size: tuple


def changed(changes):
    """Return the assessment of the demo with some of its text replaced."""
    text = (ROOT / "cases" / "demo.yaml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return assess(loads(text))


@cache
def pages(name, paper="", changes=()):
    """Return the pages of a case's template, read from the content streams, y upward from the foot of the paper."""
    assessment = changed(changes) if changes else assessed(ROOT / "cases" / f"{name}.yaml")
    reader = pypdf.PdfReader(io.BytesIO(template(assessment, paper or CASES[name])))
    return [_read(page, reader) for page in reader.pages]


def _read(page, reader):
    lines, circles, texts, path, at = [], [], {}, [], (0.0, 0.0)
    for operands, operator in ContentStream(page.get_contents(), reader).operations:
        numbers = [float(one) * POINT for one in operands if isinstance(one, (int, float))]
        if operator in (b"m", b"l", b"c"):
            path.append((operator, numbers))
        elif operator == b"cm":
            assert [float(one) for one in operands] == [1, 0, 0, 1, 0, 0], "the page is drawn without any scale"
        elif operator == b"S":
            ends = [numbers[-2:] for _, numbers in path]
            if any(kind == b"c" for kind, _ in path):
                x, y = ([end[k] for end in ends] for k in (0, 1))
                circles.append(((min(x) + max(x)) / 2, (min(y) + max(y)) / 2, (max(x) - min(x)) / 2))
            elif len(ends) == 2:
                lines.append((*ends[0], *ends[1]))
            path = []
        elif operator == b"Tm":
            at = tuple(numbers[-2:])
        elif operator == b"Tj":
            texts[str(operands[0])] = at
        elif operator == b"n":
            path = []
    return Sheet(lines, circles, texts, (float(page.mediabox.width) * POINT, float(page.mediabox.height) * POINT))


def long(line):
    """Return the length of a line."""
    return ((line[2] - line[0]) ** 2 + (line[3] - line[1]) ** 2) ** 0.5


def place_of(sheet):
    """Return x and y on the paper of the panel's corner that places count from, by the cross whose place is printed."""
    (text,) = [one for one in sheet.texts if one.startswith("this cross")]
    left, down = (float(one) for one in re.findall(r"([0-9.]+) mm", text))
    x, y = sheet.texts[text]
    flat = [one for one in sheet.lines if abs(long(one) - 8.0) < 0.01 and one[1] == one[3] and abs(one[2] + 1.0 - x) < 0.1]
    (cross,) = [one for one in flat if abs(one[1] - 3.5 - y) < 0.1]
    sign = 1.0 if "front" in text else -1.0
    return (cross[0] + cross[2]) / 2 - left, cross[1] - sign * down


@pytest.mark.parametrize("name", CASES)
def test_both_bars_are_100_mm(name):
    """Every sheet has a level and an upright bar of exactly 100 mm, in numbers of the content stream without any scale."""
    for sheet in pages(name):
        bars = [line for line in sheet.lines if abs(long(line) - 100.0) < 1e-3]
        assert [sum(line[k] == line[k + 2] for line in bars) for k in (0, 1)] == [1, 1]


@pytest.mark.parametrize(("name", "paper", "size"), [("demo", "A4", (210.0, 297.0)), ("demo", "Letter", (215.9, 279.4)),
                                                     ("us-inch", "Letter", (215.9, 279.4))])
def test_sheets_have_the_size_of_their_paper(name, paper, size):
    """A4 and Letter are what the pages say they are, and all that is drawn keeps 10 mm from the edge of the paper."""
    for sheet in pages(name, paper):
        assert sheet.size == pytest.approx(size, abs=1e-3)
        ends = [(line[k], line[k + 1]) for line in sheet.lines for k in (0, 2) if abs(long(line) - 100.0) < 1e-3]
        assert all(9.9 < x < size[0] - 9.9 and 9.9 < y < size[1] - 9.9 for x, y in ends)


def test_upright_holes_lie_below_the_rim_line_where_the_model_has_them():
    """On the demo's sheets each circle is 70 mm wide and its centre within 0.1 mm of the model, measured from the rim line."""
    holes = [one for one in holes_of(assessed(ROOT / "cases" / "demo.yaml").loop, "metric") if one.diameter is not None]
    for sheet, hole in zip(pages("demo"), holes, strict=True):
        (circle,) = [one for one in sheet.circles if one[2] > 10.0]
        rim = max((line for line in sheet.lines if line[1] == line[3] and long(line) > 120.0), key=lambda line: line[1])
        assert circle[2] == pytest.approx(35.0, abs=0.05)
        assert rim[1] - circle[1] == pytest.approx(1e3 * hole.below_rim, abs=0.1)
        x, y = place_of(sheet)
        assert circle[0] - x == pytest.approx(1e3 * hole.x, abs=0.1)
        assert y - circle[1] == pytest.approx(1e3 * hole.below_rim, abs=0.1)


def test_holes_of_a_bottom_lie_where_the_file_says():
    """Holes of the bottom lie by the cross of their sheet where the file says: 14 and 20.5 in from left, 24 in from the front."""
    found = set()
    for sheet in pages("us-inch"):
        x, y = place_of(sheet)
        for u, v, radius in sheet.circles:
            if radius > 10.0:
                assert radius == pytest.approx(38.1, abs=0.05)
                assert v - y == pytest.approx(24 * 25.4, abs=0.1)
                assert min(abs(u - x - inches * 25.4) for inches in (14.0, 20.5)) < 0.1
                found.add(round((u - x) / 25.4, 1))
    assert found == {14.0, 20.5}


def test_centre_crosses_stand_in_the_middle_of_their_circles():
    """Through each hole's centre go a level and an upright line that are cut in half by it, within 0.1 mm."""
    for name in CASES:
        for sheet in pages(name):
            for x, y, radius in (one for one in sheet.circles if one[2] > 10.0):
                arms = [line for line in sheet.lines if abs(long(line) - 2 * (radius + 6.0)) < 0.1
                        and abs((line[0] + line[2]) / 2 - x) < 0.1 and abs((line[1] + line[3]) / 2 - y) < 0.1]
                assert len(arms) == 2


def test_a_hole_keeps_its_place_across_sheets():
    """Two holes 110 mm apart need two sheets of A4; on both, by the cross of each, they lie where the file has them."""
    for sheet in pages("demo", changes=SEAM):
        x, y = place_of(sheet)
        holes = sorted((u - x, y - v) for u, v, radius in sheet.circles if radius > 10.0)
        assert [value for pair in holes for value in pair] == pytest.approx([350.0, 154.0, 460.0, 152.0], abs=0.1)


def test_marks_at_a_seam_lie_on_one_another():
    """The ringed crosses that two neighbouring sheets share have the same places on the panel, within 0.1 mm."""
    first, second = pages("demo", changes=SEAM)
    rings = []
    for sheet in (first, second):
        x, y = place_of(sheet)
        rings.append(sorted((u - x, v - y) for u, v, radius in sheet.circles if radius < 2.0))
    assert len(rings[0]) == 2
    assert all(one == pytest.approx(other, abs=0.1) for one, other in zip(*rings, strict=True))


@pytest.mark.parametrize("name", CASES)
def test_every_sheet_says_how_to_print_it(name):
    """Each sheet asks for 100 % and the bars to be measured, has its number, the side it is seen from, and the glass warning."""
    sheets = pages(name)
    for k, sheet in enumerate(sheets, 1):
        text = " ".join(sheet.texts)
        assert "Print at 100 %, no fitting to the page. Measure the bars first" in text
        assert f"sheet {k} of {len(sheets)}" in text
        assert "from OUTSIDE" in text if name == "demo" else "from above" in text
        assert "Never drill toughened glass" in text


def test_the_same_build_gives_the_same_bytes():
    """Two templates of one build are the same to the last byte."""
    assessment = assessed(ROOT / "cases" / "demo.yaml")
    assert template(assessment) == template(assessment)


@pytest.mark.parametrize("high", [60.0, 80.0, 200.0])
def test_tiles_cover_their_window_with_overlap(high):
    """However small the paper, tiles cover the whole window and neighbours share exactly the overlap."""
    sheet = sheet_of(changed(SEAM), bands=False)
    (window,) = windows(sheet.panels[0].panel, sheet.panels[0].given)
    found = tiles(window, 70.0, high)
    assert max(tile.box.right for tile in found) >= window.box.right
    assert max(tile.box.bottom for tile in found) >= window.box.bottom
    for one, other in combinations(found, 2):
        if one.row == other.row and other.column == one.column + 1:
            assert one.box.right - other.box.left == pytest.approx(OVERLAP)
        if one.column == other.column and other.row == one.row + 1:
            assert one.box.bottom - other.box.top == pytest.approx(OVERLAP)


def test_no_hole_no_template():
    """Where no hole is given there is no template, and the complaints say for each why."""
    made = changed((("panels: {front: glass 15 mm}", "panels: {back: {glass: 12 mm, toughened: yes}}"),))
    with pytest.raises(InputError) as caught:
        template(made)
    assert sum("toughened glass cannot be drilled" in one.found for one in caught.value.complaints) == 2


def test_svg_is_as_large_as_it_says():
    """The SVG counts in millimetres (its size and its box agree), and has a circle of 70 mm for each hole that is given."""
    root = ET.fromstring(drawing(assessed(ROOT / "cases" / "demo.yaml")))
    box = [float(one) for one in root.get("viewBox").split()]
    assert [root.get("width"), root.get("height")] == [f"{one:g}mm" for one in box[2:]]
    circles = [float(one.get("r")) for one in root.iter("{http://www.w3.org/2000/svg}circle")]
    assert circles == [35.0, 35.0]


@pytest.mark.parametrize("changes", [(), CROWDED])
def test_no_label_of_the_panel_lies_on_another(changes):
    """In the panel drawings of the demo, as it is and with four holes crowded, no two texts overlap."""
    for one in sheet_of(changed(changes), bands=False).panels:
        for first, second in combinations(label_boxes(one, "metric"), 2):
            shared = min(first[2], second[2]) - max(first[0], second[0]), min(first[3], second[3]) - max(first[1], second[1])
            assert min(shared) <= 0.0, (first, second)


def test_the_panel_is_drawn_to_scale():
    """The hole of 70 mm at 350 mm from the left and 154 mm below the rim is there in the scale that the panel is drawn in."""
    (back, _) = sheet_of(assessed(ROOT / "cases" / "demo.yaml"), bands=False).panels
    root = ET.fromstring(str(panel_drawing(back, "metric")))
    name = "{http://www.w3.org/2000/svg}"
    (panel,) = root.iter(f"{name}rect")
    left, top, wide = (float(panel.get(key)) for key in ("x", "y", "width"))
    scale = wide / 2380.0
    circle = next(root.iter(f"{name}circle"))
    assert float(circle.get("r")) == pytest.approx(35.0 * scale, abs=1e-3)
    assert float(circle.get("cx")) == pytest.approx(left + 350.0 * scale, abs=1e-3)
    assert float(circle.get("cy")) == pytest.approx(top + 154.0 * scale, abs=1e-3)
    assert "from OUTSIDE" in "".join(root.itertext())
