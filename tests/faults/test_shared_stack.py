"""A stack that two tanks' drains share: shut below the junction it sends the upper tank's water out of the lower tank's inlet."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest
from report_cases import ROOT

from hydro.case import loads
from hydro.faults.effects import effect_of, sound
from hydro.faults.single import single_faults
from hydro.scenarios.placed_build import place
from hydro.shutdown import passages_of, shut_down
from hydro.transient.disturbances import as_it_is, simulate

L_H = 1.0 / 3.6e6
TEXT = (ROOT / "cases" / "shared-stack.yaml").read_text(encoding="utf-8")


@cache
def open_stack():
    """Return the case with its valve open and a smaller emergency drain, as it runs with nothing wrong."""
    text = TEXT
    for old, new in (("ball valve 20 % open", "ball valve 57 mm"),
                     ("standpipe: 57 mm, lip: 4 cm", "standpipe: 32 mm, lip: 4 cm")):
        assert old in text
        text = text.replace(old, new)
    return sound(place(loads(text, "my.yaml")))


def the_fault(words):
    """Return what a single fault of the pipe comes to."""
    base = open_stack()
    faults = single_faults(base.loop.build, base.network, base.wet)
    return effect_of(base, [next(fault for fault in faults if fault.part == "down pipe" and fault.words.endswith(words))])


def test_with_the_stack_open_nothing_comes_back():
    """With the valve open every drain takes water down or stands dry."""
    state = open_stack().answer.state
    assert min(float(state.flows[k]) for k in state.network.drains) > -1e-9


@pytest.mark.parametrize("words", ["shut", "ball valve: shut"])
def test_the_lower_tank_takes_all_and_runs_over(words):
    """With the stack shut all of the upper tank's water comes up in the lower one, and it is that one which runs over.

    The small emergency drain does not take it, the tanks fill until the pump draws air; the upper one stays under its rim.
    """
    effect = the_fault(words)
    state = effect.answer.state
    flows = {link.name: float(flow) for link, flow in zip(state.network.links, state.flows, strict=True)}
    assert flows["lower overflow"] == pytest.approx(-flows["upper overflow"], rel=1e-5)
    assert flows["upper overflow"] > 500 * L_H
    assert flows["lower emergency"] == pytest.approx(flows["upper overflow"] + flows["lower return"], rel=1e-5)
    assert effect.where == "lower"
    assert effect.over > 1e-3
    assert float(state.levels[state.network.water("upper")]) < 2.05


def test_after_a_power_cut_the_upper_tank_runs_into_the_lower_one():
    """Behind a shut valve the upper tank (0.60 m2) falls to its lip (1.99 m) all the same, and fills the lower one (0.90 m2).

    What the drains' lines held comes on top: at most 3 L, or 3.3 mm.
    """
    base = open_stack()
    network = base.network
    pipe = network.place("down pipe")
    fault = next(words for words in network.links[pipe].element.faults() if words.endswith("ball valve: shut"))
    shut = network.changed({pipe: network.links[pipe].element.faults()[fault]})
    passages = passages_of(shut, True, True)
    pool = passages.pools[passages.pool_of[shut.water("stack")]]
    assert [shut.waters[water].name for water, _ in pool.tanks] == ["lower", "upper"]
    assert [low for _, low in pool.tanks] == pytest.approx([0.85 + 0.50 - 0.08, 1.60 + 0.45 - 0.06])
    found = shut_down(replace(base.answer.state, network=shut), True, True)
    assert found.levels[shut.water("upper")] == pytest.approx(1.99, abs=1e-6)
    before = {name: float(base.answer.state.levels[shut.water(name)]) for name in ("upper", "lower")}
    rises = 0.60 * (before["upper"] - 1.99) / 0.90
    assert rises > 0.01
    assert 0.0 <= found.levels[shut.water("lower")] - before["lower"] - rises < 0.0033


def test_through_time_water_comes_up_as_in_the_steady_state():
    """Followed through time the throttled stack keeps sending up what the steady state says."""
    state = sound(place(loads(TEXT, "my.yaml"))).answer.state
    history = simulate(state, as_it_is(), longest=60.0)
    back = state.network.place("lower overflow")
    assert float(state.flows[back]) < -2000 * L_H
    assert history.moments[-1].flows[back] == pytest.approx(float(state.flows[back]), rel=5e-3)
