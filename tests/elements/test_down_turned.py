"""The down-turned inlet: its vent, its mouth, and what becomes of the tank."""


import pytest

from hydro.description.build import Height, Item
from hydro.elements.air_lock import AirLocked
from hydro.elements.down_turned import DownTurned
from hydro.elements.drain import FLUSHING_HIGH, FLUSHING_LOW, SIPHON, WITH_AIR, DrainLine
from hydro.elements.fittings import LocalLoss, crane_ft
from hydro.elements.line import Line
from hydro.elements.pipe import Pipe
from hydro.elements.registry import PartContext, Reader, family
from hydro.elements.rim import ENTRANCE
from hydro.elements.side_outlet import SideOutlet
from hydro.quantities.arrays import GRAVITY
from hydro.quantities.uncertain import Uncertain
from hydro.solve import System, solve

L_H = 1.0 / 3.6e6
BORE, CREST, MOUTH = 0.04, 1.0, 0.9


def inlet(vent=0.0, **more):
    """Return a down-turned inlet."""
    return DownTurned.below(SideOutlet.of(CREST, BORE, 0.60, 0.606), MOUTH, BORE, 1.2, vent, **more)


def drain(vent=0.0, k=3.0, **more):
    """Return its drain, that falls to a level at the datum."""
    line = Line.of([Pipe.of(BORE, 1.3, 1.5e-6, 0.95e-6), LocalLoss.of(k, BORE)])
    return DrainLine("drain", inlet(vent), line, end=-0.05, **more)


def test_with_air_it_is_a_hole_with_an_entrance_before_it():
    """The head over the invert is that of the bare hole and K velocity heads of the opening."""
    flow = 1500 * L_H
    speed = flow / (3.14159265 / 4.0 * BORE**2)
    hole = SideOutlet.of(CREST, BORE, 0.60, 0.606)
    assert inlet().needed(flow)[0] == pytest.approx(hole.needed(flow)[0] + 1.2 * speed**2 / (2.0 * GRAVITY))
    assert inlet().crest == CREST


def test_what_a_head_feeds_needs_that_head():
    """The head needed by the flow that a head feeds is that head, and nothing flows at or under the crest."""
    for head in (0.005, 0.02, 0.05, 0.2):
        assert inlet().needed(inlet().flow_at(head))[0] == pytest.approx(head, rel=1e-4, abs=1.1e-4)
    assert inlet().flow_at(-0.02) == 0.0


@pytest.mark.parametrize(("vent", "served"), [(3.5e-3, 600), (7e-3, 2400), (14e-3, 9600)])
def test_a_vent_serves_by_its_area(vent, served):
    """A vent of 3.5 mm serves 600 L/h and one of twice the bore four times that; it is too small for a hundredth more."""
    assert inlet(vent).vent_margin(0.99 * served * L_H) > 0.0
    assert inlet(vent).vent_margin(1.01 * served * L_H) < 0.0


def test_only_a_vent_that_cannot_plug_is_counted_on():
    """What stops is the crest by a vent that serves; counted as plugged it is the mouth, but for a vent too wide to plug."""
    flow = 600 * L_H
    stops = {vent: [inlet(vent).stops_at(counted, flow) for counted in (True, False)] for vent in (0.0, 3e-3, 6e-3, 25e-3)}
    assert stops == {0.0: [MOUTH, MOUTH], 3e-3: [MOUTH, MOUTH], 6e-3: [CREST, MOUTH], 25e-3: [CREST, CREST]}


def test_a_drain_asks_its_vent_for_the_flow_that_sweeps():
    """The drain counts on a vent only if it serves the flow at which air is swept out of its bore, 2824 L/h at 40 mm."""
    assert drain().sweeping_flow / L_H == pytest.approx(2833, rel=0.005)
    assert [drain(vent).stops_at(True) for vent in (0.007, 0.008)] == [MOUTH, CREST]
    assert drain(0.008).stops_at(False) == MOUTH


def test_a_plugged_vent_is_a_fault():
    """A vent that can plug answers the fault, and the inlet is then one without; a wide vent, or none, has no such fault."""
    faults = drain(0.006).faults()
    assert faults["vent plugged"]["inlet"] == inlet(0.0)
    assert "vent plugged" not in drain().faults()
    assert "vent plugged" not in drain(0.025).faults()


def test_unvented_it_primes_by_its_flow_alone():
    """Without a vent J = 1 is enough at any head; with one that serves, air holds at any flow that it serves."""
    sweep = 1.01 * drain().sweeping_flow
    low = CREST + 0.5 * BORE
    assert drain().guards(sweep, low, 0.0)[0].margin < 0.0
    assert drain().guards(0.9 * sweep, low, 0.0)[0].margin > 0.0
    assert drain(0.010).guards(sweep, CREST + 3.0 * BORE, 0.0)[0].margin > 0.0
    assert drain(0.005).guards(sweep, low, 0.0)[0].margin < 0.0


def test_a_siphon_holds_down_to_the_mouth():
    """Full and unvented it stays a siphon while its line needs more than the mouth's level; a vent that serves breaks it."""
    made = drain().in_mode(SIPHON)
    over, under = (made.full_flow(MOUTH - CREST + by, 0.0) for by in (0.01, -0.01))
    assert made.guards(over, MOUTH + 0.01, 0.0)[0].margin == pytest.approx(0.01 / BORE, rel=1e-3)
    broken = made.guards(under, MOUTH - 0.01, 0.0)[0]
    assert broken.margin < 0.0
    assert broken.next_mode == WITH_AIR
    vented = drain(0.020).in_mode(SIPHON)
    assert vented.guards(over, MOUTH + 0.01, 0.0)[0].margin < 0.0


def test_a_siphon_can_hold_the_tank_under_the_crest():
    """As a siphon the tank stands where the line's loss puts it, here 4 cm under the crest, at the lowest at the mouth."""
    made = drain().in_mode(SIPHON)
    for level, flow in ((CREST - 0.04, made.full_flow(-0.04, 0.0)), (MOUTH, 0.5 * made.full_flow(MOUTH - CREST, 0.0))):
        assert made.residual(flow, level, 0.0)[0] == pytest.approx(0.0, abs=1e-5)


def test_flushing_it_swings_down_to_the_mouth():
    """Flushing low, the tank is held at the mouth whatever is carried; flushing high over the crown; each mode keeps its name."""
    low, high = drain().in_mode(FLUSHING_LOW), drain().in_mode(FLUSHING_HIGH)
    for flow in (1e-4, 1e-3):
        assert low.residual(flow, MOUTH, 0.0)[0] == pytest.approx(0.0, abs=2e-6)
    assert high.surge_head >= BORE
    modes = (WITH_AIR, SIPHON, FLUSHING_HIGH, FLUSHING_LOW)
    assert [drain().in_mode(mode).mode for mode in modes] == list(modes)


def test_the_solver_finds_its_levels():
    """Between a tank held under the crest and the datum a siphon carries its full flow, and with air nothing."""
    def taken(made, up):
        found = solve(System(((made.residual, 0, 1),), (None, None), (None,), {0: up, 1: 0.0}, None), [up, 0.0], [5e-4], most=300)
        assert found.solved
        return found.flows[0]
    level = CREST - 0.05
    assert taken(drain().in_mode(SIPHON), level) == pytest.approx(drain().full_flow(-0.05, 0.0), rel=1e-3)
    assert abs(taken(drain(), level)) < 0.01 * L_H


def test_a_mouth_over_the_invert_is_the_crest():
    """Where the mouth lies higher than the bulkhead's invert, the tank cannot fall below the mouth, and that is the crest."""
    made = DownTurned.below(SideOutlet.of(0.5, BORE, 0.60, 0.606), 0.52, BORE, 1.2)
    assert made.crest == 0.52
    assert made.stops_at(False, 1e-3) == 0.52


def test_half_of_it_passes_half():
    """With half its openings left it takes half of its flow at the same head."""
    for head in (0.02, 0.1):
        assert inlet().fouled(0.5).flow_at(head) == pytest.approx(0.5 * inlet().flow_at(head), rel=1e-4)


def test_it_is_made_from_its_description():
    """From the words of a case file come mouth, vent and K: entrance, turn, and 0.03 for each bore of the leg."""
    values = {"bore": Uncertain.exact(BORE, "bore"), "lip": Height(Uncertain.exact(CREST, "lip"), "ground"),
              "mouth": Height(Uncertain.exact(MOUTH, "mouth"), "ground"), "vent": Uncertain.exact(0.006, "vent")}
    reader = Reader(Item("dropper", values), PartContext({}, {}, lambda height: height.offset.middle, 1e-6), 0.05)
    made = family("inlet")["dropper"].make(reader)
    loss = ENTRANCE.middle + 30.0 * crane_ft(BORE) + 0.03 * 0.1 / BORE
    assert made.entrance == pytest.approx(loss)
    assert [getattr(made, name) for name in ("rim", "throat", "orifice", "pipe", "edge")] == [
        getattr(inlet(), name) for name in ("rim", "throat", "orifice", "pipe", "edge")]
    area = 3.14159265358979 / 4.0 * BORE**2
    assert made.quadratic == pytest.approx(loss / (2.0 * GRAVITY * area**2))
    assert (made.vent, made.mouth, made.crest) == (0.006, MOUTH, CREST)


def test_without_a_vent_air_is_locked_in():
    """Air shut in the line leaves by a vent at J = 0.3; without one the drain is locked at less than 1 L/h."""
    assert AirLocked(drain(0.006)).vents == pytest.approx(0.3 * drain().sweeping_flow)
    assert AirLocked(drain()).vents < 1.0 * L_H


def test_air_that_is_not_replaced_is_noted():
    """Between J = 0.3 and 1 a drain without a vent that serves says that it may siphon in fits; slower or vented it does not."""
    def noted(made, share):
        return any("siphon in fits" in note for note in made.limits(share * made.sweeping_flow, CREST + 0.03, 0.0))
    assert [noted(drain(), 0.5), noted(drain(), 0.2), noted(drain(0.010), 0.5)] == [True, False, False]
    assert not noted(drain().in_mode(SIPHON), 0.5)
