"""Hoses that come off, against volumes worked out by hand: a tank of 0.5 m2 over a sump of 0.32 m2, heights above the ground.

Lip at 1.35 m, mouth of the return at 1.30 m; the sump runs at 0.20 m, the pump draws down to 0.05 m: 0.32 x 0.15 = 48 L.
"""

import math
import re
from pathlib import Path

import pytest

from hydro import load, loads
from hydro.checks.assessment import assess
from hydro.errors import InputError
from hydro.faults.effects import effect_of, sound
from hydro.faults.hoses import hoses_off
from hydro.faults.single import single_faults
from hydro.faults.survivable_heights import surviving
from hydro.faults.table import fault_table
from hydro.report.content.blocked_answers import fault_sentences, what_floods
from hydro.report.content.sentences import written
from hydro.report.content.view import View
from hydro.report.json.faults import fault_table_data
from hydro.report.terminal.faults import faults_text, outcome
from hydro.scenarios.histories import LOOSE_HOSE, ask, outcome_of
from hydro.scenarios.placed_build import place
from hydro.shutdown import drains_run_out, shut_down
from hydro.study.study import Study

CASES = Path(__file__).parents[2] / "cases"
TANK, SUMP, LIP, MOUTH, ROOM = 0.5, 0.32, 1.35, 1.30, 0.32 * 0.15
BORE = math.pi / 4.0 * 0.025 ** 2
DRAIN = ("{name: a, inlet: {standpipe: 50 mm, lip: 5 cm below tank rim}, line: [pipe 50 mm 100 cm], "
         "into: {end: 30 cm above sump bottom}}")


def built(line, way="elbow 90", drains=DRAIN, more="", opening="45 cm above sump bottom"):
    """Return the loop with a pump's line, parts of its return, drains."""
    return sound(place(loads(f"""
tank: {{inside: 100 x 50 x 60 cm, bottom: 80 cm above ground}}
sump: {{inside: 80 x 40 x 45 cm, bottom: at ground, line: 20 cm above sump bottom,
  lowest opening: {opening}}}
drains: [{drains}]
pump: {{intake: 5 cm above sump bottom, curve: [0 L/h = 3.6 m, 1000 L/h = 3 m, 2000 L/h = 1 m, 2300 L/h = 0 m], line: [{line}]}}
returns: [{{line: [{way}], end: 10 cm below tank rim, points: down}}]
{more}
""")))


def lost(base):
    """Return the litres on the floor by the words of the fault, m3."""
    return {effect.faults[0].words: effect.litres for effect in hoses_off(base)}


def over(base, height):
    """Return what the tank gives down to a height, with what its drains let go, m3."""
    state = base.answer.state
    return TANK * (float(state.levels[base.network.tank]) - height) + drains_run_out(state)


def off_at_pump(base):
    """Return what comes of the hose off at the pump."""
    faults = single_faults(base.loop.build, base.network, base.wet)
    return effect_of(base, (next(fault for fault in faults if fault.words.endswith("comes off at the pump")),))


def test_at_the_rim_the_pump_empties_the_sump_and_the_tank_falls_to_its_lip():
    """Off its fitting over the rim, the hose pours out the 48 L over the intake and what the tank gives down to its lip."""
    base = built("hose 25 mm 150 cm")
    assert lost(base) == {"hose: comes off at its upper end": pytest.approx(ROOM + over(base, LIP), abs=1e-6)}


def test_below_the_water_the_tank_siphons_out_as_well():
    """With a metre of pipe behind the hose its open end hangs low: the tank falls to the mouth, 50 mm lower, and lines empty."""
    base = built("hose 25 mm 50 cm, pipe 25 mm 100 cm")
    wanted = ROOM + over(base, MOUTH) + BORE * 1.5
    assert lost(base) == {"hose: comes off at its upper end": pytest.approx(wanted, abs=1e-6)}


@pytest.mark.parametrize(("line", "holds"), [("check valve 25 mm, hose 25 mm 50 cm, pipe 25 mm 100 cm", False),
                                             ("hose 25 mm 50 cm, check valve 25 mm, pipe 25 mm 100 cm", True)])
def test_a_check_valve_holds_only_behind_the_hose(line, holds):
    """A valve between pump and hose holds nothing back at either end of the hose; one behind it keeps the tank at its lip."""
    base = built(line)
    (floor,) = lost(base).values()
    assert floor == pytest.approx(ROOM + over(base, LIP if holds else MOUTH) + (0.0 if holds else BORE * 1.5), abs=BORE * 0.5)
    state = base.answer.state
    assert off_at_pump(base).left == pytest.approx(0.45 - shut_down(state, True, holds).sump_level, abs=1e-9)
    assert shut_down(state, True, True).sump_level < shut_down(state, True, False).sump_level - 0.05


def test_off_at_the_pump_is_a_power_cut():
    """Off at the pump in the sump nothing is lost that a power cut would not lose, and the pump is not run dry."""
    base = built("hose 25 mm 150 cm")
    found = off_at_pump(base)
    assert found.left == pytest.approx(0.45 - shut_down(base.answer.state, True, False).sump_level, abs=1e-9)
    assert not found.dry
    assert not found.floods


def test_off_at_the_pump_may_run_the_sump_over():
    """With the sump's lowest opening 10 mm under where it then comes to rest, 10 mm of it go on the floor, and it is told."""
    line = "check valve 25 mm, hose 25 mm 50 cm, pipe 25 mm 100 cm"
    rest = shut_down(built(line).answer.state, True, False).sump_level
    base = built(line, opening=f"{1e3 * rest - 10.0:.3f} mm above sump bottom")
    found = off_at_pump(base)
    assert found.litres == pytest.approx(SUMP * 0.010, abs=1e-5)
    assert outcome(found, "metric", 0.025) == "the sump runs over as the tank runs back"


def test_rigid_pipe_does_not_come_off():
    """Without a hose there is nothing to come off, neither in the sump nor outside it."""
    base = built("pipe 25 mm 150 cm")
    assert lost(base) == {}
    assert not any(fault.hose_off for fault in single_faults(base.loop.build, base.network, base.wet))


def test_a_hose_behind_a_pipe_has_both_ends_outside():
    """Its lower end is no longer at the pump: both ends pour on the floor, and none is asked in the sump."""
    base = built("pipe 25 mm 50 cm, hose 25 mm 100 cm")
    found = lost(base)
    assert set(found) == {"hose: comes off at its lower end", "hose: comes off at its upper end"}
    assert found["hose: comes off at its lower end"] == pytest.approx(ROOM + over(base, MOUTH) + BORE * 1.5, abs=1e-6)
    assert not any(fault.hose_off for fault in single_faults(base.loop.build, base.network, base.wet))


def test_a_drains_hose_empties_the_tank_to_its_own_lip():
    """Of two wet drains the one with the higher lip loses its hose: the tank stays there, the other one brings the rest back."""
    drains = f"{DRAIN.replace('pipe 50 mm', 'hose 50 mm')}, " + \
        DRAIN.replace("name: a", "name: b").replace("lip: 5 cm", "lip: 6 cm")
    base = built("pipe 25 mm 150 cm", drains=drains)
    assert len(base.wet) == 2
    assert lost(base) == {"hose: comes off": pytest.approx(ROOM + over(base, LIP), abs=1e-6)}


def test_the_reservoir_runs_out_as_well():
    """While the sump empties the top-up pours in after it: a reservoir of 7 L is 7 L more on the floor."""
    plain, more = (lost(built("hose 25 mm 150 cm", more=text)) for text in ("", "wishes: {top-up reservoir: 7 L}"))
    assert [more[words] - plain[words] for words in plain] == [pytest.approx(0.007, abs=1e-9)]


def test_hoses_are_counted_apart():
    """The demo's hose puts water on the floor and is in the table with its litres, but no line, answer or count rests on it."""
    table = fault_table(place(load(str(CASES / "demo.yaml"))), through_time=None)
    (row,) = table.hoses
    assert row.effect.floods
    assert table.flooding == ()
    assert table.asked == sum(other.count for other in table.rows)
    told = " ".join(faults_text(table, surviving(table.base, table.faults)).split())
    assert "Answer No single fault puts water on the floor." in told
    assert f"pump: hose comes off at its upper end {1e3 * row.effect.litres:.1f}" in told
    data = fault_table_data(table, None)
    assert data["floods"] == []
    assert [one["on_the_floor"] for one in data["hoses_off"]] == [row.effect.litres]


@pytest.mark.parametrize(("case", "name"), [("demo", "pump"), ("tub-and-mats", "pump"), ("tub-and-mats", "window side"),
                                            ("two-heights-one-header", "show return"), ("floods", "pump")])
def test_litres_by_volumes_are_those_through_time(case, name):
    """Followed through time until nothing moves, a loose hose pours out what volumes say, less what stays in lines below it."""
    build = load(str(CASES / f"{case}.yaml"))
    base = sound(place(build))
    outcome = outcome_of(ask(build, "hose-off", name, whole_tail=True).history)
    by_volumes = max(effect.litres for effect in hoses_off(base) if effect.faults[0].part == name) - base.reservoir
    assert [one.vessel for one in outcome.over] == [LOOSE_HOSE]
    assert outcome.dry is not None
    assert -1e-4 < by_volumes - outcome.on_the_floor < float(base.network.full) + 1e-4
    assert outcome.on_the_floor > 0.9 * by_volumes


@pytest.mark.parametrize(("line", "holds"), [("check valve 25 mm, hose 25 mm 50 cm, pipe 25 mm 100 cm", False),
                                             ("hose 25 mm 50 cm, check valve 25 mm, pipe 25 mm 100 cm", True)])
def test_off_at_the_pump_through_time(line, holds):
    """Followed through time, a hose off at the pump leaves the sump where the power cut does with the valve below it stuck."""
    base = built(line)
    history = ask(base.loop.build, "hose-off-at-pump", "pump", whole_tail=True).history
    assert history.end.pump_level == pytest.approx(shut_down(base.answer.state, True, holds).sump_level, abs=1.5e-3)
    assert outcome_of(history).over == ()


@pytest.mark.parametrize(("line", "what", "name", "said"), [
    ("pipe 25 mm 150 cm", "hose-off", "pump", "no line outside the sump has a hose"),
    ("pipe 25 mm 150 cm", "hose-off-at-pump", "pump", "does not begin with a hose"),
    ("hose 25 mm 150 cm", "hose-off", "pomp", "no line with a hose is called 'pomp'"),
    ("hose 25 mm 150 cm", "hose-off", "", "the name of the line with a hose is missing"),
])
def test_no_such_hose(line, what, name, said):
    """A hose that is not there is a complaint in one line."""
    with pytest.raises(InputError, match=said):
        ask(built(line).loop.build, what, name)


WITHOUT_THE_DRY_DRAIN = re.compile(r"(?m)^  - name: dry .*\n(?:    .*\n)+")


def said(case, without=re.compile(r"\Z")):
    """Return the first screen's sentence on single faults, with the view it is made of; a part of the file may be left out."""
    text = without.sub("", (CASES / f"{case}.yaml").read_text(encoding="utf-8"))
    view = View.of(Study.of(assess(loads(text, str(CASES / f"{case}.yaml")))), "metric")
    return " ".join(written(sentence, "metric") for sentence in fault_sentences(view)), view


def test_the_sentence_says_what_takes_a_power_cut():
    """Of two drains without a dry one a blocked one stays below the rim and floods with a power cut on top: it is said so."""
    told, view = said("us-inch", WITHOUT_THE_DRY_DRAIN)
    rows = {row.names: row.effect for row in view.study.faults.flooding}
    assert (rows["port: blocked"].over, rows["port: blocked"].endless) == (0.0, False)
    assert rows["port: blocked"].cut > 0.0
    assert rows["port and starboard: blocked"].endless
    assert "; with a power cut on top, port: blocked." in told
    assert told.index("with a power cut") > told.index("port and starboard: blocked")


def test_none_floods_is_never_said_beside_a_failing_blocked_drain():
    """Where a blocked drain fails its check and no fault in the middle floods, the sentence says 'none but a blocked drain'."""
    _, view = said("blocked-over-rim")
    none = fault_table(place(load(str(CASES / "demo.yaml"))), through_time=None)
    assert what_floods(view, none) == "none but a blocked drain, above, puts water on the floor"
    _, calm = said("demo")
    assert what_floods(calm, none) == "none puts water on the floor, nor with a power cut on top"
