"""Mistakes that a newcomer makes in files like those of cases/: one line that names the place, or a sensible verdict.

Each is a sound case with one piece replaced.
"""

from __future__ import annotations

import pytest
from report_cases import ROOT

from hydro.case import loads
from hydro.checks.assessment import assess
from hydro.checks.comfort import turnover
from hydro.checks.queries import doubts
from hydro.errors import InputError
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import results_of

REEF, TWO, UNEQUAL, ROOM, PALUDARIUM, BAR, FILTER, STAND_BY = (
    "reef-comb-three-drains", "two-heights-one-header", "two-unequal-pumps", "fish-room-12", "paludarium", "spray-bar",
    "filter-above-the-sump", "stand-by-flows-back")
EQUALISER = ("pipes between: [{{name: eq, from: {{tank: newts, at: {}}}, to: {{tank: filter, at: {}}}, "
             "line: [pipe 40 PN10 1 m]}}]\npump:\n")

MISTAKES = {
    "tuned by nothing": (REEF, "lip: 33 cm below box rim", "lip: 11 cm below box rim",
                         ("siphon: gate valve", "no inlet in weir stands higher")),
    "tuned with a K": (REEF, "gate valve tuned", "{gate valve: tuned, K: 4}", ("gate valve", "'tuned' and a K beside")),
    "tuned by half": (REEF, "gate valve tuned", "gate valve 40 % tuned", ("gate valve", "'% tuned'")),
    "tuned twice": (REEF, "gate valve tuned", "gate valve tuned, ball valve tuned", ("ball valve", "a second valve")),
    "two of them tuned": (REEF, "elbow 90]\n    into: {chamber: inflow, end: 31",
                          "gate valve tuned]\n    into: {chamber: inflow, end: 31",
                          ("open channel: gate valve", "that of 'siphon' in the same water too")),
    "a pump tuned": (REEF, "ball valve", "ball valve tuned", ("pump: ball valve", "outside a drain")),
    "gaps that do not fit": (REEF, "height 40 mm, at", "height 40 mm, gaps: 400, at", ("weir: edge: gaps", "5.2 m", "660 mm")),
    "edge longer than the box": (REEF, "comb: 66 cm", "comb: 180 cm", ("weir: edge: length", "1.8 m", "1.76 m all round")),
    "edge below the box": (REEF, "75 mm below tank rim}", "69 cm below tank rim}",
                           ("weir: edge: at", "20 mm below the weir bottom")),
    "edge above the tank": (REEF, "75 mm below tank rim}", "75 mm above tank rim}", ("weir: edge: at", "above the tank rim")),
    "comb without its teeth": (REEF, " height 40 mm", "", ("weir", "'comb' without 'height'")),
    "lip above itself": (REEF, "lip: 33 cm below box rim", "lip: 3 cm above lip of siphon", ("siphon: lip", "circle")),
    "a box misspelt": (REEF, "in: weir", "in: wier", ("siphon: in", "did you mean 'weir'")),
    "which gallon": (REEF, "2500 L/h = 4.1 m", "2500 gph = 4.1 m", ("pump: curve", "which gallon")),
    "too hot": (REEF, "25..27 °C", "78 °C", ("temperature", "out of physical range")),
    "no line": (TWO, ", line: 18 cm above sump bottom", "", ("water", "nothing says how much water")),
    "a second line": (TWO, "{name: inflow,", "{name: inflow, line: 20 cm above sump bottom,",
                      ("inflow: line", "without the pump")),
    "no return": (TWO, "    returns:\n      - {from: bench, line: [hose 25 mm 260 cm, 2 x elbow 90], end: 30 cm below tank rim, "
                  "points: down}\n", "", ("tank nursery", "has no return")),
    "from nowhere": (TWO, "from: bench", "from: banch", ("header banch", "did you mean 'bench'")),
    "mouth under the bottom": (TWO, "end: 30 cm below", "end: 50 cm below", ("nursery return: end", "below the nursery bottom")),
    "nothing to count on": (TWO, "count on: check valves", "count on: luck", ("count on", "'luck'", "check valves")),
    "K in a line": (UNEQUAL, "{check valve: 37.2 mm, K: 2.5}", "check valve 37.2 mm K 2.5",
                    ("'K 2.5' behind 'check valve'", "'{check valve: 37.2 mm, K: 2.5}'")),
    "the same flow twice": (UNEQUAL, "1500 L/h = 2.4 m", "0 L/h = 2.4 m", ("pump old: curve", "the same flow stands twice")),
    "no such chamber": (UNEQUAL, "  - name: old\n", "  - name: old\n    chamber: pump\n",
                        ("old: chamber", "did you mean 'pumps'")),
    "off perhaps": (STAND_BY, "off: yes", "off: maybe", ("stand-by: off", "yes, no")),
    "all off": (STAND_BY, "  - name: duty\n", "  - name: duty\n    off: yes\n", ("pump duty", "every pump is switched off")),
    "number 13 of 12": (ROOM, "8: {inside", "13: {inside", ("except: 13", "no number from 1 to 12")),
    "backwards": (ROOM, "5: {bottom", "9 .. 3: {bottom", ("except: 9 .. 3", "no number from 1 to 12")),
    "an exception misspelt": (ROOM, "drains: {overflow:", "drains: {owerflow:",
                              ("except: drains: owerflow", "overflow, spare", "did you mean 'overflow'")),
    "a gutter misspelt": (ROOM, "{tank: gutter,", "{tank: guter,", ("overflow: tank", "did you mean 'gutter'")),
    "a gutter too high": (ROOM, "bottom: 62 cm above", "bottom: 162 cm above", ("overflow: end", "ends above its inlet")),
    "fed by nobody": (ROOM, "from: main", "from: mian", ("header mian", "did you mean 'main'")),
    "no such pipe": (ROOM, "pipe 20 PN16 45", "pipe 21 PN16 45", ("no pipe size '21 PN16'", "did you mean '20 PN16'")),
    "chambers too long": (ROOM, "length: 60 cm, ends", "length: 260 cm, ends", ("wool: length", "beyond the sump")),
    "no mouth": (PALUDARIUM, ", mouth: 22 cm below tank rim", "", ("dropper", "'elbow down' without 'mouth'")),
    "turned up": (PALUDARIUM, "mouth: 22 cm", "mouth: 2 cm", ("dropper: mouth", "130 mm above the lip", "below the lip")),
    "mouth in the floor": (PALUDARIUM, "mouth: 22 cm", "mouth: 42 cm", ("dropper: mouth", "20 mm below the tank bottom")),
    "level and sloping": (PALUDARIUM, "level: yes", "level: yes, slope: 2 %", ("drain wall: pipe", "lies level and has a slope")),
    "slope in words": (PALUDARIUM, "level: yes", "slope: gently", ("wall: pipe: slope", "no number in 'gently'")),
    "a bar in a drain": (BAR, "pipe 63 PN10 95 cm]", "pipe 63 PN10 95 cm, spray bar 50 PN10 40 cm 9 holes 9 mm]",
                         ("spray bar", "the end of a return")),
    "a bar in between": (BAR, "[elbow 90, spray bar 25 PN16 100 cm 40 holes 4 mm]",
                         "[spray bar 25 PN16 100 cm 40 holes 4 mm, elbow 90]", ("return bar: spray bar", "last")),
    "a lip in the sump": (BAR, "lip: 8 cm below tank rim", "lip: 8 cm below sump rim", ("left: lip", "below the tank bottom")),
    "a pipe over the rim": (FILTER, "pump:\n", EQUALISER.format("60 cm above tank bottom", "5 cm above tank bottom"),
                            ("pipe eq: from: at", "100 mm above the newts rim")),
    "a pipe under the floor": (FILTER, "pump:\n", EQUALISER.format("5 cm above tank bottom", "5 cm below tank bottom"),
                               ("pipe eq: to: at", "50 mm below the filter bottom"))}


def text_of(name: str, old: str, new: str) -> str:
    """Return the text of a case with one piece replaced, which must be there."""
    text = (ROOT / "cases" / f"{name}.yaml").read_text(encoding="utf-8")
    assert old in text
    return text.replace(old, new, 1)


@pytest.mark.parametrize(("name", "old", "new", "fragments"), MISTAKES.values(), ids=MISTAKES.keys())
def test_one_mistake_one_line(name: str, old: str, new: str, fragments: tuple[str, ...]) -> None:
    """One mistake in a case gives one line that names its place and what is expected."""
    with pytest.raises(InputError) as caught:
        loads(text_of(name, old, new), "my.yaml")
    lines = str(caught.value).splitlines()
    assert len(lines) == 1, lines
    assert lines[0].startswith("my.yaml:")
    assert not lines[0].startswith("my.yaml:0:")
    assert not [fragment for fragment in fragments if fragment not in lines[0]], lines[0]


@pytest.mark.parametrize("written", ["12 * rack tank", "twelve x rack tank", "12 rack tank"])
def test_twelve_is_written_with_a_cross(written: str) -> None:
    """A number of tanks that is written otherwise is told how to write it, by the name that is meant."""
    with pytest.raises(InputError) as caught:
        loads(text_of(ROOM, "12 x rack tank", written), "my.yaml")
    assert "'12 x rack tank'" in str(caught.value)


def test_heights_from_the_wrong_end_are_asked_back() -> None:
    """A lip 8 cm above the bottom, where the rim was meant, can be computed: it is asked back."""
    results = results_of(place(loads(text_of(TWO, "lip: 8 cm below tank rim", "lip: 8 cm above tank bottom"), "my.yaml")))
    asked = [question for question in doubts(results) if "less than half full" in question]
    assert asked == ["the lip of show left keeps show less than half full; its height may be meant from the rim"]


def test_a_box_lower_than_its_edge_is_asked_back() -> None:
    """A box whose rim lies 45 mm under its comb would be filled over its rim if it stands inside: asked back (0.625 - 0.58 m)."""
    low = text_of(REEF, "70 x 18 x 67 cm", "70 x 18 x 55 cm")
    asked = [question for question in doubts(results_of(place(loads(low, "my.yaml")))) if "rim of weir" in question]
    assert asked == ["the rim of weir lies 45 mm under the edge it is filled over; a box inside its tank is filled over its rim "
                     "first"]


def test_a_new_drain_in_an_exception_is_taken() -> None:
    """An exception may add a drain that the others do not have, whole or as the same as another one."""
    more = "drains: {third: {same as: spare, inlet: {lip: 3 cm below tank rim}}, overflow:"
    build = loads(text_of(ROOM, "drains: {overflow:", more), "my.yaml")
    assert "rack tank 8 third" in [drain.name for drain in build.drains]


def test_a_tank_above_the_pumps_head_gets_nothing() -> None:
    """A nursery hung higher than the pump's best head is no mistake of writing: it fails, with the least turnover of all."""
    found = results_of(place(loads(text_of(TWO, "40 cm above show rim", "400 cm above show rim"), "my.yaml")))
    network = found.network
    into = next(k for k in network.returns if network.links[k].name == "nursery return")
    assert abs(3.6e6 * float(found.state.flows[into])) < 1.0
    row = next(row for row in turnover(found) if row.key == "turnover nursery")
    assert (row.verdict, row.because) == ("fails", "no water comes into it")


def test_unnamed_intakes_are_told_in_millimetres() -> None:
    """The intake that is assumed for pumps in a list is a height like that of a single pump, not a bare number."""
    from hydro.report.content.assumed import assumed

    lower = "        5: {bottom: 104 cm above ground}                  # stands on a lower board\n"
    text = text_of(ROOM, "      intake: 6 cm above sump bottom\n", "").replace(lower, "")
    text = text.replace("12 x rack tank", "3 x rack tank").replace("        8: {", "        2: {")
    told = {one.name: one.dimension for one in assumed(assess(loads(text, "my.yaml")))}
    assert told["pump main: intake"] == "length"
