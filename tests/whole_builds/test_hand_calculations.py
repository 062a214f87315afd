"""Whole loops of quite different scale, worked out beside the library on plain formulas, from described text to level and litre.

Nothing of the library's laws, network or solver is used for what is expected: each chamber, drain and line is written out here
once more, and the operating point found by bracketing. Formulas: Darcy and Weisbach with 64/Re and Colebrook (1939); K = n fT
with Crane's fT (fluids.ft_Crane); sudden changes of bore by Borda and Carnot and 0.5 (1 - b^2); weirs by Poleni, drowned by
Villemonte (1947); round outlets by the forms of EN 12056-3. Coefficients are the middles of the data sheets. All builds invented.
"""

from __future__ import annotations

import math

import pytest
from fluids.fittings import ft_Crane
from scipy.integrate import quad
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

import hydro
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import results_of

G = 9.80665
L_H, INCH, FOOT, GPH = 1.0 / 3.6e6, 0.0254, 0.3048, 3.785411784e-3 / 3600.0
NU = {1: 1.731e-6, 18: 1.0541e-6, 20: 1.0034e-6, 25: 0.8927e-6}
"""Kinematic viscosity of fresh water by temperature, m2/s (IAPWS-95 and R12-08)."""


def area(bore):
    """Return the section of a bore, m2."""
    return math.pi / 4.0 * bore * bore


def friction(q, bore, length, nu):
    """Return the head lost in a smooth pipe: laminar, or Colebrook. None is tested between Re 2000 and 4000."""
    speed = q / area(bore)
    reynolds = speed * bore / nu
    if reynolds <= 3000.0:
        return 64.0 / reynolds * length / bore * speed ** 2 / (2.0 * G)
    x = brentq(lambda x: x + 2.0 * math.log10(1.5e-6 / (3.7 * bore) + 2.51 * x / reynolds), 2.0, 20.0)
    return length / bore / x ** 2 * speed ** 2 / (2.0 * G)


def lost(q, line, nu, entrance=0.0):
    """Return the head lost in a line of ('run', bore, length), ('fT', n), ('K', K), ('to', bore) and the exit at its end."""
    bore = next(part[1] for part in line if part[0] in ("run", "to"))
    total, k = 0.0, entrance
    for kind, value, *more in line:
        here = value if kind in ("run", "to") else bore
        total += k * (q / area(bore)) ** 2 / (2.0 * G)
        small, share = min(bore, here), (min(bore, here) / max(bore, here)) ** 2
        change = 0.5 * (1.0 - share) if here < bore else (1.0 - share) ** 2
        total += change * (q / area(small)) ** 2 / (2.0 * G)
        bore, k = here, {"fT": lambda n, d: n * ft_Crane(d), "K": lambda n, d: n}.get(kind, lambda n, d: 0.0)(value, here)
        if kind == "run":
            total += friction(q, bore, more[0], nu)
    return total + (k + 1.0) * (q / area(bore)) ** 2 / (2.0 * G)


def over_plate(q, crest, width, below):
    """Return the level before a plate: Poleni with 0.62, Villemonte where the water behind stands over the crest."""
    def carried(level):
        head, tail = level - crest, max(below - crest, 0.0)
        return 0.62 * 2.0 / 3.0 * math.sqrt(2.0 * G) * width * head ** 1.5 * (1.0 - (tail / head) ** 1.5) ** 0.385 - q
    return brentq(carried, max(crest, below) + 1e-12, max(crest, below) + 9.0)


def under_wall(q, width, gap, sill, below):
    """Return the level before a slot under a wall, Cd 0.61 on the whole gap."""
    return max(below, sill + gap / 2.0) + (q / (0.61 * width * gap)) ** 2 / (2.0 * G)


def through_mat(q, top, below, width):
    """Return the level before a coarse mat, 10 mm at 4000 L/h wet to its top, half of that linear; over it an edge of 0.62."""
    def carried(level):
        wet, drop, over = min(level, top) / top, (level - below) / 0.01, max(level - top, 0.0)
        share = 2.0 * drop / (0.5 + math.sqrt(0.25 + 2.0 * drop))
        return 4000.0 * L_H * wet * share + 0.62 * 2.0 / 3.0 * math.sqrt(2.0 * G) * width * over ** 1.5 - q
    return brentq(carried, below, below + 9.0)


def takes(head, rim, throat, share=1.0):
    """Return what an inlet takes with air: the edge all round by 0.53, or the hole of the narrower of rim and throat by 0.606."""
    if head <= 0.0:
        return 0.0
    edge = 0.53 * 2.0 / 3.0 * math.sqrt(2.0 * G) * math.pi * rim * head ** 1.5
    return share * min(edge, 0.606 * area(min(rim, throat)) * math.sqrt(2.0 * G * head))


def split(level, drains):
    """Return what each of (lip, rim, throat, share) takes at a tank level, the pipe below not ruling."""
    return [takes(level - lip, *inlet) for lip, *inlet in drains]


BASE = """title: by hand, invented
temperature: {temperature} °C
tank: {{inside: {tank}, bottom: {bottom}}}
sump: {{inside: {sump}, bottom: at ground, chambers: [{chambers}]}}
drains: [{drains}]
pump: {{intake: 2 cm above sump bottom, curve: [{curve}], line: [{line}]}}
returns: [{returns}]
"""


def text(**given):
    """Return a case file."""
    return BASE.format(**{
        "temperature": 25, "tank": "150 x 60 x 60 cm", "bottom": "80 cm above ground", "sump": "100 x 45 x 45 cm",
        "chambers": "{name: in, length: 45 cm, ends in: {plate: 28 cm above sump bottom}}, "
                    "{name: pump, line: 20 cm above sump bottom}",
        "drains": "{name: a, inlet: {standpipe: 50 mm, lip: 8 cm below tank rim}, line: [pipe 50 mm 110 cm], "
                  "into: {chamber: in, end: 25 cm above sump bottom}}",
        "curve": "0 L/h = 3.6 m, 1000 L/h = 3.2 m, 2000 L/h = 2.4 m, 3000 L/h = 1 m, 3400 L/h = 0 m",
        "line": "hose 25 mm 150 cm", "returns": "{line: [elbow 90], end: 10 cm below tank rim}", **given})


def running(case):
    """Return the findings of a case file and its one steady state."""
    results = results_of(place(hydro.loads(case)))
    assert results.answer.kind == "steady"
    assert results.answer.others == ()
    return results, results.state


CURVE = ((0, 1000, 2000, 3000, 3400), (3.6, 3.2, 2.4, 1.0, 0.0))
USUAL = {"nu": NU[25], "curve": CURVE, "unit": (L_H, 1.0), "line": [("run", 0.025, 1.5), ("fT", 30)], "mouth": 1.30, "sump": 0.20,
         "drains": [(1.32, 0.050, 0.050, 1.0)], "chambers": lambda q: [over_plate(q, 0.28, 0.45, 0.20)]}
LOOPS = {
    "usual": ({}, {}),
    "desk": ({"tank": "60 x 30 x 36 cm", "bottom": "75 cm above ground", "sump": "40 x 20 x 25 cm",
              "chambers": "{name: in, length: 20 cm, ends in: {plate: 15 cm above sump bottom}}, "
                          "{name: pump, line: 10 cm above sump bottom}",
              "drains": "{name: a, inlet: {standpipe: 16 mm, lip: 4 cm below tank rim}, line: [hose 16 mm 90 cm], "
                        "into: {chamber: in, end: 12 cm above sump bottom}}",
              "curve": "0 L/h = 1.4 m, 150 L/h = 1.2 m, 300 L/h = 0.6 m, 400 L/h = 0 m", "line": "hose 12 mm 130 cm",
              "returns": "{line: [elbow 90], end: 6 cm below tank rim}"},
             {"curve": ((0, 150, 300, 400), (1.4, 1.2, 0.6, 0.0)), "line": [("run", 0.012, 1.3), ("fT", 30)], "mouth": 1.05,
              "sump": 0.10, "drains": [(1.07, 0.016, 0.016, 1.0)], "chambers": lambda q: [over_plate(q, 0.15, 0.20, 0.10)]}),
    "plywood": ({"temperature": 20, "tank": "400 x 125 x 110 cm", "bottom": "60 cm above ground", "sump": "250 x 80 x 60 cm",
                 "chambers": "{name: in, length: 100 cm, ends in: {plate: 40 cm above sump bottom}}, "
                             "{name: media, length: 80 cm, ends in: {slot: 4 cm}}, {name: pump, line: 30 cm above sump bottom}",
                 "drains": "{name: a, inlet: {elbow up: 110 mm, lip: 12 cm below tank rim}, line: [pipe 99 mm 30 cm, elbow 90, "
                           "pipe 99 mm 90 cm], into: {chamber: in, end: 40 cm above sump bottom}}, "
                           "{name: b, same as: a, inlet: {lip: 115 mm below tank rim}}",
                 "curve": "0 L/h = 9 m, 8000 L/h = 7.5 m, 14000 L/h = 5 m, 18000 L/h = 2 m, 20000 L/h = 0 m",
                 "line": "hose 57 mm 300 cm, 3 x elbow 90", "returns": "{line: [elbow 90], end: 15 cm below tank rim}"},
                {"nu": NU[20], "curve": ((0, 8000, 14000, 18000, 20000), (9.0, 7.5, 5.0, 2.0, 0.0)), "sump": 0.30, "mouth": 1.55,
                 "line": [("run", 0.057, 3.0), *4 * [("fT", 30)]],
                 "drains": [(1.58, 0.11, 0.099, 1.0), (1.585, 0.11, 0.099, 1.0)],
                 "chambers": lambda q: [over_plate(q, 0.40, 0.80, under_wall(q, 0.80, 0.04, 0.0, 0.30)),
                                        under_wall(q, 0.80, 0.04, 0.0, 0.30)]}),
    "a room above, mouth in the air": (
        {"temperature": 18, "bottom": "400 cm above ground", "line": "hose 28 mm 460 cm, 3 x elbow 90",
         "curve": "0 L/h = 7 m, 1500 L/h = 6.4 m, 3000 L/h = 5 m, 4000 L/h = 3 m, 4800 L/h = 0 m",
         "returns": "{line: [elbow 90], end: 5 cm above tank rim}",
         "drains": "{name: a, inlet: {standpipe: 50 mm, lip: 8 cm below tank rim}, line: [bulkhead 43 mm, pipe 45 mm 430 cm], "
                   "into: {chamber: in, end: 25 cm above sump bottom}}, {name: b, same as: a}"},
        {"nu": NU[18], "curve": ((0, 1500, 3000, 4000, 4800), (7.0, 6.4, 5.0, 3.0, 0.0)), "mouth": 4.65,
         "line": [("run", 0.028, 4.6), *4 * [("fT", 30)]], "drains": 2 * [(4.52, 0.050, 0.043, 1.0)]}),
    "nearly level, nozzle": (
        {"bottom": "20 cm above ground", "tank": "100 x 50 x 40 cm", "line": "hose 25 mm 80 cm",
         "curve": "0 L/h = 1.2 m, 1000 L/h = 1 m, 2000 L/h = 0.6 m, 3000 L/h = 0 m",
         "returns": "{line: [elbow 90, nozzle 18 mm], end: 6 cm below tank rim}",
         "drains": "{name: a, inlet: {standpipe: 57 mm, lip: 3 cm below tank rim}, line: [pipe 57 mm 65 cm], "
                   "into: {chamber: in, end: 5 cm above sump bottom}}"},
        {"curve": ((0, 1000, 2000, 3000), (1.2, 1.0, 0.6, 0.0)), "mouth": 0.54, "drains": [(0.57, 0.057, 0.057, 1.0)],
         "line": [("run", 0.025, 0.8), ("fT", 30), ("to", 0.018), ("K", 0.05)]}),
    "inches, a strainer": (
        {"tank": "72 x 24 x 24 in", "bottom": "36 in above ground", "sump": "36 x 18 x 16 in",
         "chambers": "{name: in, length: 12 in, ends in: {plate: 10 in above sump bottom}}, "
                     "{name: pump, line: 8 in above sump bottom}",
         "drains": "{name: a, inlet: {standpipe: 1.6 in, lip: 3 in below tank rim}, line: [pipe 1.6 in 40 in], "
                   "into: {chamber: in, end: 9 in above sump bottom}}, "
                   "{name: b, inlet: {standpipe: 2.05 in, lip: 2-7/8 in below tank rim, strainer: yes}, "
                   "line: [pipe 2.05 in 40 in], into: {chamber: in, end: 9 in above sump bottom}}",
         "curve": "0 US gph = 12 ft, 600 US gph = 10.5 ft, 1200 US gph = 7 ft, 1500 US gph = 3 ft, 1600 US gph = 0 ft",
         "line": "pipe 1.03 in 5 ft, 2 x elbow 90, ball valve",
         "returns": "{line: [pipe 0.8 in 1 ft, elbow 90], end: 4 in below tank rim}"},
        {"curve": ((0, 600, 1200, 1500, 1600), (12.0, 10.5, 7.0, 3.0, 0.0)), "unit": (GPH, FOOT), "sump": 8 * INCH,
         "line": [("run", 1.03 * INCH, 5 * FOOT), ("fT", 30), ("fT", 30), ("fT", 3), ("run", 0.8 * INCH, FOOT), ("fT", 30)],
         "drains": [(57 * INCH, 1.6 * INCH, 1.6 * INCH, 1.0), (57.125 * INCH, 2.05 * INCH, 2.05 * INCH, 0.5)],
         "mouth": 56 * INCH, "chambers": lambda q: [over_plate(q, 10 * INCH, 18 * INCH, 8 * INCH)]}),
    "ice-cold, laminar hose": (
        {"temperature": 1, "curve": "0 L/h = 1.8 m, 15 L/h = 1.6 m, 30 L/h = 1.2 m, 45 L/h = 0 m", "line": "hose 6 mm 160 cm",
         "returns": "{line: [K 1], end: 10 cm below tank rim}",
         "drains": "{name: a, inlet: {standpipe: 20 mm, lip: 8 cm below tank rim}, line: [hose 20 mm 110 cm], "
                   "into: {chamber: in, end: 25 cm above sump bottom}}"},
        {"nu": NU[1], "curve": ((0, 15, 30, 45), (1.8, 1.6, 1.2, 0.0)), "line": [("run", 0.006, 1.6), ("K", 1.0)],
         "drains": [(1.32, 0.020, 0.020, 1.0)]}),
    "mat overtopped": (
        {"chambers": "{name: in, length: 45 cm, ends in: {mat: coarse, top: 20.3 cm above sump bottom}}, "
                     "{name: pump, line: 20 cm above sump bottom}"},
        {"chambers": lambda q: [through_mat(q, 0.203, 0.20, 0.45)]}),
    "slot nearly shut": (
        {"chambers": "{name: in, length: 45 cm, ends in: {slot: 3 mm}}, {name: pump, line: 20 cm above sump bottom}"},
        {"chambers": lambda q: [under_wall(q, 0.45, 0.003, 0.0, 0.20)]}),
    "plate drowned by the next chamber": (
        {"chambers": "{name: in, length: 45 cm, ends in: {plate: 28 cm above sump bottom}}, "
                     "{name: pump, line: 29 cm above sump bottom}"},
        {"sump": 0.29, "chambers": lambda q: [over_plate(q, 0.28, 0.45, 0.29)]}),
    "rim smaller than the pipe below": (
        {"drains": "{name: a, inlet: {standpipe: 40 mm, lip: 12 cm below tank rim}, line: [pipe 50 mm 110 cm], "
                   "into: {chamber: in, end: 25 cm above sump bottom}}"},
        {"drains": [(1.28, 0.040, 0.050, 1.0)]}),
}


@pytest.mark.parametrize("name", LOOPS)
def test_a_loop_by_hand(name):
    """Flow to 0.1 % and levels to 0.3 mm come out as by plain formulas; the rounded corners of the laws stay below that."""
    written, changed = LOOPS[name]
    hand = {**USUAL, **changed}
    flow_unit, head_unit = hand["unit"]
    curve = PchipInterpolator([q * flow_unit for q in hand["curve"][0]], [h * head_unit for h in hand["curve"][1]])

    def tank(q):
        lowest = min(lip for lip, *_ in hand["drains"])
        return brentq(lambda level: sum(split(level, hand["drains"])) - q, lowest + 1e-9, lowest + 30.0)

    def spare(q):
        return float(curve(q)) - lost(q, hand["line"], hand["nu"]) - (max(tank(q), hand["mouth"]) - hand["sump"])
    flow = brentq(spare, 1e-7, 0.999 * hand["curve"][0][-1] * flow_unit)
    for bore in (part[1] for part in hand["line"] if part[0] == "run"):
        assert not 2000.0 < flow / area(bore) * bore / hand["nu"] < 4000.0
    _, state = running(text(**written))
    assert state.pump_flow == pytest.approx(flow, rel=1e-3)
    assert state.tank_level == pytest.approx(tank(flow), abs=3e-4)
    taken = [state.flows[k] for k in state.network.drains]
    assert taken == pytest.approx(split(tank(flow), hand["drains"]), rel=0.02, abs=1e-8)
    upstream = [state.levels[k] for k in state.network.chambers[:-1]]
    assert upstream == pytest.approx(hand["chambers"](flow), abs=3e-4)


def held(q, bore, length):
    """Return the water in a vented drain: q[L/s] = 2.5e-4 kb^(-1/6) r^(5/3) D[mm]^(8/3), kb 0.25 mm, r the share that is full."""
    share = (1e3 * q / (2.5e-4 * 0.25 ** (-1.0 / 6.0) * (1e3 * bore) ** (8.0 / 3.0))) ** 0.6
    return share * area(bore) * length


def test_a_power_cut_by_hand():
    """Two mouths on one header: the tank falls to the lower edge of the lower one, and the boxes fill as areas say, to 0.1 mm."""
    returns = ("{name: low, line: [hose 20 mm 50 cm], end: 15 cm below tank rim}, "
               "{name: high, line: [hose 20 mm 50 cm], end: 9 cm below tank rim}")
    results, state = running(text(returns=returns, sump="140 x 60 x 45 cm"))
    case = results.stopped[False, False]
    flow = state.pump_flow
    down = (1.50 * 0.60 * (state.tank_level - (1.25 - 0.020 / 2.0)) + held(flow, 0.050, 1.10)
            + area(0.025) * 1.50 + 2.0 * area(0.020) * 0.50)
    assert case.comes_down == pytest.approx(down, abs=1e-5)
    before = 0.45 * 0.60 * state.levels[1] + 0.95 * 0.60 * 0.20
    ends = (before + down) / (1.40 * 0.60)
    assert ends > 0.28
    assert case.sump_level == pytest.approx(ends, abs=1e-4)
    assert case.spare == pytest.approx(1.40 * 0.60 * (0.45 - ends), abs=1e-4)


def test_a_power_cut_into_a_sloped_tub_with_gear():
    """A tub of 100 x 60 cm at the rim, 80 x 44 at the bottom, corners of 5 cm, gear of 6 and 3 L: slice by slice, to 0.1 mm."""
    case = text(chambers="{name: in, length: 45 cm, ends in: {plate: 28 cm above sump bottom, width: 50 cm}, "
                         "gear: {volume: 6 L, up to: 20 cm above sump bottom}}, {name: pump, line: 20 cm above sump bottom, "
                         "gear: {volume: 3 L, up to: 30 cm above sump bottom}}")
    tub = "taper: {rim: 100 x 60 cm, bottom: 80 x 44 cm, height: 45 cm, corners: 5 cm}"
    results, state = running(case.replace("inside: 100 x 45 x 45 cm", tub))

    def slice_of(z, length):
        inner = length - 0.10 * (1.0 - z / 0.45)
        return inner * (0.44 + 0.16 * z / 0.45) - (2.0 - math.pi / 2.0) * 0.05 ** 2

    def holds(level, length, gear, top):
        return quad(slice_of, 0.0, level, (length,))[0] - gear * min(level, top) / top
    inflow, pump = (0.45, 0.006, 0.20), (0.55, 0.003, 0.30)
    stopped = results.stopped[False, False]
    water = holds(state.levels[1], *inflow) + holds(0.20, *pump) + stopped.comes_down
    ends = brentq(lambda level: holds(level, *inflow) + holds(level, *pump) - water, 0.28, 0.9)
    assert stopped.sump_level == pytest.approx(ends, abs=1e-4)


def test_a_blocked_drain_by_hand():
    """The other drain's level with the pump 7 % up in head, the sump at its line, the edge rated by EN 12056-3: to 0.3 mm."""
    drains = ("{name: a, inlet: {standpipe: 50 mm, lip: 12 cm below tank rim}, line: [pipe 50 mm 110 cm], "
              "into: {chamber: in, end: 25 cm above sump bottom}}, {name: b, same as: a}")
    results, _ = running(text(drains=drains, returns="{line: [elbow 90], end: 13 cm below tank rim}"))
    curve = PchipInterpolator([q * L_H for q in CURVE[0]], [1.07 * h for h in CURVE[1]])

    def level(q):
        edge = (q / (0.4545 * 2.0 / 3.0 * math.sqrt(2.0 * G) * math.pi * 0.050)) ** (2.0 / 3.0)
        return 1.28 + max(edge, (q / (0.606 * area(0.050))) ** 2 / (2.0 * G))
    flow = brentq(lambda q: float(curve(q)) - lost(q, USUAL["line"], NU[25]) - (level(q) - 0.20), 1e-5, 3399 * L_H)
    one_out = next(case for case in results.overflows if len(case.out) == 1)
    assert one_out.with_air.pump_flow == pytest.approx(flow, rel=1e-3)
    assert one_out.level == pytest.approx(level(flow), abs=3e-4)


def test_a_leaking_hole_and_two_branches_by_hand():
    """A jet from the static head in a branch, the other branch beside it: flows to 0.3 %; the hole feels no velocity head."""
    returns = ("{name: a, line: [hose 20 mm 50 cm, siphon break, K 3], end: 10 cm below tank rim, "
               "siphon break: {hole: 6 mm, at: 9 cm below tank rim}}, {name: b, line: [hose 18 mm 90 cm, K 2], "
               "end: 15 cm below tank rim}")
    _, state = running(text(returns=returns))
    tank, nu = state.tank_level, NU[25]

    def head(q, bore, length, k):
        return friction(q, bore, length, nu) + k * (q / area(bore)) ** 2 / (2.0 * G)

    def branch_a(tee):
        def both(mouth):
            static = head(mouth, 0.020, 0.0, 3.0 + 1.0) - (mouth / area(0.020)) ** 2 / (2.0 * G)
            jet = 0.61 * area(0.006) * math.sqrt(2.0 * G * static)
            return mouth, jet, tee - tank - head(mouth + jet, 0.020, 0.5, 1.0) - static
        mouth = brentq(lambda q: both(q)[2], 1e-6, 5e-3)
        return both(mouth)[:2]

    def branch_b(tee):
        return brentq(lambda q: head(q, 0.018, 0.9, 3.0) - (tee - tank), 1e-6, 5e-3)
    curve = PchipInterpolator([q * L_H for q in CURVE[0]], CURVE[1])

    def spare(tee):
        flow = sum(branch_a(tee)) + branch_b(tee)
        return float(curve(flow)) - head(flow, 0.025, 1.5, 0.0) - (tee - 0.20)
    tee = brentq(spare, tank + 0.02, tank + 0.45)
    flows = {link.name: flow for link, flow in zip(state.network.links, state.flows, strict=True)}
    assert flows["a"] == pytest.approx(branch_a(tee)[0], rel=3e-3)
    assert flows["a: siphon break"] == pytest.approx(branch_a(tee)[1], rel=3e-3)
    assert flows["b"] == pytest.approx(branch_b(tee), rel=3e-3)


def test_a_narrow_pipe_under_a_wide_inlet_by_hand():
    """With air a 32 mm pipe under a 57 mm rim takes in what a hole of 32 mm does, 80 of 1180 mm down its fall of 1.06 m.

    The standpipe is 10 mm long: so deep under the lip its bulkhead begins.
    """
    drains = ("{name: a, inlet: {standpipe: 57 mm, length: 10 mm, lip: 8 cm below tank rim}, "
              "line: [bulkhead 50 mm, pipe 32 mm 110 cm], into: {chamber: in, end: 25 cm above sump bottom}}")
    results = results_of(place(hydro.loads(text(drains=drains))))
    case = results.overflows[0].with_air
    needed = (case.pump_flow / (0.606 * area(0.032))) ** 2 / (2.0 * G) - 0.01 - 1.06 * 0.08 / 1.18
    assert needed > 0.03
    assert case.tank_level - 1.32 == pytest.approx(needed, abs=3e-4)
