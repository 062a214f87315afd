"""The sizes of the catalogue: words, families, ladders, what fits what. Expected numbers are those of the standards."""

from __future__ import annotations

import dataclasses
import doctest
import importlib
from importlib.resources import files
from itertools import combinations, pairwise

import pytest

from hydro.catalog import (
    UNKNOWN,
    BoreSize,
    adaptor,
    all_sizes,
    bulkheads,
    families,
    family_of,
    find_pipe,
    hoses,
    pipe_sizes,
    size_of,
    sizes_of,
    waste_pipes,
)
from hydro.quantities.parsing import UnitProblem

STANDINGS = {"read", "from memory", "common practice, no source"}
PIPES = {**pipe_sizes(), **waste_pipes()}
OLD = """20 PN16|25 PN10|25 PN16|32 PN10|32 PN16|40 PN10|40 PN16|50 PN10|50 PN16|63 PN10|63 PN16|75 PN10|75 PN16|90 PN10
90 PN16|110 PN10|110 PN16|1/2 in sch 40|3/4 in sch 40|1 in sch 40|1-1/4 in sch 40|1-1/2 in sch 40|2 in sch 40
2-1/2 in sch 40|3 in sch 40|1/2 in sch 80|3/4 in sch 80|1 in sch 80|1-1/4 in sch 80|1-1/2 in sch 80|2 in sch 80
2-1/2 in sch 80|3 in sch 80""".replace("\n", "|").split("|")
"""The words of the first catalogue, in its order."""


def test_first_words_stay():
    """The sizes of the first catalogue come first, in their order, under their words, each in a standard that was read."""
    assert list(pipe_sizes())[:len(OLD)] == OLD
    assert all(find_pipe(words).words == words and find_pipe(words).standing == "read" for words in OLD)


@pytest.mark.parametrize("size", PIPES.values(), ids=lambda size: size.words)
def test_a_row_is_a_pipe(size):
    """Each row has a bore above zero, a wall that a pipe may have, a family and a standing, and is found and told by its bore."""
    band = size.bore_rough()
    assert 0 < band.low <= band.middle <= band.high == size.bore
    assert 0.03 < size.wall / size.outside < 0.2
    assert size.standing in STANDINGS
    assert size.standing in band.source
    assert size.standard in band.source
    assert family_of(size) is families()[size.family]
    assert find_pipe(size.words) is size
    assert size_of(band.named("drain left: pipe: size")) is size


def test_rows_are_told_apart():
    """No two sizes answer to one spelling, and no two of one source have the same bore."""
    assert len({size.bore_rough().source + str(size.bore_rough().high) for size in PIPES.values()}) == len(PIPES)
    assert not set(pipe_sizes()) & set(waste_pipes())


@pytest.mark.parametrize(("written", "words"), [
    ("40 PN10 DIN", "40 PN10"), ("40 pn10 din 8062", "40 PN10"), ("40 PN10 EN ISO 1452-2", "40 PN10 EN"),
    ("d40 PN10 BS EN ISO 1452", "40 PN10 EN"), ("40 pn 10 en 1452-2", "40 PN10 EN"), ("2 in sch 40 ASTM D1785", "2 in sch 40"),
    ('1 1/2" class E', "1-1/2 in class E"), ("1.5 in BS 3505 class e", "1-1/2 in class E"),
    ("40 mm solvent weld waste", "40 solvent waste"), ("40 waste solvent-weld", "40 solvent waste"),
    ("1-1/2 in solvent waste", "40 solvent waste"), ("2 in push fit waste", "50 push-fit waste"),
    ("1.25 in pushfit waste", "32 push-fit waste"), ("40 EN 1329-1", "40 EN 1329"), ("40 BS EN 1329", "40 EN 1329"),
    ("21.5 mm overflow", "21.5 overflow")])
def test_standards_are_understood_however_they_are_written(written, words):
    """A standard may stand in full behind a size, and British waste pipe answers to its inch name."""
    assert find_pipe(written).words == words


@pytest.mark.parametrize("words", ["40 waste", "1-1/2 in waste", "40 mm waste pipe"])
def test_waste_must_say_which(words):
    """A bare 'waste' is refused with the pipes that it may be and their outsides (read: 43 and 41 mm)."""
    with pytest.raises(UnitProblem, match="does not say which waste pipe") as caught:
        find_pipe(words)
    assert "40 solvent waste (43 mm outside), 40 push-fit waste (41 mm outside)" in caught.value.expected
    assert caught.value.nearest == "40 solvent waste"


@pytest.mark.parametrize("name", sorted({size.series for size in pipe_sizes().values()}))
def test_a_series_is_a_ladder(name):
    """In a series each rung is wider outside and inside than the one before, and all are of one family."""
    ladder = sizes_of(name)
    assert len(ladder) >= 7
    assert all(below.outside < above.outside and below.bore < above.bore for below, above in pairwise(ladder))
    assert len({size.family for size in ladder}) == 1


def test_families_hold_every_size():
    """Each size stands in the ladder of its family, from narrow to wide, and an unknown family is refused with the nearest."""
    for name in {size.family for size in all_sizes()}:
        ladder = sizes_of(name)
        assert [size.bore for size in ladder] == sorted(size.bore for size in ladder)
        assert set(ladder) == {size for size in all_sizes() if size.family == name}
    with pytest.raises(UnitProblem, match="no family of sizes") as caught:
        sizes_of("sch 60")
    assert caught.value.nearest in ("sch 40", "sch 80")


@pytest.mark.parametrize(("first", "second", "both"), [
    ("50 PN10", "1-1/2 in sch 40", ("50 mm", "48.3 mm")), ("63 PN16", "2 in sch 80", ("63 mm", "60.3 mm")),
    ("25 PN10", "3/4 in class E", ("25 mm", "26.7 mm")), ("63 PN10 EN", "2 in class E", ("63 mm", "60.3 mm")),
    ("40 EN 1329", "40 solvent waste", ("40 mm", "43 mm")), ("50 PN10", "50 push-fit waste", ("50 mm", "54 mm")),
    ("21.5 overflow", "1/2 in sch 40", ("21.5 mm", "21.3 mm"))])
def test_standards_are_never_forced_together(first, second, both):
    """A joint between two standards needs an adaptor, said with both outsides, whichever stands first."""
    for one, other, shown in ((first, second, both), (second, first, both[::-1])):
        words = adaptor(find_pipe(one), find_pipe(other))
        assert words is not None
        assert words.startswith("an adaptor is needed: ")
        assert words.index(f"{shown[0]} outside") < words.index(f"{shown[1]} outside")


def test_near_misses_of_hose():
    """Hose of 25 mm and of 1 in (25.4 mm) needs a joiner with both tails, and hose on pipe a hose tail."""
    words = adaptor(hoses()["25 mm hose"], hoses()["1 in hose"])
    assert words is not None
    assert "a joiner with a tail for each hose is needed" in words
    assert "25 mm inside" in words
    assert "25.4 mm inside" in words
    assert (adaptor(hoses()["32 mm hose"], find_pipe("32 PN10")) or "").startswith("a hose tail is needed")


def test_inch_pipe_of_two_countries_is_tried_dry():
    """US and UK inch pipe are within 0.25 mm outside, which is neither called a fit nor a misfit."""
    for size in sizes_of("class E"):
        inches = size.words.removesuffix("class E")
        assert find_pipe(f"{inches}sch 40").outside == pytest.approx(size.outside, abs=0.25e-3)
        assert "dry-fit" in (adaptor(size, find_pipe(f"{inches}sch 80")) or "")


def test_one_outside_needs_no_adaptor():
    """Sizes of a family go together, and metric pressure pipe goes with metric waste, which has its outsides."""
    for one, other in combinations(pipe_sizes().values(), 2):
        if one.family == other.family:
            assert adaptor(one, other) is None
    for size in sizes_of("metric waste"):
        twin = find_pipe(f"{size.words.split()[0]} PN10")
        assert size.outside == twin.outside
        assert adaptor(size, twin) is None


def test_adaptors_are_needed_both_ways():
    """Whether a joint needs an adaptor does not hang on which part stands first."""
    some = [*PIPES.values(), *hoses().values(), *bulkheads().values()]
    assert all((adaptor(one, other) is None) == (adaptor(other, one) is None) for one, other in combinations(some, 2))


def test_bulkheads_take_their_own_pipe():
    """A solvent bulkhead takes pipe of its family, a threaded one a threaded adaptor, and BSP is never screwed into NPT."""
    shelf = bulkheads()
    assert adaptor(shelf["50 metric solvent bulkhead"], find_pipe("50 PN10")) is None
    assert "48.3 mm outside" in (adaptor(shelf["50 metric solvent bulkhead"], find_pipe("1-1/2 in sch 40")) or "")
    assert (adaptor(find_pipe("1 in sch 40"), shelf["1 in NPT thread bulkhead"]) or "").startswith("a threaded adaptor is needed")
    assert "both threads" in (adaptor(shelf["1 in BSP thread bulkhead"], shelf["1 in NPT thread bulkhead"]) or "")


@pytest.mark.parametrize("one", bulkheads().values(), ids=lambda one: one.words)
def test_a_bulkhead_is_a_first_guess(one):
    """A bulkhead's throat is narrower than its hole, the hole than the flange, and each figure says to measure."""
    assert 0 < one.least < one.bore < one.hole.low <= one.hole.high < one.room
    assert one.advice == "measure the fitting in hand"
    for source in (one.source, one.hole.source, one.bore_rough().source):
        assert one.advice in source
        assert "from memory" in source or "no source" in source
    assert one.family in families()


@pytest.mark.parametrize(("words", "low", "high"), [
    ("1/2 in", 28, 30), ("3/4 in", 35, 38), ("1 in", 44, 45), ("1-1/2 in", 60, 61), ("2 in", 76, 77)])
def test_holes_of_light_bulkheads(words, low, high):
    """The holes of light-pattern inch bulkheads are those of the US trade in mm (common practice, no source)."""
    hole = bulkheads()[f"{words} inch solvent bulkhead"].hole
    assert (1000 * hole.low, 1000 * hole.high) == pytest.approx((low, high))
    assert "common practice, no source" in hole.source


def test_a_bulkhead_hole_passes_the_thread():
    """The hole of a BSP bulkhead is wider than the thread's outside (ISO 228, from memory, mm)."""
    for inches, thread in (("1/2", 20.955), ("3/4", 26.441), ("1", 33.249), ("1-1/4", 41.910), ("1-1/2", 47.803), ("2", 59.614)):
        assert 1000 * bulkheads()[f"{inches} in BSP thread bulkhead"].hole.low > thread


@pytest.mark.parametrize("hose", hoses().values(), ids=lambda hose: hose.words)
def test_a_hose_is_its_bore(hose):
    """The nominal size of a hose is its bore, 25.4 mm to the inch, and its source says that there is none."""
    number, unit, _ = hose.words.split()
    whole, _, part = number.rpartition("-")
    over, _, under = part.partition("/")
    inches = float(whole or 0) + float(over) / float(under or 1)
    assert 1000 * hose.bore == pytest.approx(inches * (25.4 if unit == "in" else 1.0))
    assert hose.bore_rough().is_exact
    assert "no source" in hose.source
    assert family_of(hose).measured == "inside"


@pytest.mark.parametrize("name", ["pipes", "waste", "hoses", "bulkheads", "families", "fits"])
def test_data_files_carry_their_source(name):
    """Each data file starts with comments that name its source, and each row has a standing."""
    lines = files("hydro.catalog").joinpath(f"{name}.csv").read_text(encoding="utf-8").splitlines()
    comments = [line for line in lines if line.startswith("#")]
    assert lines[0] in comments
    assert any(word in " ".join(comments) for word in ("from memory", "no source"))
    header, *rows = [line for line in lines if not line.startswith("#")]
    assert "standing" in header.split(",")
    assert all("read" in row or "from memory" in row or "no source" in row for row in rows)


def test_every_pair_names_families():
    """The pairs that meet in a way of their own are pairs of families, each pair once."""
    from hydro.catalog.shelf import read_shelf

    pairs = [frozenset((row["first"], row["second"])) for row in read_shelf("fits.csv")]
    assert len(set(pairs)) == len(pairs)
    assert all(len(pair) == 2 and pair <= set(families()) for pair in pairs)
    assert {row["joint"] for row in read_shelf("fits.csv")} == {"direct", "dry fit", "adaptor"}


def test_waste_is_for_gravity():
    """No waste or overflow pipe belongs behind a pump, and every pressure pipe may stand there."""
    assert not any(family_of(size).pressure for size in waste_pipes().values())
    assert all(family_of(size).pressure for size in pipe_sizes().values())


def test_a_number_of_its_own_is_no_size():
    """A bore that was typed in is not taken for a size, even where it is that of one to the last digit."""
    band = find_pipe("40 PN10").bore_rough()
    assert size_of(dataclasses.replace(band, source="stated")) is None


def test_a_size_of_no_standard_is_not_vouched_for():
    """A size without a standard is of an unknown family, and its joints are said to be unknown."""
    mine = BoreSize("green hose", 0.0245, 0.0245, "no standard named", "own catalogue mine.csv")
    assert family_of(mine) is UNKNOWN
    assert "may be needed" in (adaptor(mine, find_pipe("32 PN10")) or "")
    assert "may be needed" in (adaptor(mine, mine) or "")


@pytest.mark.parametrize("module", ["hydro.catalog", "hydro.catalog.compatibility"])
def test_the_examples_in_the_docstrings_run(module):
    """The examples in the docstrings give what they say."""
    result = doctest.testmod(importlib.import_module(module))
    assert result.attempted > 0
    assert result.failed == 0
