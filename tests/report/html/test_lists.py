"""Held here: the sections on plumbing, pump, charts, shopping and trial say what the model says, and no text of a user runs."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser
from importlib import import_module

import pytest
from report_cases import CASES, SYSTEMS, assessed, studied, varied
from rooms import mixture, roomed

from hydro import assess, load, loads
from hydro.catalog import load_prices
from hydro.elements.drain import FLUSHING_HIGH, SIPHON
from hydro.parts.parts_list import parts_list
from hydro.report.content.flows import return_runs
from hydro.report.content.head_budget import way_of, ways_to
from hydro.report.html import charts, plumbing, pump, shopping, trial
from hydro.report.html.head_bars import splits
from hydro.report.html.plotting import Axis, Chart, ChartCurve, ChartLevel, ChartMark, draw
from hydro.report.html.rating_charts import rating_chart
from hydro.report.html.time_charts import level_chart
from hydro.report.html.trial_steps import bucket_with_band, height_with_band, widened
from hydro.scenarios.results import least_room
from hydro.search.pumps.point import head_asked
from hydro.study import Study, courses
from hydro.study.rating import rating_of

NAMES = ("plumbing", "pump", "charts", "shopping", "trial")
SECTIONS = {name: getattr(import_module(f"hydro.report.html.{name}"), f"{name}_section") for name in NAMES}
each_case = pytest.mark.parametrize("path", [path for path in CASES if path.stem != "fish-room-12"], ids=lambda path: path.stem)
VOID = {"br", "hr", "img", "meta", "col", "input"}


class Reader(HTMLParser):
    """Reads a piece of a page: elements in order with their parents and text, and whether they are closed in order."""

    def __init__(self, text):
        super().__init__()
        self.open, self.elements, self.wrong = [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        """Note an element that begins."""
        element = {"tag": tag, "attributes": dict(attrs), "text": "", "parent": self.open[-1] if self.open else None}
        self.elements.append(element)
        if tag not in VOID:
            self.open.append(element)

    def handle_endtag(self, tag):
        """Note an element that ends, and one that ends out of order."""
        if not self.open or self.open.pop()["tag"] != tag:
            self.wrong.append(tag)

    def handle_data(self, data):
        """Give a text to all elements that it stands in."""
        for element in self.open:
            element["text"] += data

    def named(self, tag):
        """Return the elements of a tag."""
        return [element for element in self.elements if element["tag"] == tag]


def case(name):
    """Return the assessment of a case by its name."""
    return assessed(path_of(name))


def path_of(name):
    """Return the file of a case by its name."""
    return next(path for path in CASES if path.stem == name)


def bodies(found, system="metric"):
    """Return what each section says of a study or an assessment, those left out left out."""
    made = {name: section(Study.of(found), system) for name, section in SECTIONS.items()}
    return {name: str(section.body) for name, section in made.items() if section is not None}


@cache
def case_bodies(path, system="metric"):
    """Return what the sections say of a case file, made once."""
    return bodies(studied(path), system)


def cells(body):
    """Return the rows of all tables of a piece of a page, as texts."""
    rows = []
    for element in Reader(body).elements:
        if element["tag"] == "tr":
            rows.append([])
        elif element["tag"] in ("td", "th") and element["parent"]["tag"] == "tr":
            rows[-1].append(element["text"])
    return rows


@each_case
def test_sections_are_whole_and_without_figures_that_are_none(path):
    """Every element is closed in order, every id stands once, and no figure is infinite, missing or not a number."""
    made = case_bodies(path)
    reader = Reader("".join(made.values()))
    assert (reader.wrong, reader.open) == ([], [])
    ids = [element["attributes"]["id"] for element in reader.elements if "id" in element["attributes"]]
    assert len(ids) == len(set(ids))
    assert not re.search(r"\b(nan|inf|None|unknown|no limit)\b", "".join(element["text"] for element in reader.named("p")
                                                                         + reader.named("td") + reader.named("svg")))


@each_case
def test_drawings_can_be_read_without_being_seen(path):
    """Every drawing is an image with a title and a description as its first children."""
    for body in case_bodies(path).values():
        reader = Reader(body)
        for drawing in reader.named("svg"):
            inside = [element["tag"] for element in reader.elements if element["parent"] is drawing]
            assert drawing["attributes"]["role"] == "img"
            assert inside[:2] == ["title", "desc"]


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_same_build_makes_the_same_page(system):
    """A second assessment of the same file gives the same text, letter by letter."""
    path = next(path for path in CASES if path.stem == "us-inch")
    assert case_bodies(path, system) == bodies(assess(load(path)), system)


@pytest.mark.parametrize("system", SYSTEMS)
def test_what_a_tape_meets_stands_in_both_systems(system):
    """Each length of the cut list and each level of the test sheet is given in millimetres and in inches."""
    made = case_bodies(path_of("demo"), system)
    lengths = [row[2] for row in cells(made["shopping"]) if len(row) == 5 and row[1].endswith(" x")]
    levels = [row[1] for row in cells(made["trial"]) if "Ruler" in row[0]]
    assert lengths
    assert levels
    assert all(re.search(r"\d mm", cell) and re.search(r"\d in", cell) for cell in [*lengths, *levels])


def test_nothing_of_a_user_stands_in_the_page_as_it_came():
    """Names with signs of a page in them are escaped in tables, lists and drawings."""
    evil = "<script>alert(1)</script>"
    text = next(path for path in CASES if path.stem == "us-inch").read_text(encoding="utf-8")
    text = text.replace("name: port", f"name: '{evil}'").replace("same as: port", f"same as: '{evil}'")
    assert evil in text
    for body in bodies(assess(loads(text))).values():
        assert "alert(1)" not in body or "&lt;script" in body
        assert "<script" not in body
        assert not Reader(body).named("script")
        assert not [name for element in Reader(body).elements for name in element["attributes"] if name.startswith("on")]


def test_head_bars_are_the_report_s_budget_added_up():
    """Lift, pipe, fittings and exit of each return add up to the pump's head, and are the report's parts, none twice."""
    assessment = case("demo")
    state = assessment.answer.state
    ways = [way_of(state, links) for links in ways_to(state).values()]
    for split, way in zip(splits(assessment, state), ways, strict=True):
        assert sum(split.by_kind.values()) == pytest.approx(split.head, abs=1e-3)
        assert sum(split.by_kind.values()) - split.by_kind["lift"] == pytest.approx(sum(head for _, head in way.parts), abs=1e-3)
        assert split.by_kind["exit"] == pytest.approx(sum(head for label, head in way.parts if label.endswith(": exit")))
        hose = sum(head for label, head in way.parts if label == "pump: hose")
        assert split.by_kind["pipe and hose"] > hose > 0.0


def test_the_operating_point_lies_on_both_curves():
    """At the point marked in the chart the pump gives what the loop asks for: the solved flow and head."""
    assessment = case("demo")
    state = assessment.answer.state
    link = state.network.pump
    element = state.network.links[link].element
    flow = float(state.flows[link])
    assert head_asked(state, flow, link) == pytest.approx(float(element.curve.head(flow, element.speed)[0]), abs=1e-3)
    assert "works here" in str(pump.pump_section(Study.of(assessment), "metric").body)


@each_case
def test_running_points_lie_on_the_curve_of_their_way(path):
    """A wet drain's point lies within 2 mm of the curve of the way it runs, and a dry one has no point."""
    assessment = assessed(path)
    state = assessment.answer.state
    for k in state.network.drains:
        drain = state.network.links[k].element
        marks = [mark for mark in rating_chart(rating_of(state, k), "metric").marks if mark.name == "runs here"]
        assert bool(marks) == (float(state.flows[k]) >= 1e-6)
        if not marks or float(drain.surging) > 0.5:
            continue
        (q, over), down = marks[0].at, float(state.ends(k)[1])
        stage = drain.inlet.fed(q)[0] if drain.mode == SIPHON else drain.needed(q)[0]
        assert over == pytest.approx(max(float(stage), float(drain.pipe_head(q, down))), abs=2e-3)


def test_marks_of_a_siphon_are_the_drain_s_own():
    """The square stands at the priming head on the way with air, the diamond where the full line's head is the breaking head."""
    state = case("reef-comb-three-drains").answer.state
    k = next(k for k in state.network.drains if state.network.links[k].element.mode == SIPHON)
    drain, down = state.network.links[k].element, float(state.ends(k)[1])
    chart = rating_chart(rating_of(state, k), "metric")
    marks = {mark.name: mark.at for mark in chart.marks}
    q, head = marks["siphon breaks below here"]
    assert float(drain.pipe_head(q, down)) == pytest.approx(float(drain.breaking_head(q)), abs=1e-6)
    assert marks["begins to siphon here"][1] == pytest.approx(float(drain.in_mode(FLUSHING_HIGH).surge_head), abs=1e-6)
    assert head < marks["runs here"][1]


def test_levels_through_time_begin_as_the_loop_runs():
    """The tank's curve of the cut begins at the running level over its bottom and falls, its opening marked."""
    assessment = case("demo")
    state, cut = assessment.answer.state, studied(path_of("demo")).courses().cut
    tank = state.network.tank
    bottom = float(state.network.waters[tank].body.bottom)
    chart = level_chart(cut, [tank], "cut", "cut", 60.0, [], "metric")
    points = chart.curves[0].points
    assert points[0][1] == pytest.approx(float(state.levels[tank]) - bottom, abs=1e-3)
    assert points[-1][1] < points[0][1]
    assert points[-1][0] >= 60.0
    assert chart.levels[0].value == pytest.approx(float(state.network.waters[tank].opening) - bottom)


def test_a_page_takes_two_runs_through_time(monkeypatch):
    """Charts and test sheet together work the power cut and its return out once."""
    asked = []
    original = courses.simulate_restart
    monkeypatch.setattr(courses, "simulate_restart", lambda *given: asked.append(given) or original(*given))
    study = Study.of(case("spray-bar"))
    charts.charts_section(study, "metric")
    trial.trial_section(study, "metric")
    assert len(asked) == 1


def test_the_cut_list_is_the_parts_list():
    """Every size stands in the cut list with as many pieces as the parts list has cuts."""
    assessment = case("demo")
    counted = {}
    for row in cells(case_bodies(path_of("demo"))["shopping"]):
        if len(row) == 5 and row[1].endswith(" x"):
            counted[row[0]] = counted.get(row[0], 0) + int(row[1].removesuffix(" x"))
    assert counted == {row.called: len(row.cuts) for row in parts_list(assessment.build).pipes}


def test_what_is_added_says_that_it_is_not_in_the_losses():
    """Unions and clips stand in a table of their own, with the words that no loss counts them."""
    body = case_bodies(path_of("demo"))["shopping"]
    added = body[body.index("Added here"):]
    assert "union" in added
    assert "hose clip" in added
    assert "not in the losses" in added
    assert "union" not in body[:body.index("Added here")]
    assert "measure the fitting in hand" in body


def test_prices_come_with_a_list_of_prices(tmp_path):
    """With a list of prices the section has a sum and names what the list does not have; without one no price is shown."""
    path = tmp_path / "prices.csv"
    path.write_text("item,price EUR,per\n50 PN10,10,m\n", encoding="utf-8")
    assessment = case("demo")
    with_prices = str(shopping.shopping_section(Study.of(assessment), "metric", load_prices(path)).body)
    pipe = next(row for row in parts_list(assessment.build).pipes if row.words == "50 PN10")
    assert f"{10 * pipe.to_buy:.2f}" in with_prices
    assert "Without a price in your list" in with_prices
    assert "Prices" not in str(shopping.shopping_section(Study.of(assessment), "metric").body)


def test_the_sheet_predicts_what_was_worked_out():
    """Buckets, litres that come down and the levels of the sheet are the assessment's figures, rounded to the tape."""
    assessment = case("demo")
    rows = {row[0]: row for row in cells(case_bodies(path_of("demo"))["trial"]) if len(row) == 5}
    runs = {run.name: run for run in return_runs(assessment, assessment.answer.state)}
    bucket = next(row for words, row in rows.items() if "Bucket" in words and "weir stones" in words)
    assert (bucket[1], bucket[2]) == bucket_with_band(runs["weir stones"].bucket, "metric")
    cut = next(row for words, row in rows.items() if "Pull the plug" in words)
    litres = float(re.match(r"[\d.]+", cut[1])[0])
    assert litres == pytest.approx(assessment.results.stopped[True, True].comes_down * 1e3, abs=0.5)
    taped = next(row for words, row in rows.items() if "Tape the siphon-break" in words)
    litres = float(re.match(r"[\d.]+", taped[1])[0])
    assert litres == pytest.approx(assessment.results.stopped[False, True].comes_down * 1e3, abs=0.6)


@each_case
def test_the_sheet_has_a_row_for_each_drain_and_for_the_breaker(path):
    """Each drain is blocked once alone, and the leakage breaker's button is pressed without a figure."""
    assessment = assessed(path)
    rows = [row for row in cells(case_bodies(path)["trial"]) if len(row) == 5]
    for drain in assessment.build.drains:
        assert sum(f"Block {drain.name}, " in row[0] for row in rows) == 1
    breaker = [row for row in rows if "RCD" in row[0]]
    assert len(breaker) == 1
    assert not re.search(r"\d", breaker[0][1])


def test_nobody_is_sent_into_a_flood():
    """Where the power cut goes over by the figures, the sheet says not to do it, and predicts nothing after it."""
    body = case_bodies(path_of("floods"))["trial"]
    rows = [row for row in cells(body) if len(row) == 5]
    cut = next(row for row in rows if "Pull the plug" in row[0])
    assert "Do not do this as it stands" in cut[0]
    assert cut[1] == "-"
    assert not [row for row in rows if "Meanwhile" in row[0]]


def test_bands_that_are_not_known_are_common_practice_and_marked():
    """A figure without a band gets 15 %, a height 3 mm, each with the mark; one with a band keeps it and has none."""
    assert widened((2.0, 2.0, 2.0)) == (pytest.approx(1.7), 2.0, pytest.approx(2.3), "*")
    assert widened((1.8, 2.0, 2.1)) == (1.8, 2.0, 2.1, "")
    assert height_with_band((0.1, 0.1, 0.1), "metric")[1].endswith("*")
    assert height_with_band((0.09, 0.1, 0.12), "metric") == ("100 mm (3 15/16 in)", "90 mm (3 1/2 in) to 120 mm (4 3/4 in)")


def test_many_tanks_are_told_once():
    """Of twelve tanks alike the tables have one row, the charts the one with the least room, by its name."""
    assessment = roomed(12)
    made = bodies(assessment)
    assert sum("12 x rack overflow" in row[0] for row in cells(made["plumbing"])) == 1
    worst = assessment.results.network.waters[least_room(assessment.answer.state)[1]].name
    assert f"the charts show {worst}" in made["charts"]
    assert "any of 12 x rack" in made["trial"]
    assert len(made["shopping"]) < 12000


def test_several_of_everything_have_their_sections():
    """Two sumps, pumps beside and behind each other, a box and a balancing pipe make whole sections."""
    for body in bodies(mixture()).values():
        reader = Reader(body)
        assert (reader.wrong, reader.open) == ([], [])


def test_a_surging_loop_says_that_figures_are_the_first_of_its_ways():
    """Where a drain flushes, pump section and test sheet say how it runs."""
    made = bodies(varied(*(("60 mm", "30 mm"), ("pipe 63 PN10 1 m", "pipe 32 PN10 1 m"))))
    assert "How it runs" in made["trial"]
    assert "flush" in made["plumbing"]


def test_a_loop_that_does_not_run_keeps_its_shopping_list():
    """Without a running state there are the lines and the lists, and neither chart nor test sheet."""
    still = varied(("0 L/h = 3 m, 3000 L/h = 2.2 m, 6000 L/h = 0 m", "0 L/h = 50 cm, 3000 L/h = 30 cm, 6000 L/h = 0 m"))
    if still.answer.state is not None:
        still = replace(still, results=replace(still.results, answer=replace(still.answer, state=None), stopped={}))
    made = {name: section(Study.of(still), "metric") for name, section in SECTIONS.items()}
    assert made["shopping"] is not None
    assert "pipe 63 PN10" in str(made["plumbing"].body)
    assert made["pump"] is made["charts"] is made["trial"] is None


def test_curves_differ_by_dash_and_are_named():
    """Three curves of one chart have three dashes, and each name stands beside them once."""
    axis = Axis("x", "flow", 0.0, 1e-3, "metric"), Axis("y", "length", 0.0, 0.1, "metric")
    chart = Chart("t", "d", "n", *axis, [ChartCurve(name, [(0.0, 0.01 * k), (1e-3, 0.03 * k)], k) for k,
                                         name in enumerate("abc")],
                  [ChartMark("m", (5e-4, 0.05))], [ChartLevel("l", 0.09)], [1e-4])
    reader = Reader(str(draw(chart)))
    inside = [element for element in reader.named("path") if element["parent"]["tag"] == "g"]
    assert len({element["attributes"].get("stroke-dasharray") for element in inside}) == 3
    texts = [element["text"] for element in reader.named("text")]
    assert all(texts.count(name) == 1 for name in "abcml")


def test_axes_count_in_both_systems():
    """An axis from 0 to 2000 L/h has round litres, each with its US gallons within half a per cent."""
    for value, litres, gallons in Axis("flow", "flow", 0.0, 2000 / 3.6e6, "metric").marks():
        assert float(litres) == pytest.approx(value * 3.6e6)
        assert float(gallons) == pytest.approx(float(litres) / 3.785411784, rel=5e-3)


def test_plumbing_names_the_layout_of_the_drains():
    """The reef's drains are told by what they do together."""
    made = plumbing.plumbing_section(studied(path_of("reef-comb-three-drains")), "metric")
    assert "siphon, open channel and dry emergency drain" in str(made.body)
