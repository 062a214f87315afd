"""Any number of tanks, boxes, sumps, pumps and headers in one file: how they are written, and what they are read as.

The texts are invented. Each of the three large ones is read, made into a network and solved.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from hydro.case import loads
from hydro.case.sections import grammar as many
from hydro.description.build import Build, Height, Item, Run
from hydro.description.heights import place_level
from hydro.network.assembly import make_network
from hydro.quantities.uncertain import Uncertain
from hydro.report.terminal.case_summary import understood
from hydro.scenarios.placed_build import closing_of, place
from hydro.steady.state import solve_network

ROOM = """
title: Breeding room of a fish keepers' club
my tape: 4 mm
tanks:
  - 12 x rack tank:
      inside: 60 x 45 x 40 cm
      bottom: about 110 cm above ground
      drains:
        - name: overflow
          inlet: {standpipe: 36 mm, lip: 5 cm below tank rim}
          line: [bulkhead 34 mm, pipe 40 PN10 90 cm, elbow 90]
          into: {chamber: filter wool, end: 34 cm above sump bottom}
      returns:
        - {line: [pipe 20 PN16 40 cm, gate valve 60 % open], end: 3 cm below tank rim}
      header:
        name: row
        from: main
        line: [pipe 50 PN10 3 m, 2 x elbow 90]
        between: [pipe 50 PN10 65 cm]
        ring: [pipe 50 PN10 7 m, 4 x elbow 90]
      except:
        7: {bottom: 150 cm above ground}
        11: {drains: {overflow: {inlet: {lip: 7 cm below tank rim}}}}
sump:
  inside: 220 x 60 x 60 cm
  bottom: at ground
  chambers:
    - {name: filter wool, length: 60 cm, ends in: {plate: 32 cm above sump bottom}}
    - {name: pumps, line: 25 cm above sump bottom}
pumps:
  - 2 x main: {chamber: pumps, curve: [0 L/h = 4.2 m, 3000 L/h = 3.6 m, 6000 L/h = 2.2 m, 8000 L/h = 0 m],
               line: [check valve 42.6 mm, pipe 50 PN10 40 cm]}
"""
TWO = """
title: Two tanks at different heights on one header
tanks:
  - name: show
    inside: 180 x 70 x 65 cm
    bottom: 85 cm above ground
    drains:
      - {name: corner, inlet: {standpipe: 57 mm, lip: 7 cm below tank rim}, line: [bulkhead 50 mm, pipe 63 PN10 100 cm],
         into: {chamber: inflow, end: 28 cm above sump bottom}}
    returns:
      - {from: bench, line: [hose 32 mm 120 cm, elbow 90], end: 8 cm below tank rim}
  - name: nursery
    inside: 80 x 40 x 35 cm
    bottom: 20 cm above show rim
    drains:
      - {inlet: {standpipe: 36 mm, lip: 5 cm below tank rim}, line: [bulkhead 34 mm, pipe 40 PN10 60 cm, elbow 90],
         into: {tank: show, end: 3 cm above tank rim}}
    returns:
      - {from: bench, line: [hose 19 mm 250 cm, gate valve 50 % open], end: 4 cm below tank rim}
sump:
  inside: 120 x 50 x 50 cm
  bottom: 4 cm above ground
  chambers:
    - {name: inflow, length: 45 cm, ends in: {plate: 30 cm above sump bottom}}
    - {name: pump, line: 22 cm above sump bottom}
pump:
  curve: [0 L/h = 4.8 m, 3000 L/h = 4.0 m, 6000 L/h = 2.4 m, 8000 L/h = 0 m]
  line: [check valve 28.4 mm]
  into: {header: bench, line: [pipe 50 PN10 150 cm]}
"""
WEIR = """
title: Reef tank with an overflow box and three standpipes
tank: {inside: 200 x 80 x 65 cm, bottom: 80 cm above ground}
overflow boxes:
  - {name: weir, inside: 60 x 20 x 60 cm, bottom: 5 cm above tank bottom, over: {edge: 58 cm, at: 45 mm below tank rim}}
sump:
  inside: 140 x 55 x 50 cm
  bottom: at ground
  chambers:
    - {name: inflow, length: 40 cm, ends in: {plate: 31 cm above sump bottom}}
    - {name: pump, line: 22 cm above sump bottom}
drains:
  - name: siphon
    in: weir
    inlet: {standpipe: 43 mm, lip: 25 cm below box rim}
    line: [bulkhead 38 mm, pipe 50 PN10 110 cm, gate valve 60 % open]
    into: {chamber: inflow, end: 25 cm above sump bottom}
  - {name: open channel, same as: siphon, inlet: {lip: 18 cm below box rim}, line: [bulkhead 38 mm, pipe 50 PN10 110 cm]}
  - {name: emergency, same as: open channel, inlet: {lip: 4 cm above lip of open channel}}
pump:
  curve: [0 L/h = 4.0 m, 3000 L/h = 3.2 m, 6000 L/h = 1.6 m, 7500 L/h = 0 m]
  line: [hose 38 mm 150 cm]
returns:
  - {line: [pipe 32 PN10 60 cm], end: 4 cm below tank rim, siphon break: {hole: 8 mm, at: 2 cm below tank rim}}
  - {same as: return 1, end: 5 cm below tank rim}
"""
PUMPS = """
tank: {inside: 100 x 50 x 50 cm, bottom: 1 m above ground}
sump: {inside: 100 x 50 x 50 cm, bottom: at ground, line: 25 cm above sump bottom}
drains: [{inlet: {standpipe: 57 mm, lip: 5 cm below tank rim}, line: [pipe 63 PN10 1 m], into: {end: 30 cm above sump bottom}}]
"""
CURVE = "curve: [0 L/h = 4 m, 6000 L/h = 0 m]"


def changed(text: str, *pairs: tuple[str, str]) -> Build:
    """Return the build of a text with some of its pieces replaced."""
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new, 1)
    return loads(text, "my.yaml")


def roughs(thing: object) -> Iterator[Uncertain]:
    """Yield every rough number in a build."""
    if isinstance(thing, Uncertain):
        yield thing
    elif isinstance(thing, tuple):
        for member in thing:
            yield from roughs(member)
    elif isinstance(thing, Item):
        yield from roughs(tuple(thing.values.values()))
    elif hasattr(thing, "__dataclass_fields__"):
        for name in thing.__dataclass_fields__:
            yield from roughs(getattr(thing, name))


def told(text: str) -> str:
    """Return what 'check' says about a text, in one line."""
    return " ".join(" ".join(understood(loads(text, "my.yaml"), "metric")).split())


def lip(build: Build, drain: str) -> str:
    """Return the place that a drain's lip is counted from."""
    found = next(one for one in build.drains if one.name == drain).inlet.values["lip"]
    assert isinstance(found, Height)
    return found.place


@pytest.mark.parametrize("text", [ROOM, TWO, WEIR], ids=["room", "two", "weir"])
def test_texts_run(text: str) -> None:
    """A fish room, two heights on one header and an overflow box are read, plumbed and solved without a leak."""
    build = loads(text, "my.yaml")
    assert make_network(build).sumps
    loop = place(build)
    network = loop.network()
    state = solve_network(network, closing_of(loop, network))
    assert state.solved
    assert state.imbalance() < 1e-9
    assert sum(state.flows[k] for k in network.pumps) > 3000 / 3.6e6


def test_twelve_tanks() -> None:
    """'12 x' makes tanks, drains and returns by number, each at home in its own tank, and a group of each."""
    build = loads(ROOM, "my.yaml")
    assert [tank.name for tank in build.tanks] == [f"rack tank {k}" for k in range(1, 13)]
    assert [(drain.name, drain.tank) for drain in build.drains][2] == ("rack tank 3 overflow", "rack tank 3")
    assert lip(build, "rack tank 3 overflow") == "rack tank 3 rim"
    assert [(way.name, way.tank, way.source) for way in build.returns][11] == ("rack tank 12 return", "rack tank 12", "row 12")
    assert {(group.name, len(group.members)) for group in build.groups} == {
        ("rack tank", 12), ("rack tank overflow", 12), ("rack tank return", 12), ("row", 12), ("main", 2)}
    labels = [item.label for drain in build.drains for item in (drain.inlet, *drain.line)]
    assert labels[4] == "drain rack tank 2 overflow: standpipe"
    assert len(set(labels)) == len(labels)


def test_twins_share_their_numbers() -> None:
    """The number of uncertain inputs does not grow with the count; an exception adds its own number and no other."""
    names = {uncertain.name for uncertain in roughs(loads(ROOM, "my.yaml"))}
    more = {uncertain.name for uncertain in roughs(changed(ROOM, ("12 x rack", "60 x rack")))}
    assert names == more
    assert {name for name in names if "rack tank 7" in name or "rack tank 11" in name} == {
        "rack tank 7: bottom", "drain rack tank 11 overflow: lip"}
    build = loads(ROOM, "my.yaml")
    moved = [place_level(f"rack tank {k} bottom", build, {"rack tank: bottom": 1.0}) for k in (1, 7, 12)]
    assert moved == [1.0, 1.5, 1.0]


def test_exceptions_are_merged() -> None:
    """Exceptions state a key, a drain by its name, or another list; their numbers may be a range or several."""
    build = changed(ROOM, ("        7: {bottom: 150 cm above ground}",
                           "        7 .. 8: {bottom: 150 cm above ground, inside: 60 x 45 x 50 cm}\n"
                           "        '9, 12': {returns: [{name: jet, line: [pipe 25 PN16 40 cm], end: 3 cm below tank rim}]}"))
    heights = [tank.bottom.offset.middle for tank in build.tanks]
    assert heights[6:9] == [1.5, 1.5, pytest.approx(1.1)]
    assert [way.name for way in build.returns][6:9] == ["rack tank 7 return", "rack tank 8 return", "rack tank 9 jet"]
    assert build.tanks[7].shape.values["length"].name == "rack tank: length"
    assert build.tanks[7].shape.values["height"].name == "rack tank 8: height"
    assert [drain.inlet.values["lip"].offset.middle for drain in build.drains][9:12] == [-0.05, -0.07, -0.05]


def test_row_of_headers() -> None:
    """A header along a row is one place a tank with one pipe between; it begins at its feed, and a ring has one pipe more."""
    build = loads(ROOM, "my.yaml")
    ends = {run.name: (run.start, run.finish) for run in build.runs}
    assert ends["line to row"] == ("main", "row 1")
    assert (ends["row 3 to 4"], ends["row 12 to 1"], len(ends)) == (("row 3", "row 4"), ("row 12", "row 1"), 13)
    assert build.runs[1].line[0].label == "header row 1 to 2: pipe"
    plain = changed(ROOM, ("        ring: [pipe 50 PN10 7 m, 4 x elbow 90]\n", ""),
                    ("        line: [pipe 50 PN10 3 m, 2 x elbow 90]\n", ""), ("2 x main", "main"))
    assert [run.name for run in plain.runs] == [f"row {k} to {k + 1}" for k in range(1, 12)]
    assert (plain.pumps[0].header, plain.returns[0].source) == ("row 1", "row 1")


@pytest.mark.parametrize("count", [200, 2000])
def test_large_rooms_are_read(count: int) -> None:
    """200 tanks and 2000 are read whole; `tests/bench/reading.py` tells how the time grows with their number."""
    build = changed(ROOM, ("12 x", f"{count} x"))
    assert (len(build.tanks), len(build.drains), len(build.runs)) == (count, count, count + 1)


def test_places_in_scope() -> None:
    """'tank', 'box' and 'sump' mean what stands nearest: own tank, own box, the sump of the chamber, the tank drained into."""
    two, weir = loads(TWO, "my.yaml"), loads(WEIR, "my.yaml")
    assert [drain.end.place for drain in two.drains] == ["sump bottom", "show rim"]
    assert [way.end.place for way in two.returns] == ["show rim", "nursery rim"]
    assert two.tanks[1].bottom.place == "show rim"
    assert [lip(weir, name) for name in ("siphon", "emergency")] == ["weir rim", "lip of open channel"]
    box = weir.boxes[0]
    assert (box.tank, box.vessel.bottom.place, box.edge.values["at"].place) == ("tank", "tank bottom", "tank rim")


def test_lip_of_the_twins_own_drain() -> None:
    """In a repeated tank 'lip of NAME' is that twin's own drain and 'box' its own box; outside both go by full names."""
    spare = ("        - {name: spare, in: box, inlet: {standpipe: 36 mm, lip: 1 cm above lip of overflow},\n"
             "           line: [pipe 40 PN10 90 cm], into: {chamber: filter wool, end: 34 cm above sump bottom}}\n"
             "      returns:\n")
    box = "      box: {inside: 10 x 10 x 38 cm, bottom: 1 cm above tank bottom, over: {edge: 10 cm, at: 2 cm below tank rim}}\n"
    more = ("drains:\n  - {name: last, same as: other}\n  - {name: other, in: rack tank 5 box, line: [pipe 40 PN10 90 cm],\n"
            "     inlet: {standpipe: 36 mm, lip: 2 cm above lip of rack tank 4 spare},\n"
            "     into: {end: 3 cm below box rim, chamber: pumps}}\nsump:\n")
    build = changed(ROOM, ("      returns:\n", spare), ("      bottom: about", f"{box}      bottom: about"), ("sump:\n", more))
    assert lip(build, "rack tank 7 spare") == "lip of rack tank 7 overflow"
    assert lip(build, "last") == "lip of rack tank 4 spare"
    assert [drain.end.place for drain in build.drains if drain.name == "last"] == ["rack tank 5 box rim"]
    assert [(one.name, one.tank) for one in build.boxes][6] == ("rack tank 7 box", "rack tank 7")
    assert [drain.tank for drain in build.drains if drain.name == "rack tank 2 spare"] == ["rack tank 2 box"]
    assert build.boxes[2].edge.label == "rack tank 3 box: edge"


def test_pumps_side_by_side() -> None:
    """'2 x main' is two pumps into one header with shared numbers; a line they share is a pipe from their foot to it."""
    pumps = f"pumps: [{{2 x main: {{{CURVE}, line: [pipe 50 PN10 1 m], except: {{2: {{off: yes}}}}}}}}]\n"
    back = "returns: [{line: [pipe 40 PN10 1 m], end: 5 cm below tank rim}]\n"
    build = loads(PUMPS + pumps + back, "my.yaml")
    assert [(pump.name, pump.header, pump.off) for pump in build.pumps] == [("main 1", "main", False), ("main 2", "main", True)]
    assert build.pumps[0].line[0].values["length"] == build.pumps[1].line[0].values["length"]
    assert [item.label for pump in build.pumps for item in pump.line] == ["pump main 1: pipe", "pump main 2: pipe"]
    assert build.returns[0].source == "main"
    both = pumps.replace("off: yes", "off: no").replace("main: {", "main: {into: {header: up, line: [pipe 63 PN10 2 m]}, ")
    shared = loads(PUMPS + both + back.replace("{line", "{from: main 2, line"), "my.yaml")
    assert {pump.header for pump in shared.pumps} == {"foot of up"}
    assert [(run.name, run.start, run.finish) for run in shared.runs] == [("line to up", "foot of up", "up")]
    assert shared.returns[0].source == "up"
    assert make_network(shared).pumps


def test_pump_behind_a_pump() -> None:
    """A pump may stand behind another one's header: in a row their heads add."""
    build = loads(PUMPS + f"pumps: [{{name: lift, {CURVE}}}, {{name: booster, behind: lift, {CURVE}}}]\n"
                  "returns: [{from: booster, line: [pipe 40 PN10 1 m], end: 5 cm below tank rim}]\n", "my.yaml")
    assert [(pump.chamber, pump.header) for pump in build.pumps] == [("sump", "lift header"), ("lift header", "")]
    loop = place(build)
    network = loop.network()
    state = solve_network(network, closing_of(loop, network))
    first, second = (state.flows[k] for k in (*network.pumps, *network.returns)[:2])
    assert first == pytest.approx(second)
    assert first > 1000 / 3.6e6


def test_pipes_between_waters() -> None:
    """A pipe between two tanks has a mouth at a height in each, counted from the tank in which it stands."""
    pipe = ("pipes between:\n  - {name: equaliser, from: {tank: show, at: 10 cm above tank bottom}, to: {tank: nursery, "
            "at: 5 cm above tank bottom}, line: [pipe 50 PN10 1 m], highest point: 3 cm above show rim}\n")
    run = loads(TWO + pipe, "my.yaml").runs[-1]
    assert isinstance(run, Run)
    assert (run.start, run.finish) == ("show", "nursery")
    assert run.start_at is not None
    assert run.finish_at is not None
    assert run.highest is not None
    assert (run.start_at.place, run.finish_at.place, run.highest.place) == ("show bottom", "nursery bottom", "show rim")


def test_two_sumps() -> None:
    """Sumps by name have chambers of their own: a drain and a pump say which, and 'sump bottom' is that of the chamber."""
    build = loads("""
tanks: [{name: show, inside: 100 x 50 x 50 cm, bottom: 1 m above ground}]
sumps:
  wet: {inside: 80 x 40 x 40 cm, bottom: at ground, line: 20 cm above sump bottom}
  dry: {inside: 60 x 40 x 40 cm, bottom: 45 cm above wet bottom, chambers: [
        {name: wool, share: 50 %, ends in: {plate: 20 cm above sump bottom}}, {name: end}]}
drains: [{inlet: {standpipe: 57 mm, lip: 5 cm below tank rim}, line: [pipe 63 PN10 50 cm],
          into: {chamber: wool, end: at sump rim}}]
pipes between: [{name: over, from: {chamber: end, at: 5 cm above sump bottom}, to: {chamber: wet, at: at sump rim},
                 line: [pipe 63 PN10 30 cm]}]
pumps: [{name: lift, chamber: wet, curve: [0 L/h = 4 m, 6000 L/h = 0 m]}]
returns: [{line: [pipe 40 PN10 1 m], end: 5 cm below tank rim}]
""", "my.yaml")
    assert [chamber.name for chamber in build.chambers] == ["wet", "wool", "end"]
    assert (build.drains[0].end.place, lip(build, "drain 1")) == ("dry rim", "show rim")
    assert build.pumps[0].intake.place == "wet bottom"
    assert [height.place for height in (build.runs[0].start_at, build.runs[0].finish_at) if height] == ["dry bottom", "wet rim"]
    assert [height.place for end in (build.chambers[1].end,) if end for height in [end.values["top"]]] == ["dry bottom"]


def test_water_at_rest_in_a_chamber() -> None:
    """With several pumps 'still' and 'total' may name the chamber with a pump that closes the balance."""
    water = "water: {still: 30 cm above sump bottom, chamber: pumps}\nsump:"
    build = changed(ROOM, (", line: 25 cm above sump bottom", ""), ("sump:", water))
    assert (build.water.kind, build.water.chamber) == ("still", "pumps")
    assert build.water.level is not None
    assert build.water.level.place == "sump bottom"


def test_drains_alike_in_one_tank() -> None:
    """'3 x' before a drain makes three that share their numbers, with a group of their own."""
    build = changed(TWO, ("{name: corner,", "{name: 3 x corner,"))
    assert [drain.name for drain in build.drains][:3] == ["show corner 1", "show corner 2", "show corner 3"]
    assert [(group.name, len(group.members)) for group in build.groups] == [("show corner", 3)]
    assert len({drain.inlet.values["lip"].offset.name for drain in build.drains}) == 2


def test_forms_of_a_list() -> None:
    """A list of mappings, of names with mappings, and a mapping by name are read alike, names apart from their labels."""
    by_name = changed(TWO, ("  - name: show\n    inside", "  show:\n    inside"),
                      ("  - name: nursery\n    inside", "  nursery:\n    inside"))
    in_front = changed(TWO, ("  - name: show\n    inside", "  - show:\n      inside"), ("    bottom: 85", "      bottom: 85"),
                       ("    drains:\n      - {name: c", "      drains:\n      - {name: c"),
                       ("    returns:\n      - {from: bench, line: [ho", "      returns:\n      - {from: bench, line: [ho"))
    slipped = changed(ROOM, ("  - 12 x rack tank:\n      inside", "  - 12 x rack tank:\n    inside"), *[
        (f"      {key}:", f"    {key}:") for key in ("bottom", "drains", "returns", "header", "except")])
    assert by_name == in_front == loads(TWO, "my.yaml")
    assert slipped == loads(ROOM, "my.yaml")


def test_short_forms_need_no_names() -> None:
    """A file with one of each is read as before, and the only tank of a list is meant by 'tank' too."""
    single = WEIR.replace("overflow boxes", "notes").replace("    in: weir\n", "").replace("box rim", "tank rim")
    build = loads(single, "my.yaml")
    assert (build.one, build.tank.name, build.water.chamber, build.groups, build.pump.header) == (True, "tank", "", (), "")
    named = loads(single.replace("tank: {inside: 200", "tanks:\n  - {name: reef, inside: 200"), "my.yaml")
    assert (lip(named, "siphon"), named.returns[0].tank, named.drains[0].tank) == ("reef rim", "reef", "reef")


def test_short_and_plural_forms_beside_each_other() -> None:
    """A tank and a pump in the short form may have others in a list beside them; a bottom counts from another 'tank'."""
    build = loads("""
tank: {inside: 100 x 50 x 50 cm, bottom: 1 m above ground}
tanks: {side: {inside: 60 x 40 x 40 cm, bottom: 10 cm above tank bottom}}
sump: {inside: 100 x 50 x 50 cm, bottom: at ground, line: 25 cm above sump bottom}
drains:
  - {name: a, in: tank, inlet: {standpipe: 57 mm, lip: 5 cm below tank rim}, line: [pipe 63 PN10 1 m],
     into: {end: 30 cm above sump bottom}}
  - {name: b, in: side, same as: a}
pump: {curve: [0 L/h = 4 m, 6000 L/h = 0 m]}
pumps: {extra: {curve: [0 L/h = 4 m, 6000 L/h = 0 m]}}
returns:
  - {from: pump, tank: tank, line: [pipe 40 PN10 1 m], end: 5 cm below tank rim}
  - {from: extra, tank: side, line: [pipe 40 PN10 1 m], end: 5 cm below tank rim}
""", "my.yaml")
    assert [tank.bottom.place for tank in build.tanks] == ["ground", "tank bottom"]
    assert [lip(build, name) for name in "ab"] == ["tank rim", "side rim"]
    assert [(way.source, way.end.place) for way in build.returns] == [("pump", "tank rim"), ("extra", "side rim")]
    assert len(make_network(build).pumps) == 2


def test_check_folds() -> None:
    """What was described once is told once, with the number of twins and what differs at which."""
    text = told(ROOM)
    assert "12 x rack tank: 600 x 450 x 400 mm inside, bottom 1100 mm above ground; but 7: bottom 1500 mm above ground" in text
    assert "12 x rack tank overflow: in rack tank, standpipe 36 mm" in text
    assert "but 11: lip: 7 cm below tank rim" in text
    assert "2 x main: in pumps" in text
    assert "12 x row: pipe 50 PN10 65 cm; but 12 to 1: pipe 50 PN10 7 m, 4 x elbow 90" in text
    assert "chamber pumps stands 250 mm above sump bottom, pump running" in text
    weir = told(WEIR)
    assert "weir: at tank, 600 x 200 x 600 mm inside, bottom 50 mm above tank bottom, filled over edge 58 cm" in weir
    assert "siphon: in weir, standpipe 43 mm" in weir
    two = told(TWO)
    assert "show: 1800 x 700 x 650 mm inside" in two
    assert "line to bench: from foot of bench to bench; pipe 50 PN10 150 cm" in two


def test_grammar_by_examples_runs() -> None:
    """The example in the description of the grammar gives what it says."""
    import doctest

    assert doctest.testmod(many).failed == 0
