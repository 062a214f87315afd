"""What `find_designs` answers is what working out every filled-in text by itself answers; designs as arrays are the single
solves."""

from __future__ import annotations

import dataclasses
from itertools import product

import numpy as np
import pytest
from open_cases import trough

from hydro.case import load, loads
from hydro.checks import FAILS, HOLDS
from hydro.checks.assessment import assess
from hydro.errors import InputError
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import COMBINATIONS, results_of
from hydro.search.batch.evaluate import designs_of
from hydro.search.batch.solve import STEADY, UNSOLVED
from hydro.search.sizing import find_designs, write_text
from hydro.search.sizing import search as searching
from hydro.search.sizing.figures import DesignScale, hole_of
from hydro.search.sizing.goals import goal_checks
from hydro.search.sizing.search import judge_design

GOALS = "goals: {quiet: yes, holds the power cut: yes, flow: 900 L/h}\nwishes: {top-up reservoir: 5 L}\n"
OPEN = trough(lip="? 6 .. 11 cm below tank rim by 1 cm", bore="? 40 PN10 or 50 PN10 or 63 PN10",
              riser="? 16 mm or 20 mm or 25 mm", more=GOALS).replace(
    "line: 15 cm above sump bottom", "line: ? 12 .. 21 cm above sump bottom by 3 cm")


def brute(text, sized):
    """Return the designs of a text that pass, and the calmest that none beats, each filled in, read and worked out by itself."""
    scale, found, loud = DesignScale(None, sized_density(sized)), [], []
    for choice in product(*(range(len(one.candidates)) for one in sized.openings.values)):
        build = loads(sized.openings.filled(choice), "trough.yaml")
        one = judge_design(results_of(place(build)), sized.goals, scale, sized.shapes.topologies[0], 0, choice)
        if one.weighed is not None:
            loud.append(one.loud)
            found.append((choice, {name: float(f"{value:.6g}") for name, value in one.weighed.values.items()}))
    signs = {"room": -1.0, "reserve": -1.0}
    names = sized.names
    vectors = np.array([[signs.get(name, 1.0) * figures[name] for name in names]
                        for (_, figures), count in zip(found, loud, strict=True) if count == min(loud)])
    beaten = [bool(((vectors <= vector).all(axis=1) & (vectors < vector).any(axis=1)).any()) for vector in vectors]
    return found, {tuple(vector) for vector, lost in zip(vectors.tolist(), beaten, strict=True) if not lost}


def sized_density(sized):
    """Return the density that designs were weighed with."""
    from hydro.elements.limits import water_density

    return water_density(sized.shapes.topologies[0].build)


def test_size_finds_what_brute_force_finds():
    """216 designs, each filled in and worked out alone: the same pass, and the same sets of figures are beaten by none."""
    sized = find_designs(OPEN, "trough.yaml")
    assert sized.searched.whole
    assert len(sized.searched.judged) == sized.shapes.count == 216
    found, best = brute(OPEN, sized)
    assert [choice for choice, _ in found] == [one.choice for one in sized.searched.good]
    assert 10 < len(found) < 200
    assert {tuple(costs) for costs in sized.searched.costs(sized.searched.front())} == best
    shown = {one.choice for one in sized.designs}
    assert shown <= {choice for choice, _ in found}
    for name, sign in (("noise", 1.0), ("energy", 1.0), ("room", -1.0), ("pipe", 1.0)):
        least = min(sign * one.weighed.values[name] for one in sized.designs)
        named = [sign * one.weighed.values[name] for one in sized.designs if f"best by {name}" in one.stands_for]
        assert named == [pytest.approx(least, rel=1e-5)], name


def test_comfort_orders_and_does_not_forbid():
    """Where only a hose of 16 mm may be had, far too fast, there are designs; beside wider ones it is not shown."""
    narrow = find_designs(OPEN.replace("? 16 mm or 20 mm or 25 mm", "16 mm"), "trough.yaml")
    assert narrow.designs
    for one in narrow.designs:
        assert {check.key for check in one.checks if check.verdict == FAILS} == {"speed"}
    wide = find_designs(OPEN, "trough.yaml")
    assert all(check.verdict != FAILS for one in wide.designs for check in one.checks)
    assert any(one.loud for one in wide.searched.good)


def test_what_is_shown_is_proved():
    """Each design shown is the full assessment of its filled-in text, fails nothing, and has the figures it was chosen by."""
    sized = find_designs(OPEN, "trough.yaml")
    judged = {one.choice: one for one in sized.searched.judged}
    assert 2 <= len(sized.designs) <= 8
    assert [one.letter for one in sized.designs] == list("ABCDEFGH")[:len(sized.designs)]
    for one in sized.designs:
        alone = assess(loads(sized.openings.filled(one.choice), "trough.yaml"))
        assert [(row.key, row.verdict, row.margin) for row in one.checks][:len(alone.checks)] == [
            (row.key, row.verdict, row.margin) for row in alone.checks]
        assert one.verdict != FAILS
        assert one.weighed.values == pytest.approx(judged[one.choice].weighed.values, rel=1e-6, abs=1e-9)
    ranks = [one.asked_verdict == HOLDS for one in sized.designs]
    assert ranks == sorted(ranks, reverse=True)
    assert {row.question for row in sized.designs[0].asked} >= {"goal: flow of the pumps, at least", "left runs quietly"}


def test_two_hundred_designs_are_the_single_solve():
    """Levels, flows, power cuts and overflows of 200 designs of the demo agree with each one solved alone within 1e-6."""
    fixed = place(load("cases/demo.yaml"))
    dice = np.random.default_rng(7)
    sample = {"drain towpath side: pipe: size": dice.uniform(0.030, 0.060, 200),
             "pump: hose: size": dice.uniform(0.02, 0.04, 200),
             "drain towpath side: lip": dice.uniform(-0.12, -0.07, 200),
             "return reed corner: end": dice.uniform(-0.15, -0.05, 200)}
    together = designs_of(fixed, sample, 200)
    assert not (together.ran.kinds == UNSOLVED).any()
    compared = 0
    for n in range(200):
        one, alone = together.results(n), results_of(fixed, together.picks_of(n))
        if together.ran.kinds[n] != STEADY:
            continue
        compared += 1
        assert one.state.levels == pytest.approx(alone.state.levels, abs=1e-6)
        assert one.state.flows == pytest.approx(alone.state.flows, abs=1e-6)
        for case in COMBINATIONS:
            assert one.stopped[case].spare == pytest.approx(alone.stopped[case].spare, abs=1e-6)
        assert [x.level for x in one.overflows] == pytest.approx([x.level for x in alone.overflows], abs=1e-6)
    assert compared > 150


def test_a_pump_set_slow_is_judged_at_its_best():
    """A speed and a valve left open say how a design is set; the overflows have to carry the pump at full speed, valve open."""
    text = trough(bore="40 PN10").replace("4000 L/h = 0 m]", "4000 L/h = 0 m], speed: ? 60 % or 100 %").replace(
        "[hose 25 mm 1.5 m]", "[hose 25 mm 1.5 m, gate valve ?(40 % or 100 %) open]")
    sized = find_designs(text, "trough.yaml")
    scale = DesignScale()
    for one in sized.searched.judged:
        alone = judge_design(results_of(place(loads(sized.openings.filled(one.choice)))), sized.goals, scale,
                             sized.shapes.topologies[0], 0, one.choice)
        assert (one.missed, one.doubts) == (alone.missed, alone.doubts)


def test_heights_from_the_running_level_are_worked_out_one_by_one():
    """Where a height counts from the tank's water, which each design has elsewhere, every design is a loop of its own."""
    text = trough(bore="? 40 PN10 or 63 PN10", more=GOALS).replace("end: 3 cm above tank rim", "end: 2 cm below tank water")
    sized = find_designs(text, "trough.yaml")
    assert sized.searched.alone
    for one in sized.searched.judged:
        found = results_of(place(loads(sized.openings.filled(one.choice))))
        alone = judge_design(found, sized.goals, DesignScale(), sized.shapes.topologies[0], 0, one.choice)
        assert (one.missed, one.doubts) == (alone.missed, alone.doubts)


def test_large_grids_are_sampled_and_refined(monkeypatch):
    """Beyond what is worked out whole, a sample and what lies near its best comes within 5 % of the best figures."""
    whole = find_designs(OPEN, "trough.yaml").searched
    monkeypatch.setattr(searching, "WHOLE", 90)
    part = find_designs(OPEN, "trough.yaml").searched
    assert not part.whole
    assert len(part.judged) <= 90
    assert len({one.choice for one in part.judged}) == len(part.judged)
    again = find_designs(OPEN, "trough.yaml").searched
    assert [one.choice for one in again.judged] == [one.choice for one in part.judged]
    for column, name in enumerate(whole.names):
        best, found = (min(costs[column] for costs in one.costs(one.good)) for one in (whole, part))
        assert found <= best + 0.05 * abs(best) + 1e-9, name


def test_what_rules_designs_out_is_counted():
    """The checks that a design misses are counted once each, most frequent first; where nothing is left none is shown."""
    text = OPEN.replace("flow: 900 L/h", "flow: 3900 L/h")
    sized = find_designs(text, "trough.yaml")
    assert sized.designs == ()
    reasons = sized.searched.reasons()
    assert reasons[0][0] == "goal: flow of the pumps, at least"
    assert reasons[0][1] == 216
    assert [n for _, n, _ in reasons] == sorted((n for _, n, _ in reasons), reverse=True)
    assert reasons[0][2] == sum(one.missed == (reasons[0][0],) for one in sized.searched.judged)


def test_ctrl_c_keeps_what_was_found(monkeypatch):
    """Interrupted in the search, the designs looked at by then are kept and no proof is begun; in the proofs, those proved."""
    asked = []

    def told(what, done, number):
        asked.append((what, done))
        if what == "designs" and done == 100:
            raise KeyboardInterrupt
    sized = find_designs(OPEN, "trough.yaml", told=told)
    assert not sized.complete
    assert len(sized.searched.judged) == 100
    assert sized.designs == ()
    assert all(what != "proofs" for what, _ in asked)

    def told_later(what, done, number):
        if what == "proofs" and done == 2:
            raise KeyboardInterrupt
    sized = find_designs(OPEN, "trough.yaml", told=told_later)
    assert not sized.complete
    assert len(sized.designs) + len(sized.refuted) == 2


def test_prices_replace_the_stand_in(tmp_path):
    """With a price for every pipe their sum counts; with one missing the stand-in does, and what is missing is named."""
    from hydro.catalog import load_prices

    table = tmp_path / "prices.csv"
    table.write_text("item,price EUR,per\n50 PN10,2.0,m\n63 PN10,3.0,m\n25 mm hose,1.0,m\n", encoding="utf-8")
    text = trough(bore="? 50 PN10 or 63 PN10")
    sized = find_designs(text, "trough.yaml", load_prices(table))
    assert sized.currency == "EUR"
    costs = {one.words[0]: one.weighed.values["pipe"] for one in sized.designs}
    assert costs["50 PN10"] == pytest.approx(2 * 0.8 * 2.0 + 1.5 * 1.0)
    table.write_text("item,price EUR,per\n50 PN10,2.0,m\n", encoding="utf-8")
    without = find_designs(text, "trough.yaml", load_prices(table))
    assert without.currency == ""
    assert "63 PN10" in without.unpriced
    areas = {one.words[0]: one.weighed.values["pipe"] for one in without.designs}
    assert areas["50 PN10"] == pytest.approx(2 * 0.8 * 0.050 + 1.5 * 0.029)


def test_holes_come_from_the_catalogue():
    """A bulkhead for a 50 mm pipe has the hole of its row, a bare bore that of the nearest, a larger one in proportion."""
    from hydro.catalog import bulkheads, find_pipe
    from hydro.quantities.uncertain import Uncertain

    fifty = bulkheads()["50 metric solvent bulkhead"]
    assert hole_of(find_pipe("50 PN10").bore_rough(), "metric") == hole_of(Uncertain.exact(0.0425), "metric") == fifty.hole.high
    widest, bore = bulkheads()["63 metric solvent bulkhead"], find_pipe("110 PN10").bore_rough()
    assert hole_of(bore, "metric") == pytest.approx(widest.hole.high * bore.middle / widest.bore)


def test_a_design_is_written_as_a_file_of_its_own(tmp_path):
    """The filled-in text has no open value and no section for them, and is the build that was proved."""
    text = trough(bore="?bore", lip="? 8 .. 10 cm below tank rim by 1 cm", more="open:\n  bore: 50 PN10 or 63 PN10\n")
    sized = find_designs(text, "trough.yaml")
    written = write_text(sized, "a", str(tmp_path / "made.yaml"))
    assert "?" not in written.split("\n", 1)[1]
    assert "open:" not in written
    made = loads(written, "trough.yaml")
    assert dataclasses.replace(made, file="") == dataclasses.replace(sized.designs[0].assessment.build, file="")
    with pytest.raises(InputError, match="no design 'Z'"):
        write_text(sized, "Z", str(tmp_path / "made.yaml"))


def test_flow_goals_are_rows_like_others():
    """A flow asked for between two ends is held against the nearer one; none is asked of what does not run."""
    text = trough(bore="? 40 PN10 or 50 PN10", more="goals: {flow: 100 .. 200 L/h}\n")
    sized = find_designs(text, "trough.yaml")
    assert sized.searched.reasons()[0][0] == "goal: flow of the pumps, at most"
    build = loads(sized.openings.filled((0,)))
    (row,) = goal_checks(sized.goals, results_of(place(build)))
    assert row.limit == pytest.approx(200e-3 / 3600.0)
    assert row.verdict == FAILS


def test_fewer_designs_are_looked_at_one_by_one(monkeypatch):
    """Where designs have to be worked out one at a time, a grid above the number for that is sampled, and the report says so."""
    from hydro.report.terminal.sizing import sizing_text as told

    monkeypatch.setattr(searching, "ALONE", 5)
    text = trough(bore="? 40 PN10 or 63 PN10", lip="? 7 .. 10 cm below tank rim by 1 cm").replace(
        "end: 3 cm above tank rim", "end: 2 cm below tank water")
    sized = find_designs(text, "trough.yaml")
    assert sized.searched.alone
    assert not sized.searched.whole
    assert len(sized.searched.judged) <= 5
    assert "worked out one design at a time" in " ".join(told(sized).split())
