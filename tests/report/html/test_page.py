"""The page: one sound file that anybody can read, whatever stands in the case."""

import re
from dataclasses import replace
from itertools import pairwise

import pytest
from page_parts import DEMO, Tags, boxes, drawings, every_case, overlap, page, plain
from report_cases import ROOT, SURGING, SYSTEMS, assessed, studied, varied

from hydro import assess, load, loads
from hydro.report.html import html
from hydro.report.html.heights import HIGHEST_LINE
from hydro.report.html.side_view import side_view_section
from hydro.steady.operating_point import NONE, OperatingPoint
from hydro.study import Study

ATTACK = "<script>alert(1)</script>"
LONG = "a tank with a name that goes on and on " * 8
LEFTWARD = "מיכל הדגים 12"
HOSTILE = f"""
title: "{ATTACK} & <b>bold</b> {LEFTWARD}"
tank: {{inside: 120 x 50 x 50 cm, bottom: 90 cm above ground}}
sump:
  inside: 80 x 40 x 40 cm
  bottom: at ground
  chambers:
    - {{name: "{LEFTWARD}", length: 30 cm, ends in: {{plate: 25 cm above sump bottom}}}}
    - {{name: pump, line: 20 cm above sump bottom}}
drains:
  - {{name: "{LONG.strip()}", inlet: {{standpipe: 60 mm, lip: 8 cm below tank rim}}, line: [pipe 63 PN10 1 m],
      into: {{chamber: "{LEFTWARD}", end: 30 cm above sump bottom}}}}
  - {{name: "{ATTACK}", inlet: {{standpipe: 60 mm, lip: 6 cm below tank rim}}, line: [pipe 63 PN10 1 m],
      into: {{chamber: "{LEFTWARD}", end: 30 cm above sump bottom}}}}
pump: {{curve: [0 L/h = 3 m, 3000 L/h = 2.2 m, 6000 L/h = 0 m]}}
returns: [{{name: "</title></svg>{ATTACK}", line: [hose 32 mm 1.5 m], end: 10 cm below tank rim}}]
notes: "{ATTACK} \\u202e backwards"
"""


@pytest.fixture(scope="module")
def hostile():
    """Return the page of a case whose names are meant to break it."""
    return html(assess(loads(HOSTILE)))


@every_case
def test_page_is_sound(path):
    """Tags close in the order they open, no id comes twice, and every link of the contents leads to a section."""
    read = Tags(page(path))
    ids = [attrs["id"] for _, attrs, _ in read.tags if "id" in attrs]
    assert read.wrong == []
    assert read.stack == []
    assert len(ids) == len(set(ids))
    assert {attrs["href"].removeprefix("#") for attrs in read.all("a") if attrs["href"].startswith("#")} <= set(ids)


@every_case
def test_headings_go_in_order(path):
    """There is one h1, and no heading is more than one level below the one before it."""
    levels = [int(tag[1]) for tag, _, _ in Tags(page(path)).tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(below - above <= 1 for above, below in pairwise(levels))


@every_case
def test_nothing_is_fetched_and_nothing_runs(path):
    """The page has no script, no handler, and no address outside itself but the names of XML."""
    source = page(path)
    read = Tags(source)
    assert not read.all("script", "iframe", "object", "embed", "base", "form")
    for _, attrs, _ in read.tags:
        assert not [key for key in attrs if key.startswith("on")]
        for key in ("src", "href", "xlink:href", "action", "data", "srcset", "poster"):
            assert (attrs.get(key) or "#").startswith(("#", "data:")), attrs
    assert not re.search(r"@import|url\((?!['\"]?(?:#|data:))", source)


@every_case
def test_tables_can_be_read_aloud(path):
    """Every table has a caption, heads with a scope, and a box that scrolls, can be reached by the keyboard and has a name."""
    read = Tags(page(path))
    tables = [place for place, (tag, _, _) in enumerate(read.tags) if tag == "table"]
    assert len(tables) == len(read.all("caption"))
    assert all(attrs.get("scope") in ("col", "row", "colgroup", "rowgroup") for attrs in read.all("th"))
    for place in tables:
        tag, attrs, _ = read.tags[place - 1]
        assert (tag, attrs.get("class"), attrs.get("tabindex"), attrs.get("role")) == ("div", "scroll", "0", "region")
        assert attrs["aria-label"].strip()


@every_case
def test_pictures_have_words(path):
    """Every drawing is marked as an image with a title, every picture has an alternative text."""
    read = Tags(page(path))
    for attrs in read.all("svg"):
        assert attrs.get("role") == "img"
    titles = sum(tag == "title" and parents[-1] == "svg" for tag, _, parents in read.tags)
    assert titles >= len(read.all("svg"))
    assert all(attrs.get("alt") for attrs in read.all("img"))


@every_case
def test_every_check_has_its_sentence(path):
    """Each row of the checks stands in the page with its verdict or word of comfort and its question."""
    read = Tags(page(path))
    for row in assessed(path).checks:
        question = plain(f"{row.question[:1].upper()}{row.question[1:]}")
        assert re.search(rf"{row.word} {re.escape(question)}: ", read.words), question


@every_case
def test_page_says_what_is_not_judged(path):
    """What is assumed, what is not judged and the cautions stand in the page, with the leak test and the electrician."""
    words = Tags(page(path)).words
    for said in ("Assumed", "Not judged", "Cautions", "licensed electrician", "Local codes"):
        assert said in words


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_system_asked_for_comes_first(system):
    """The height of the tank's rim, 1.5 m, is told in the units asked for with the other ones in brackets."""
    words = Tags(str(side_view_section(studied(DEMO), system).body)).words
    assert ("1500 mm (59 1/16 in)" in words) == (system == "metric")
    assert ("59 1/16 in (1500 mm)" in words) == (system != "metric")


def test_heights_in_tables_stand_in_both_systems():
    """No cell of the heights of the demo has millimetres without inches."""
    part = page(DEMO).partition('id="side-view"')[2].partition("</section>")[0]
    cells = re.findall(r"<td[^>]*class=\"figure\"[^>]*>([^<]*)</td>", part)
    heights = [plain(cell) for cell in cells if plain(cell)]
    assert len(heights) > 40
    assert all(re.search(r"\d mm \([-\d /]+ in\)", cell) for cell in heights)


def test_names_are_never_markup(hostile):
    """Tags in a title, a drain, a return and a note come out as text; no script is made of them."""
    read = Tags(hostile)
    assert not read.all("script", "b")
    assert read.wrong == []
    assert "<script" not in hostile
    assert ATTACK in read.words


def test_a_name_without_end_keeps_labels_apart(hostile):
    """With a name of 300 characters no label lies over another, and the whole name stands in a table."""
    assert len(LONG) > 300
    for tree in drawings(hostile):
        found = boxes(tree)
        assert not [pair for k, one in enumerate(found) for pair in found[k + 1:] if overlap(one, pair)]
    assert plain(LONG) in Tags(hostile).words


def test_words_from_right_to_left_are_set_apart(hostile):
    """A name written from right to left stands in an element of its own, and what turns a line round is taken out."""
    assert "<bdi>מיכל הדגים" in hostile
    assert "\u202e" not in hostile


WEAK = ("0 L/h = 3 m, 3000 L/h = 2.2 m, 6000 L/h = 0 m", "0 L/h = 0.4 m, 3000 L/h = 0 m")


@pytest.mark.parametrize("changes", [SURGING, (WEAK,), (("line: 20 cm", "line: 38 cm"),)],
                         ids=["surges", "cannot lift", "too much water"])
def test_a_build_that_fails_has_its_page(changes):
    """A loop that surges, does not lift or floods is told and drawn like any other."""
    read = Tags(html(varied(*changes)))
    assert read.wrong == []
    assert "Attention" in read.words or "fails" in read.words


def test_twelve_tanks_are_drawn_as_one():
    """Of twelve tanks one is drawn, named as one of 12, with what is lowest and highest of all in a table."""
    path = next(one for one in every_case.args[1] if one.stem == "fish-room-12")
    source = page(path)
    read = Tags(source)
    assert "12 x rack tank" in read.words
    assert len(re.findall(r'data-kind="rim"[^>]*data-vessel="rack tank', drawings_source(source))) == 1
    assert len(set(re.findall(r"rim of (rack tank \d+)", drawings_source(source)))) == 1
    assert "Tanks told as one" in read.words


@pytest.mark.slow
def test_two_hundred_tanks_have_their_page():
    """The hall of 200 tanks is told as one tank of many, in sound HTML, with single faults left to their own command."""
    source = html(assess(load(ROOT / "cases" / "large" / "fish-room-200.yaml")))
    read = Tags(source)
    assert read.wrong == []
    assert "200 x vat" in read.words
    assert "goes through every single one" in read.words
    assert len(source) < 400_000


def drawings_source(source):
    """Return the first side view of a page as text."""
    return re.search(r"<svg[^>]*class=\"side-view\".*?</svg>", source, re.S)[0]


def test_a_build_without_a_running_state_is_drawn_without_water():
    """Where no state was found the drawing shows what is built, and says that no water is drawn."""
    found = varied()
    bare = replace(found,
                   results=replace(found.results, answer=OperatingPoint(NONE, None, (), "made so"), stopped={}, overflows=()),
                   checks=(), lines=(), flow=None, shifts=())
    body = str(side_view_section(Study.of(bare), "metric").body)
    assert "No water is drawn" in body
    assert 'data-kind="water"' not in body
    assert 'data-kind="lip"' in body


def test_at_rest_the_only_line_is_the_highest():
    """The view of all at rest has a label for the line that must not be passed, and none for the lowest, which is for running."""
    body = str(side_view_section(studied(DEMO), "metric").body)
    views = [re.search(rf"<h3[^>]*>{state}</h3>.*?</svg>", body, re.S)[0] for state in ("Running", "Power off, all at rest")]
    running, rest = (re.findall(r"<g[^>]*of-line[^>]*><title>([^<]+)", view) for view in views)
    assert [title.startswith(HIGHEST_LINE) for title in running] == [True, False]
    assert rest == running[:1]
