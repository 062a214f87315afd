"""The tables of the catalogue, each read once from its data file, and the ladders of sizes that a search climbs."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files

from hydro.catalog.records import THICKER_WALL, BoreSize, Bulkhead, Family, PipeSize, Size
from hydro.quantities.parsing import UnitProblem, nearest
from hydro.quantities.uncertain import Uncertain


@cache
def read_shelf(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of a data file of this package by the names of its header; lines with '#' are comments."""
    text = files("hydro.catalog").joinpath(name).read_text(encoding="utf-8")
    return tuple(csv.DictReader(line for line in text.splitlines() if line.strip() and not line.startswith("#")))


def _mm(row: dict[str, str], column: str) -> float:
    return float(row[f"{column} mm"]) / 1000


def _pipe(row: dict[str, str]) -> PipeSize:
    outside, wall = _mm(row, "outside diameter"), _mm(row, "wall")
    thicker = (outside - _mm(row, "least bore")) / 2 - wall if "least bore mm" in row else THICKER_WALL
    return PipeSize(f"{row['nominal']} {row['series']}", outside, wall, row["standard"], row["standing"], row["family"],
                    row["series"], thicker)


@cache
def pipe_sizes() -> dict[str, PipeSize]:
    """Return the pressure pipes by their words ('40 PN10', '1-1/2 in sch 40'). Read once; treat it as read-only."""
    return {size.words: size for size in map(_pipe, read_shelf("pipes.csv"))}


@cache
def waste_pipes() -> dict[str, PipeSize]:
    """Return waste and overflow pipes by their words ('40 solvent waste', '40 EN 1329'): for gravity drains. Read-only."""
    return {size.words: size for size in map(_pipe, read_shelf("waste.csv"))}


@cache
def hoses() -> dict[str, BoreSize]:
    """Return the hoses commonly on sale by their words ('25 mm hose', '1 in hose'); nominal is the bore. Read-only."""
    sizes = [BoreSize(f"{row['nominal']} hose", _mm(row, "bore"), _mm(row, "bore"), row["standard"], row["standing"],
                      row["family"], row["family"]) for row in read_shelf("hoses.csv")]
    return {size.words: size for size in sizes}


@cache
def bulkheads() -> dict[str, Bulkhead]:
    """Return bulkheads by their words ('1-1/2 in inch solvent bulkhead'): first guesses for a drawing. Read-only."""
    made = {}
    for row in read_shelf("bulkheads.csv"):
        words = f"{row['nominal']} {row['joint']} bulkhead"
        low, high = _mm(row, "least hole"), _mm(row, "most hole")
        hole = Uncertain(low, (low + high) / 2, high, f"{words}: hole", f"bulkhead, {row['standing']}; {row['advice']}")
        made[words] = Bulkhead(words, row["nominal"], row["joint"], row["family"], _mm(row, "least bore"), _mm(row, "most bore"),
                               hole, _mm(row, "room across"), row["standing"], row["advice"])
    return made


@cache
def families() -> dict[str, Family]:
    """Return the families by name. Read-only."""
    return {row["name"]: Family(row["name"], row["unit"], row["measured"], row["for"] == "pressure", row["adaptor"],
                                row["standing"]) for row in read_shelf("families.csv")}


@cache
def all_sizes() -> tuple[Size, ...]:
    """Return every size of pipe and hose, in the order of the tables."""
    return (*pipe_sizes().values(), *waste_pipes().values(), *hoses().values())


def sizes_of(name: str) -> tuple[Size, ...]:
    """Return the sizes of a family or of one series of it ('metric pressure', 'PN10', 'sch 40'), from narrow to wide.

    One series is a ladder: each size has one rung. Raises `UnitProblem`, with the nearest name, where there is no such family.
    """
    found = [size for size in all_sizes() if name in (size.family, size.series)]
    if not found:
        known = dict.fromkeys(word for size in all_sizes() for word in (size.series, size.family))
        raise UnitProblem(f"no family of sizes '{name[:40]}'", f"one of {', '.join(known)}", nearest(name, known))
    return tuple(sorted(found, key=lambda size: size.bore))
