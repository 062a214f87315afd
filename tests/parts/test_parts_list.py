"""Held here: what is bought and cut for a build is what its lines are made of, and what is added says so."""

from __future__ import annotations

from collections import Counter
from functools import cache

import pytest
from report_cases import CASES

from hydro import load, loads
from hydro.catalog import adaptor, find_pipe, load_prices
from hydro.elements.pipe import Pipe
from hydro.elements.registry import KINDS
from hydro.network.model import JUNCTION
from hydro.parts.joints import ADAPTOR, IN_HAND, REDUCER, sized
from hydro.parts.parts_list import LENGTHS, UNION, parts_list, priced
from hydro.parts.records import DRAIN, HEADER, PUMP, RETURN, Where
from hydro.report.content.named import EXAMPLE
from hydro.scenarios.placed_build import place

each_case = pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
TEES = {"tee run", "tee branch"}


@cache
def build_of(path):
    """Return the build of a case file."""
    return load(path)


@cache
def network_of(path):
    """Return the network of a case file, every band in its middle."""
    return place(build_of(path)).network()


def items_of(build):
    """Return every part of every line as described."""
    return [item for line in build.lines for item in line if KINDS[item.kind].family == "part"]


@each_case
def test_cuts_of_each_bore_add_up_to_the_pipe_that_the_losses_count(path):
    """For every bore the cuts together are as long as the runs of the network's lines, bulkheads aside."""
    build, counted, cut = build_of(path), Counter(), Counter()
    bulkheads = {item.label for item in items_of(build) if KINDS[item.kind].word == "bulkhead"}
    for link in network_of(path).links:
        for part in getattr(getattr(link.element, "line", None), "parts", ()):
            if isinstance(part, Pipe) and part.label not in bulkheads:
                counted[round(float(part.bore), 9)] += float(part.length)
    for row in parts_list(build).pipes:
        if row.what in ("pipe", "hose", "ribbed hose"):
            cut[round(row.bore, 9)] += row.length.middle
    assert set(cut) == set(counted)
    assert all(cut[bore] == pytest.approx(counted[bore], abs=1e-9) for bore in cut)


@each_case
def test_pieces_are_as_many_as_the_parts_of_the_lines(path):
    """Of every kind but tees there are as many pieces that are not added as the lines have parts and the inlets have fittings."""
    build = build_of(path)
    described = Counter(KINDS[item.kind].word for item in items_of(build)
                        if KINDS[item.kind].word not in {*LENGTHS, *TEES, "K"})
    described.update("elbow 90" for drain in build.drains if drain.inlet.kind in ("elbow up", "elbow down"))
    found = Counter()
    for piece in parts_list(build).pieces:
        if not piece.added and piece.what not in ("tee", "strainer"):
            found[piece.what] += piece.count
    assert found == described


@each_case
def test_tees_are_as_many_as_the_network_has_ways_to_part(path):
    """A junction of the network where three pipes meet takes one tee, and one more for every pipe beyond."""
    network, meets = network_of(path), Counter()
    for link in network.links:
        meets.update(node for node in (link.up, link.down) if network.waters[node].kind == JUNCTION)
    breaks = {k for k, water in enumerate(network.waters) if water.name.endswith("at its siphon break")}
    expected = sum(max(count - 2, 0) for node, count in meets.items() if node not in breaks)
    assert parts_list(build_of(path)).count("tee") == expected


@each_case
def test_nothing_is_in_two_places_or_in_none(path):
    """Every cut and piece names a line of the build, or a header in which pipes meet."""
    build, parts = build_of(path), parts_list(build_of(path))
    known = {*(Where(DRAIN, one.name) for one in build.drains), *(Where(PUMP, one.name) for one in build.pumps),
             *(Where(RETURN, one.name) for one in build.returns), *(Where("pipe between", one.name) for one in build.runs)}
    named = [cut.where for row in parts.pipes for cut in row.cuts] + [where for piece in parts.pieces for where in piece.wheres]
    assert {where for where in named if where.what != HEADER} <= known
    assert all(piece.count > 0 for piece in parts.pieces)


def test_what_to_buy_is_the_long_end_with_waste_and_saw_cuts():
    """With no waste and no kerf one buys the long end of the cuts; each of both adds what the formula says."""
    build = build_of(next(path for path in CASES if path.stem == "demo"))
    bare = {row.called: row for row in parts_list(build, 0.0, 0.0).pipes}
    more = {row.called: row for row in parts_list(build, 0.2, 0.004).pipes}
    for name, row in bare.items():
        assert row.to_buy == pytest.approx(row.length.high, abs=1e-12)
        assert more[name].to_buy == pytest.approx(row.length.high * 1.2 + 0.004 * len(row.cuts), abs=1e-12)


@pytest.mark.parametrize("wrong", [(-0.1, 0.0), (0.0, -0.001)])
def test_waste_and_kerf_below_nothing_are_refused(wrong):
    """Waste or a kerf below nothing is a mistake of the caller."""
    with pytest.raises(ValueError, match="0 or more"):
        parts_list(loads(EXAMPLE), *wrong)


def case(name):
    """Return the parts of a case by its name."""
    return parts_list(build_of(next(path for path in CASES if path.stem == name)))


def test_a_length_known_roughly_keeps_its_band():
    """The museum's hose of about 150 cm is on the list with its band, and the band of a size is that of its cuts added up."""
    hose = next(row for row in case("demo").pipes if row.what == "hose")
    assert hose.cuts[0].length.low < 1.5 < hose.cuts[0].length.high
    for row in case("demo").pipes:
        assert row.length.low == pytest.approx(sum(cut.length.low for cut in row.cuts))
        assert row.length.high == pytest.approx(sum(cut.length.high for cut in row.cuts))


def test_inch_and_metric_pipe_ask_for_an_adaptor():
    """Where a line goes over from metric to inch pipe the list has the words of the catalogue, once for each such joint."""
    assert EXAMPLE.count("pipe 63 PN10 1 m") == 1
    parts = parts_list(loads(EXAMPLE.replace("pipe 63 PN10 1 m", "pipe 63 PN10 50 cm, elbow 90, pipe 2 in sch 40 50 cm")))
    (row,) = [row for row in parts.joints if row.joint.kind == ADAPTOR and "2 in sch 40" in row.joint.between]
    assert row.joint.words == adaptor(find_pipe("63 PN10"), find_pipe("2 in sch 40"))
    assert {where.what for where in row.wheres} == {DRAIN}
    elbow = next(piece for piece in parts.pieces if piece.what == "elbow 90" and piece.words == "63 PN10")
    assert elbow.count == 1


def test_a_step_within_one_standard_is_a_reducer():
    """The boat shed's returns of 1 in leave a riser of 1-1/4 in: two reducers, no adaptor."""
    found = {(row.joint.kind, len(row.wheres)) for row in case("us-inch").joints}
    assert found == {(REDUCER, 2)}


def test_bores_without_a_standard_are_matched_in_hand():
    """Where only bores are known and they differ, no fitting is named."""
    rows = case("worked-loop").joints
    assert {row.joint.kind for row in rows} == {IN_HAND}
    assert len(case("worked-loop").unknown) == 5


def test_walls_of_one_outside_need_no_reducer():
    """Pipes of PN10 and PN16 of one outside diameter go into the same fitting."""
    parts = parts_list(loads(EXAMPLE.replace("pipe 63 PN10 1 m", "pipe 63 PN10 50 cm, pipe 63 PN16 50 cm")))
    assert not [row for row in parts.joints if "63 PN16" in row.joint.between]


def test_unions_stand_beside_pump_and_check_valve_once():
    """A check valve right behind the pump shares a union with it: three for both, and all of them say that they are added."""
    pieces = [piece for piece in case("check-valve-saves").pieces if piece.what == UNION]
    assert sum(piece.count for piece in pieces) == 3
    assert all(piece.added for piece in pieces)


def test_a_union_that_is_there_is_not_added_again():
    """With a union described behind the pump only the one on its suction side is added."""
    text = next(path for path in CASES if path.stem == "check-valve-saves").read_text(encoding="utf-8")
    assert "line: [{check valve" in text or "line: [check valve" in text
    parts = parts_list(loads(text.replace("line: [check valve", "line: [union 28.4 mm, check valve")
                             .replace("line: [{check valve", "line: [union 28.4 mm, {check valve")))
    added = [piece for piece in parts.pieces if piece.what == UNION and piece.added]
    assert sum(piece.count for piece in added) == 2
    assert parts.count(UNION) == 3


def test_fittings_go_with_the_pipe_beside_them():
    """A check valve given by its bore belongs to the pipe whose band holds that bore, an elbow behind a hose to the hose."""
    build = build_of(next(path for path in CASES if path.stem == "check-valve-saves"))
    assert [part.words for part in sized(build.pump.line)] == ["32 PN10"] * 3
    other = build_of(next(path for path in CASES if path.stem == "filter-above-the-sump"))
    assert [part.words for part in sized(other.returns[0].line)] == ["25 mm hose"] * 2


def test_holes_are_drilled_and_not_bought():
    """Siphon breaks and the jets of a spray bar stand among the holes; no piece of the list is one."""
    (breaks,) = case("demo").holes
    assert (breaks.bore, len(breaks.wheres)) == (pytest.approx(0.010), 2)
    (jets,) = case("spray-bar").holes
    assert (jets.each, jets.bore) == (40, pytest.approx(0.004))
    assert not [piece for piece in case("demo").pieces if "break" in piece.what]


def test_prices_are_taken_by_the_metre_and_by_the_piece(tmp_path):
    """Pipe costs its metres to buy, elbows their number; what the list does not know has no price."""
    path = tmp_path / "prices.csv"
    path.write_text("item,price EUR,per\n50 PN10,3.10,m\nelbow 45 50 PN10,2.40,piece\n", encoding="utf-8")
    parts = case("demo")
    rows = {row.words: row.amount for row in priced(parts, load_prices(path))}
    pipe = next(row for row in parts.pipes if row.words == "50 PN10")
    assert rows["pipe 50 PN10"] == pytest.approx(3.10 * pipe.to_buy)
    assert rows["elbow 45 50 PN10"] == pytest.approx(2 * 2.40)
    assert rows["pipe 32 PN10"] is None
