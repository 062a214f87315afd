"""What may be written in a case file, and what it is read as: SI values, bands, names, items."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from hydro.case import load, loads
from hydro.description.build import Build, Height, Item
from hydro.elements.registry import KINDS, Default, Field, Kind, register
from hydro.errors import InputError
from hydro.quantities.uncertain import Uncertain

SOUND = (Path(__file__).parents[1] / "bad_input" / "sound.yaml").read_text(encoding="utf-8")
CASES = sorted(path for path in (Path(__file__).parents[2] / "cases").glob("*.yaml"))
PIPE, LIP, BOX = "pipe 40 PN10 120 cm", "lip: 10 cm below tank rim", "inside: 100 x 50 x 45 cm"
TITLE, END = "title: Test loop", "end: 12 cm below tank rim"
INCH = 0.0254


def read(*pairs: tuple[str, str]) -> Build:
    """Return the build of the sound text with some of its pieces replaced."""
    text = SOUND
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new, 1)
    return loads(text, "my.yaml")


def part(text: str) -> Item:
    """Return one part of a line that is written as `text`."""
    return read((PIPE, f"{PIPE}, {text}")).drains[0].line[2]


def numbers(item: Item) -> dict[str, float]:
    """Return the middles of an item's numbers."""
    return {name: value.middle for name, value in item.values.items() if isinstance(value, Uncertain)}


def roughs(thing: object) -> Iterator[Uncertain]:
    """Yield every rough number in a build."""
    if isinstance(thing, Uncertain):
        yield thing
    elif isinstance(thing, tuple):
        for member in thing:
            yield from roughs(member)
    elif isinstance(thing, dict):
        yield from roughs(tuple(thing.values()))
    elif hasattr(thing, "__dataclass_fields__"):
        for name in thing.__dataclass_fields__:
            yield from roughs(getattr(thing, name))


@pytest.mark.parametrize(("text", "kind", "values"), [
    ("ribbed hose 38 mm about 160 cm", "ribbed hose", {"size": 0.038, "length": 1.6}),
    ("corrugated hose 38 mm 160 cm", "ribbed hose", {"size": 0.038, "length": 1.6}),
    ("pipe 28.4 mm 1.7 m", "pipe", {"size": 0.0284, "length": 1.7}),
    ("Pipe 28.4mm 1.7m", "pipe", {"size": 0.0284, "length": 1.7}),
    ("hose 1-1/2 in 3 ft 2 in", "hose", {"size": 1.5 * INCH, "length": 38 * INCH}),
    ("hose 1 1/2 in 150..170 cm", "hose", {"size": 1.5 * INCH, "length": 1.6}),
    ("hose 38 mm 160 cm +- 5 cm", "hose", {"size": 0.038, "length": 1.6}),
    ("elbow 90", "elbow 90", {}),
    ("elbow", "elbow 90", {}),
    ("elbow 45 28 mm", "elbow 45", {"size": 0.028}),
    ("K 2.9", "K", {"K": 2.9}),
    ("K 2.9 28.4 mm", "K", {"K": 2.9, "size": 0.0284}),
    ("gate valve 40 % open", "gate valve", {"open": 0.4}),
    ("gate valve open 40 %", "gate valve", {"open": 0.4}),
    ("gate valve 28 mm 40 % open", "gate valve", {"open": 0.4, "size": 0.028}),
    ("ball valve 28 mm", "ball valve", {"size": 0.028}),
    ("check valve 28 mm", "check valve", {"size": 0.028}),
    ("{check valve: , K: 3, crack: 20 mm}", "check valve", {"K": 3.0, "crack": 0.02}),
    ("{pipe: 28 mm 2 m, pipe roughness: 0.1 mm}", "pipe", {"size": 0.028, "length": 2.0, "pipe roughness": 1e-4}),
    ("{pipe: {size: 28 mm, length: 2 m}}", "pipe", {"size": 0.028, "length": 2.0}),
    ("{bulkhead: 38 mm, length: 9 cm}", "bulkhead", {"size": 0.038, "length": 0.09}),
])
def test_parts(text: str, kind: str, values: dict[str, float]) -> None:
    """A part is its word and its values in order, or a mapping; 25.4 mm to the inch, 12 inches to the foot."""
    item = part(text)
    assert item.kind == kind
    assert numbers(item) == pytest.approx(values)


def test_pipe_sizes_are_bores_with_a_band() -> None:
    """A size of the catalogue is a bore no wider than outside diameter less two walls (DIN 8062 and ASTM D1785, mm)."""
    for text, widest in (("pipe 40 PN10 20 cm", 40 - 2 * 1.9), ("pipe 1-1/2 in sch 40 3 ft", 48.26 - 2 * 3.683)):
        size = part(text).values["size"]
        assert isinstance(size, Uncertain)
        assert size.high == pytest.approx(widest / 1000)
        assert size.low < size.high
    assert numbers(part("pipe 1-1/2 in sch 40 3 ft"))["length"] == pytest.approx(36 * INCH)


def test_twice_is_two_parts() -> None:
    """'2 x elbow 90' is two parts with labels of their own."""
    line = read((PIPE, f"{PIPE}, 2 x elbow 90")).drains[0].line
    assert [item.label for item in line[2:]] == [f"drain left: elbow 90{mark}" for mark in ("", " (2)", " (3)")]


def test_unknown_part_is_like_a_known_one() -> None:
    """A part that nobody knows may be 'like' one that is registered, and its text keeps saying so."""
    for text in ("like elbow 28 mm", "{like: elbow, size: 28 mm}"):
        item = part(text)
        assert (item.kind, numbers(item), item.text.startswith("like elbow")) == ("elbow 90", {"size": 0.028}, True)


def test_rough_numbers_keep_their_bands() -> None:
    """'about' is 10 % to both sides, '+-' and '..' are what they say, and a height below a place turns its band round."""
    assert part("hose 38 mm about 160 cm").values["length"] == Uncertain(
        pytest.approx(1.44), 1.6, pytest.approx(1.76), "drain left: hose: length")
    lip = read((LIP, "lip: 10..12 cm below tank rim")).drains[0].inlet.values["lip"]
    assert lip == Height(Uncertain(-0.12, pytest.approx(-0.11), -0.10, "drain left: lip"), "tank rim")


def test_tape_widens_exact_heights_only() -> None:
    """'my tape' widens a height that is stated exactly, and neither a rough one, nor 'at' a place, nor a length."""
    build = read((TITLE, "my tape: 5 mm"), ("end: 25 cm", "end: about 25 cm"), ("bottom: 2 cm above ground", "bottom: at ground"))
    drain = build.drains[0]
    lip = drain.inlet.values["lip"]
    assert isinstance(lip, Height)
    assert (lip.offset.low, lip.offset.high) == pytest.approx((-0.105, -0.095))
    assert (drain.end.offset.low, drain.end.offset.high) == pytest.approx((0.225, 0.275))
    assert build.sump.bottom == Height(Uncertain.exact(0.0, "sump: bottom"), "ground")
    assert drain.line[1].values["length"] == Uncertain.exact(1.2, "drain left: pipe: length")
    assert build.tape == 0.005


def test_turns() -> None:
    """An elbow that turns has a lowest and a highest position; both may share their place."""
    far = "turns: 40 cm above tank bottom .. 55 cm above tank bottom"
    both = [read((far, form)).drains[0].inlet.values["turns"] for form in (far, "turns: 40 cm .. 55 cm above tank bottom")]
    assert both[0] == both[1]
    assert [end.offset.middle for end in both[0]] == [0.40, 0.55]


def test_twin_states_what_differs() -> None:
    """'same as' repeats everything but what is stated, down to one key of a mapping."""
    left, right = read().drains
    assert right.line[1].values["length"].middle == left.line[1].values["length"].middle
    assert right.inlet.values["rim"].middle == left.inlet.values["rim"].middle
    assert (right.name, right.inlet.values["lip"].offset.middle) == ("right", -0.09)
    assert right.inlet.label == "drain right: elbow up"


def test_twin_with_another_inlet() -> None:
    """A twin that names another element drops the one it replaces."""
    build = read((LIP + ", turns: 40 cm above tank bottom .. 55 cm above tank bottom", LIP),
                 ("{lip: 9 cm", "{standpipe: 50 mm, lip: 9 cm"))
    assert [drain.inlet.kind for drain in build.drains] == ["elbow up", "standpipe"]


def test_twins_of_chambers_and_returns() -> None:
    """Chambers and returns have twins too, and a twin may leave out the siphon break."""
    build = read((END, END + ", name: a, siphon break: {hole: 8 mm, at: 11 cm below tank rim}}\n"
                       "  - {name: b, same as: a, siphon break: none"),
                 ("name: mats, ends in: {mat: coarse, at: 70 cm, top: 28 cm above sump bottom}",
                  "name: mats, same as: splash, length: 20 cm"))
    assert [way.hole is not None for way in build.returns] == [True, False]
    assert [chamber.end.kind for chamber in build.chambers[:2]] == ["plate", "plate"]
    assert build.chambers[1].length.middle == 0.2


def test_vessels() -> None:
    """A box, a tub that narrows and a table of fills are read with names for each side."""
    box = read().sump.shape
    assert numbers(box) == {"length": 1.0, "width": 0.5, "height": 0.45}
    taper = read((BOX, "taper: {rim: 100 x 50 cm, bottom: 90 x 40 cm, height: 45 cm, corners: 3 cm}")).sump.shape
    assert numbers(taper) == {"rim_length": 1.0, "rim_width": 0.5, "bottom_length": 0.9, "bottom_width": 0.4, "height": 0.45,
                              "corners": 0.03}
    fills = read((BOX, "bucket fill: [100 L = 210 mm, 200 L = about 400 mm]\n  plan: 100 x 50 cm\n  height: 45 cm")).sump.shape
    table = fills.values["table"]
    assert [(volume.middle, height.middle) for volume, height in table] == [(0.1, 0.21), (0.2, 0.4)]
    assert table[1][1].low == pytest.approx(0.36)
    assert numbers(fills) == {"length": 1.0, "width": 0.5, "height": 0.45}


def test_box_by_eye_is_approximate() -> None:
    """A box 'about' is marked as approximate, one with a tape's band is not."""
    assert read((BOX, "inside: about 100 x 50 x 45 cm")).sump.approximate
    assert not read((BOX, "inside: 100 x 50 x 45 cm +- 1 cm")).sump.approximate


def test_sump_without_chambers() -> None:
    """A sump without chambers is one chamber, with its line and gear at the sump itself."""
    start, stop = SOUND.index("  chambers:"), SOUND.index("drains:")
    text = SOUND[:start] + "  line: 20 cm above sump bottom\n  gear: 3 L\n" + SOUND[stop:].replace("chamber: splash, ", "")
    build = loads(text, "my.yaml")
    chamber, = build.chambers
    assert (chamber.name, chamber.gear.middle, build.drains[0].into, build.pump.chamber) == ("sump", 0.003, "sump", "sump")
    assert build.water.level.offset.middle == 0.2


def test_chambers_end_where_the_barrier_says() -> None:
    """'at' beside what a chamber ends in is where the chamber ends, and gear may say how high it reaches."""
    build = read(("name: mats,", "name: mats, gear: {volume: 3 L, up to: 12 cm above sump bottom},"))
    splash, mats, pump = build.chambers
    assert (splash.length.middle, splash.at, mats.at.middle, mats.length, pump.at) == (0.4, None, 0.7, None, None)
    assert mats.end.values["grade"] == "coarse"
    assert "at" not in mats.end.values
    assert (mats.gear.middle, mats.gear_top.offset.middle) == (0.003, 0.12)


def test_water() -> None:
    """The amount of water is a running line, a level at rest, or a volume."""
    line = ", line: 20 cm above sump bottom"
    assert read().water.kind == "line"
    still = read((line, ""), ("pump:\n", "water: {still: 30 cm above sump bottom}\npump:\n")).water
    assert (still.kind, still.level.offset.middle) == ("still", 0.3)
    total = read((line, ""), ("pump:\n", "water: {total: about 900 L}\npump:\n")).water
    assert (total.kind, total.level, total.total.middle) == ("total", None, 0.9)


def test_returns() -> None:
    """A return has a direction, a siphon break with a hole or without, and a mark for it in its line."""
    way, = read((END, END + ", points: down, siphon break: {hole: 8 mm, at: 11 cm below tank rim}"),
                ("60 cm]", "60 cm, siphon break, nozzle 20 mm]")).returns
    assert (way.name, way.points, way.hole.values["hole"].middle) == ("return 1", "down", 0.008)
    assert [(item.kind, len(item.values)) for item in way.line] == [("pipe", 2), ("siphon break", 0), ("nozzle", 1)]
    plain, = read((END, END + ", siphon break: {at: 11 cm below tank rim}")).returns
    assert (set(plain.hole.values), plain.points) == ({"at"}, "sideways")


def test_settings() -> None:
    """Wishes, overridden defaults, temperature, salinity and notes are read in SI under their own names."""
    build = read((TITLE, "temperature: 24..26 °C\nsalinity: 35 ppt\nheater: 300 W\nlights: {left: 50 W, right: 60 W}\n"
                         "notes: [one, two]\nunits: imperial\nwishes: {turnover: 3 .. 10 per hour, room at the sump rim: 4 cm, "
                         "top-up reservoir: 20 L, other water: 30 L, count on: [siphon breaks, check valves]}\n"
                         "defaults: {rim weir coefficient: 0.5..0.6, kinematic viscosity: 0.95 mm2/s, prime head: 1.2}"))
    assert {name: uncertain.middle for name, uncertain in build.wishes.items()} == pytest.approx({
        "least turnover": 3 / 3600, "most turnover": 10 / 3600, "room at the sump rim": 0.04, "top-up reservoir": 0.02,
        "other water": 0.03})
    assert (build.overrides["rim weir coefficient"].low, build.overrides["rim weir coefficient"].high) == (0.5, 0.6)
    assert build.overrides["kinematic viscosity"] == Uncertain.exact(pytest.approx(0.95e-6), "kinematic viscosity")
    assert (build.overrides["prime head"].middle, build.temperature.middle, build.salinity.middle) == (1.2, 298.15, 35.0)
    assert build.notes == ("one", "two", "heater: 300 W", "lights: left 50 W, right 60 W")
    assert (build.units, build.counts_on) == ("imperial", ("siphon breaks", "check valves"))


def test_bands_stay_physical() -> None:
    """The band of a rough value is cut where physics ends: a valve is never more than fully open."""
    assert part("gate valve about 95 % open").values["open"] == Uncertain(
        pytest.approx(0.855), 0.95, 1.0, "drain left: gate valve: open")


@pytest.fixture
def funnel() -> Iterator[None]:
    """Register an inlet that nobody has heard of, for one test."""
    coefficient = Default("funnel coefficient", 0.5, 0.6, 0.7, "number", "invented for this test")
    register(Kind("funnel", "inlet", lambda reader: None,
                  (Field("lip", "height", required=True), Field("mouth", "length", required=True, low=0.01, high=0.5),
                   Field("shape", "word", choices=("round", "square"))), ("mouth",), (coefficient,), also=("tun dish",)))
    yield
    for word in ("funnel", "tun dish"):
        del KINDS[word]


@pytest.mark.usefixtures("funnel")
def test_new_inlet_needs_registering_only() -> None:
    """An inlet that is registered and no more is read with fields, ranges, defaults and other words."""
    old = "elbow up: 43 mm, lip: 10 cm below tank rim, turns: 40 cm above tank bottom .. 55 cm above tank bottom"
    inlet = read((old, f"tun dish: 12 cm, {LIP}, shape: square, funnel coefficient: 0.55")).drains[0].inlet
    assert inlet.kind == "funnel"
    assert inlet.values["mouth"] == Uncertain.exact(0.12, "drain left: mouth")
    assert (inlet.values["shape"], inlet.values["funnel coefficient"].middle) == ("square", 0.55)
    with pytest.raises(InputError, match=r"'12 m' is out of physical range; expected 'funnel MOUTH' with 10 mm to 500 mm"):
        read((old, f"funnel: 12 m, {LIP}"))
    assert read((TITLE, "defaults: {funnel coefficient: 0.65}")).overrides["funnel coefficient"].middle == 0.65


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_cases_are_sound(path: Path) -> None:
    """Every case of the project is read, says that it is invented and what verdict it gets, and no name stands for two values."""
    build = load(path)
    head = " ".join(line.lstrip("# ") for line in path.read_text(encoding="utf-8").splitlines()[:8] if line.startswith("#"))
    assert "nvented" in head
    assert "Verdict: " in head
    names = [uncertain.name for uncertain in roughs(build)]
    assert "" not in names
    assert build.groups or len(set(names)) == len(names)
    assert len(set(names)) == len(
        {(uncertain.name, uncertain.low, uncertain.middle, uncertain.high) for uncertain in roughs(build)}
    )
    assert all(uncertain.low <= uncertain.middle <= uncertain.high for uncertain in roughs(build))
