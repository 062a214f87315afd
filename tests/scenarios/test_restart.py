"""The restart after a power cut is told alike by the check, by the table of faults and by what happens through time.

The check and the table go by volumes, the course through time by the balance of each instant: what holds by the one puts no water
over a rim in the other, and what fails does. 'Tight' leaves it open.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from random_builds import at, exact, make

from hydro import assess, load, loads
from hydro.checks import FAILS, HOLDS, TIGHT
from hydro.checks.check import CheckKind
from hydro.checks.restart import Restarts
from hydro.description.build import Item
from hydro.elements.air_lock import LOCKED
from hydro.faults.effects import effect_of, sound
from hydro.faults.levels import DROP, overtopped
from hydro.faults.single import single_faults
from hydro.faults.table import fault_table
from hydro.report.content.blocked_answers import fault_sentences
from hydro.report.content.grouping import FEW
from hydro.report.content.sentences import written
from hydro.report.content.view import View
from hydro.scenarios.histories import ask, outcome_of
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import results_of
from hydro.study.study import Study

CASES = sorted((Path(__file__).parents[2] / "cases").glob("*.yaml"))
QUICK = ("demo", "paludarium", "reef-comb-three-drains", "worked-loop")
SUMP = """
sump:
  inside: 100 x 50 x 45 cm
  bottom: at ground
  chambers:
    - {name: inflow, length: 40 cm, ends in: {plate: 34 cm above sump bottom}}
    - {name: pump, line: LINE above sump bottom}
"""
DROPPER = """
title: An elbow turned down, without a vent, whose lower end stands deep
tank: {inside: 160 x 80 x 40 cm, bottom: 95 cm above ground}
drains:
  - name: dropper
    inlet: {elbow down: 57 mm, lip: 6 cm below tank rim, mouth: 8 cm below tank rim}
    line: [pipe 63 PN10 20 cm, elbow 90, pipe 63 PN10 70 cm]
    into: {chamber: inflow, end: 16 cm above sump bottom}
pump:
  intake: 4 cm above sump bottom
  curve: [0 L/h = 3.0 m, 1000 L/h = 2.7 m, 2000 L/h = 2.1 m, 3000 L/h = 1.2 m, 3800 L/h = 0 m]
  line: [hose 25 mm 160 cm, elbow 90]
returns: [{name: waterfall, line: [pipe 25 PN16 60 cm, elbow 90], end: 10 cm above tank rim}]
""" + SUMP.replace("LINE", "18 cm")
SIPHON = """
title: A throttled siphon whose lower end stands deep, with a drain for the rest of the flow
tank: {inside: 120 x 50 x 50 cm, bottom: 95 cm above ground}
drains:
  - name: siphon
    inlet: {standpipe: 40 mm, lip: 6 cm below tank rim}
    line: [pipe 40 PN10 110 cm, elbow 90, gate valve 30 % open]
    into: {chamber: inflow, end: 16 cm above sump bottom}
  - name: trickle
    inlet: {standpipe: 32 mm, lip: 3 cm below tank rim}
    line: [pipe 32 PN10 110 cm]
    into: {chamber: inflow, end: 36 cm above sump bottom}
pump:
  intake: 4 cm above sump bottom
  curve: [0 L/h = 4.0 m, 1500 L/h = 3.6 m, 3000 L/h = 2.9 m, 5000 L/h = 1.2 m, 6000 L/h = 0 m]
  line: [hose 32 mm 160 cm, elbow 90]
returns: [{name: jet, line: [pipe 32 PN10 60 cm, elbow 90], end: 10 cm above tank rim}]
""" + SUMP.replace("LINE", "22 cm")


def told(build):
    """Return the worst verdict of the restart, the effect of the power's return, what goes over through time and its course."""
    loop = place(build)
    restarts = Restarts(results_of(loop))
    verdicts = {restarts.check(k).verdict for k in restarts.results.network.drains}
    worst = next(verdict for verdict in (FAILS, TIGHT, HOLDS) if verdict in verdicts)
    base = sound(loop)
    fault = next(fault for fault in single_faults(build, base.network, base.wet) if fault.restarts)
    history = ask(build, "power-back").history
    return worst, effect_of(base, (fault,)), outcome_of(history), history


def agrees(build):
    """Return the worst verdict of the restart once table and time agree with it; None where it does not run, or runs over."""
    results = results_of(place(build))
    if results.answer.state is None or not results.stopped or overtopped(results.network, results.answer)[0] >= 0.0:
        return None
    verdict, effect, outcome, _ = told(build)
    if verdict != TIGHT:
        assert (effect.over > DROP) is (verdict == FAILS)
        assert (outcome.on_the_floor > DROP) is (verdict == FAILS)
    return verdict


def turned_down(number):
    """Return a random build with one drain only: turned down, without a vent, its lower end near the sump's bottom."""
    build = make("turned", number).build
    first, end = build.drains[0], (0.02, 0.08, 0.16, 0.24)[number % 4]
    inlet = Item("elbow down", {"bore": exact(0.067), "lip": at(-0.035, "tank rim"), "mouth": at(-0.06, "tank rim")},
                 label=first.name)
    return replace(build, drains=(replace(first, inlet=inlet, end=at(end, "sump bottom")),))


@pytest.mark.parametrize("path", [pytest.param(path, id=path.stem, marks=() if path.stem in QUICK else pytest.mark.slow)
                                  for path in CASES])
def test_every_case_restarts_as_its_check_says(path):
    """No case of the project puts water over a rim in its restart: its check, the table and the course through time agree."""
    assert agrees(load(str(path))) in (HOLDS, TIGHT)


@pytest.mark.parametrize("number", [n if n < 6 else pytest.param(n, marks=pytest.mark.slow) for n in range(60)])
def test_random_builds_restart_as_their_checks_say(number):
    """On sixty random builds what holds by volumes stays below every rim through time, and what fails goes over one."""
    assert agrees(make("restart", number).build) in (None, HOLDS, TIGHT, FAILS)


@pytest.mark.parametrize("numbers", [pytest.param(range(13, 73), marks=pytest.mark.slow)], ids=str)
def test_random_builds_turned_down_fail_and_hold(numbers):
    """With one drain turned down and drowned, random builds fail and hold, and through time they do what was said."""
    assert {FAILS, HOLDS} <= {agrees(turned_down(number)) for number in numbers}


@pytest.mark.parametrize(("text", "name"), [(DROPPER, "dropper"), (SIPHON, "siphon")])
def test_a_flood_at_the_restart_is_told_by_all(text, name):
    """A flood when the power comes back fails the check, is one of the single faults, and goes over the rim through time.

    The litres by volumes are those through time within 1 L.
    """
    build = loads(text)
    answer = assess(build)
    verdict, effect, outcome, history = told(build)
    assert (verdict, answer.check(CheckKind.RESTART, name).verdict) == (FAILS, FAILS)
    assert effect.where == "the tank"
    assert [over.vessel for over in outcome.over] == ["the tank"]
    assert effect.over == pytest.approx(outcome.on_the_floor, abs=1e-3)
    assert outcome.on_the_floor > 0.02
    assert [link.name for link in history.start.network.links if getattr(link.element, "mode", "") == LOCKED] == [name]


@pytest.mark.parametrize("text", [DROPPER, SIPHON])
def test_run_names_the_restart_among_single_faults(text):
    """The sentence of `run` names the power that fails and comes back, or counts it after the worst; `faults` names it."""
    build = loads(text)
    told = fault_sentences(View.of(Study.of(assess(build)), "metric"))
    found = fault_table(place(build), through_time=True).flooding
    rows = [row for row in found if row.effect.faults[0].restarts]
    named = "the power: fails and comes back" if len(found) <= FEW else f"{len(found) - FEW + 1} more"
    assert named in " ".join(written(sentence, "metric") for sentence in told)
    assert [row.names for row in rows] == ["the power: fails and comes back"]
    assert rows[0].timed == pytest.approx(rows[0].effect.litres, abs=1e-3)
    assert rows[0].time is not None


def test_a_vent_lets_the_dropper_start():
    """The same elbow with an open vent of 20 mm holds by volumes, floods by no restart, and comes back through time."""
    build = loads(DROPPER.replace("mouth:", "vent: 20 mm, mouth:"))
    assert agrees(build) == HOLDS


@pytest.mark.parametrize(("locks", "locked"), [(None, ["dropper"]), (True, ["dropper", "wall"]), (False, [])])
def test_air_stays_where_it_is_said_to(locks, locked):
    """With both ends deep, air stays in the elbow turned down alone, unless it is said to stay in all or in none."""
    paludarium = next(path for path in CASES if path.stem == "paludarium").read_text(encoding="utf-8")
    build = loads(paludarium.replace("end: 28 cm above sump bottom", "end: 10 cm above sump bottom"))
    network = ask(build, "power-back", locks=locks).history.start.network
    assert [link.name for link in network.links if getattr(link.element, "mode", "") == LOCKED] == locked
