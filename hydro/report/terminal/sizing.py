"""Designs for what a file leaves open, for a terminal of 80 columns: the answer, the designs side by side, each one, the rest."""

from __future__ import annotations

from collections.abc import Sequence

from hydro.checks import HOLDS, Check
from hydro.checks.check import COMFORT
from hydro.quantities.formatting import convert, show, unit_name
from hydro.quantities.tape import mark, tape
from hydro.report.terminal.layout import heading, labelled, listed, paragraph, table, titled
from hydro.search.pumps.power import ALONG, LABEL, SLOWED
from hydro.search.sizing.figures import ENERGY, HOLE, HYDRAULIC, NOISE, PIPE, RESERVE, ROOM
from hydro.search.sizing.sized import Design, Sized

YEAR = 8760.0 / 1000.0
"""kWh in a year for every watt."""
BASES = {ALONG: "by figures along its curve", LABEL: "the figure on its label, which is an upper end",
         SLOWED: "the figure on its label, less as the cube of its speed; really a little more"}
MOST_REASONS, MOST_REFUSED = 8, 4
DOUBTS = ((False, "Only just"), (True, "On comfort"))
"""Whether of comfort, and what stands before what does not hold."""
NOTES = (
    "Every design was worked out in the middle of every band. Those shown are ones that no other beats in all figures at once, "
    "spread as far apart as may be; each was then filled into the file and judged in full, every band moved by itself.",
    "J is V/sqrt(g D) of the drain with the most air in it; a drain full of water counts as 0. Room is what is left in the sump "
    "after the power cut that has to fit. {energy}.",
    "Pipe is {pipe}.{hole}",
    "{reserve}'sumpwright run' says all of a design once it is written down: size --write LETTER FILE.",
    "Mains power over water, tonnes of water on a floor and holes in glass are for licensed trades and the codes of the place.")
DRILLED = (" A hole is the widest that the catalogue has for the largest bulkhead, from memory or by common practice, in "
           "proportion where it has no such size: measure the fitting in hand, and have glass drilled only by somebody who knows "
           "that the pane is not toughened.")
RESERVED = ("Reserve says how far the nearest of the checks asked stands from failing: 1 is 5 cm of height, or a quarter of the "
            "limit, and more (chosen here). ")


def sizing_text(sized: Sized, units: str | None = None) -> str:
    """Return the answer as text."""
    build = sized.shapes.topologies[0].build
    system = units or build.units
    lines = titled(build.title, build.file)
    lines += ["", *labelled("Answer", *sizing_answer(sized)), *labelled("Asked", asked(sized))]
    lines += labelled("Looked at", *looked_at(sized))
    if not sized.complete:
        lines += labelled("Stopped", "by Ctrl-C: of the designs not looked at nothing is said.")
    if sized.designs:
        lines += [*heading("Designs side by side"), "", *_side_by_side(sized, system)]
        if any(one.asked for one in sized.designs):
            lines += [*heading("Margins of what is asked"), "", *_margins(sized, system)]
        common = [pair for comfort in (False, True) for pair in _common(sized.designs, comfort)]
        lines += heading("Design by design")
        if common:
            lines.append("")
        for comfort, before in DOUBTS:
            lines += _doubts(f"{before} in all of them", _common(sized.designs, comfort), 0)
        for one in sized.designs:
            lines += _design(sized, one, system, common)
    lines += _ruled_out(sized)
    lines += heading("Basis")
    said = {"energy": _energy(sized), "pipe": _pipe(sized), "hole": DRILLED if HOLE in sized.names else "",
            "reserve": RESERVED if RESERVE in sized.names else ""}
    for note in NOTES:
        lines += listed(note.format(**said))
    return "\n".join(lines) + "\n"


def sizing_answer(sized: Sized) -> list[str]:
    """Return the answer in a sentence or two."""
    good = len(sized.searched.good)
    if not sized.designs:
        reasons = sized.searched.reasons()
        most = f" What rules out most: {reasons[0][0]} ({reasons[0][1]} of them)." if reasons and not good else ""
        unproved = "none could be proved" if sized.complete else "stopped before any was proved"
        why = unproved if good else f"none of {len(sized.searched.judged)} designs holds what is asked"
        return [f"No design: {why}.{most}"]
    sure = [one for one in sized.designs if one.asked_verdict == HOLDS]
    first = sized.designs[0]
    count, last = len(sized.designs), sized.designs[-1]
    to = "and" if count == 2 else "to"
    said = [f"{count} designs to choose from, {first.letter} {to} {last.letter}." if count > 1 else "One design."]
    if not first.asked:
        said.append("No check on floor or pump fails in any of them; what is in doubt is told with each.")
    elif len(sure) == len(sized.designs):
        said.append("What is asked holds in each of them, also with any one figure at either end of its band.")
    elif sure:
        said.append(f"What is asked holds for certain in {', '.join(one.letter for one in sure)}; in the others it is in doubt.")
    else:
        said.append("What is asked is in doubt in all of them; why stands with each.")
    return said


def asked(sized: Sized) -> str:
    """Return what has to hold in the goals' own words."""
    if not sized.goals.words:
        return "No check fails (no goals are set)."
    return f"{', '.join(sized.goals.words)}; no other check fails."


def looked_at(sized: Sized) -> list[str]:
    """Return how many designs there are and what became of them."""
    found, shapes = sized.searched, sized.shapes
    ways = "" if len(shapes.topologies) == 1 else f" of {len(shapes.topologies)} layouts"
    done = "all of them" if found.whole and found.complete else f"{len(found.judged)} of them"
    how = "" if found.whole else ", spread evenly and then near the best"
    count = len(sized.openings.values)
    said = [f"{count} open value{'s make' if count > 1 else ' makes'} {found.grid} designs{ways}; {done} were worked out{how}.",
            f"{len(found.good)} pass; {sized.front} of these are beaten by no other in everything."]
    if found.alone:
        said.append("This kind of build is worked out one design at a time, which takes longer: fewer were looked at.")
    return said


def _energy(sized: Sized) -> str:
    basis = next((one.weighed.energy_basis for one in sized.designs), "")
    if basis == HYDRAULIC:
        return ("No watts of the pump are known: W is hydraulic power, what reaches the water; the socket gives two to ten times "
                "as much (common practice, no source)")
    return f"W is what the pump draws ({BASES.get(basis, 'it stands still')}); a year is counted day and night"


def _pipe(sized: Sized) -> str:
    if sized.currency:
        return f"the price of all pipe and hose in {sized.currency}, by the list of prices"
    missing = f" (no price per metre for {', '.join(sized.unpriced)})" if sized.unpriced else ""
    return f"outside size x length of all pipe and hose, a stand-in for its cost{missing}"


def _side_by_side(sized: Sized, system: str) -> list[str]:
    area = "price" if sized.currency else unit_name("area", system)
    heads = {NOISE: "J", ENERGY: "W", ROOM: f"room, {unit_name('volume', system)}", HOLE: f"hole, {unit_name('length', system)}",
             PIPE: f"pipe, {area}", RESERVE: "reserve"}
    cells = [["", "asked", "all checks", f"flow, {unit_name('flow', system)}",
              *(heads[name] for name in sized.names)]]
    for one in sized.designs:
        cells.append([one.letter, one.asked_verdict if one.asked else "-", one.verdict,
                      f"{convert(one.point['flow'], 'flow', system):.0f}",
                      *(_figure(one, name, sized, system) for name in sized.names)])
    return table(cells, words=(0, 1, 2))


def _figure(one: Design, name: str, sized: Sized, system: str) -> str:
    value = one.weighed.values[name]
    if name == ROOM:
        return f"{convert(value, 'volume', system):.0f}"
    if name == HOLE:
        return mark(value, system)
    if name == PIPE:
        return f"{value:.2f}" if sized.currency else f"{convert(value, 'area', system):.2f}"
    return f"{value:.1f}" if name == ENERGY else f"{value:.2f}"


def _margins(sized: Sized, system: str) -> list[str]:
    """Return the margins of the checks that are asked, one line a check, '!' where it is in doubt."""
    questions: dict[str, Check] = {}
    for one in sized.designs:
        for row in one.asked:
            questions.setdefault(row.key, row)
    cells = [["check", *(one.letter for one in sized.designs)]]
    for key, row in questions.items():
        unit = unit_name(row.dimension, system) if row.dimension != "number" else ""
        line = [f"{row.question}{', ' + unit if unit else ''}"]
        for one in sized.designs:
            mine = next((each for each in one.asked if each.key == key), None)
            line.append("-" if mine is None else _margin(mine, system) + ("" if mine.verdict == HOLDS else "!"))
        cells.append(line)
    said = paragraph("'!' is in doubt, for the reason told below; the margin is that of the middle.")
    return [*table(cells), *(said if any("!" in cell for line in cells[1:] for cell in line[1:]) else [])]


def _margin(row: Check, system: str) -> str:
    if row.margin == float("inf"):
        return "-"
    return mark(row.margin, system) if row.dimension == "length" else f"{convert(row.margin, row.dimension, system):.3g}"


def _doubtful(design: Design, comfort: bool) -> list[tuple[str, str]]:
    """Return question and reason of what does not hold, on floor and pump or, with its word, on comfort."""
    return [(f"{row.question}: {row.word}" if comfort else row.question, row.because) for row in design.checks
            if row.verdict != HOLDS and (row.kind.stake == COMFORT) is comfort]


def _common(designs: Sequence[Design], comfort: bool) -> list[tuple[str, str]]:
    """Return question and reason of what is in doubt, for the same reason, in every design shown, where there are several."""
    doubtful = [_doubtful(one, comfort) for one in designs]
    return [pair for pair in doubtful[0] if len(designs) > 1 and all(pair in other for other in doubtful)]


def _doubts(before: str, pairs: Sequence[tuple[str, str]], indent: int) -> list[str]:
    """Return what is in doubt, one paragraph for each reason."""
    grouped: dict[str, list[str]] = {}
    for question, because in pairs:
        grouped.setdefault(because, []).append(question)
    return [line for because, questions in grouped.items()
            for line in paragraph(f"{before}: {'; '.join(questions)}{f' ({because})' if because else ''}.", indent, 3)]


def _design(sized: Sized, one: Design, system: str, common: Sequence[tuple[str, str]]) -> list[str]:
    values = "; ".join(f"{label} {words}" for label, words in zip(sized.shapes.labels, one.words, strict=True))
    tanks = one.point["tank levels"]
    levels = ", ".join(f"{name} {tape(level, system)} over its bottom" for name, level in tanks.items())
    turned = ", ".join(f"{'' if len(tanks) == 1 else f'{name} '}{show(value, 'turnover', system)}"
                       for name, value in one.point["turnover"].items())
    energy = "" if one.weighed.energy_basis == HYDRAULIC else f", {one.weighed.values[ENERGY] * YEAR:.0f} kWh a year"
    lines = ["", *paragraph(f"{one.letter}: {one.stands_for}.", 0, 3), *paragraph(f"{values}.", 3),
             *paragraph(f"Runs at {show(one.point['flow'], 'flow', system)} ({turned}){energy}; {levels}, line "
                        f"{tape(one.point['line'], system)} over the sump's bottom.", 3)]
    for comfort, before in DOUBTS:
        lines += _doubts(before, [pair for pair in _doubtful(one, comfort) if pair not in common], 3)
    return lines


def _ruled_out(sized: Sized) -> list[str]:
    """Return the checks that rule designs out, the candidates that were left out, and what could not be proved."""
    reasons, lines = sized.searched.reasons(), list[str]()
    if reasons:
        cells = [["check", "designs", "by it alone"]]
        cells += [[words, str(n), str(alone)] for words, n, alone in reasons[:MOST_REASONS]]
        lines += [*heading("What rules designs out"), "", *table(cells)]
        if len(reasons) > MOST_REASONS:
            lines += paragraph(f"and {len(reasons) - MOST_REASONS} more.")
    left = [f"'{sized.openings.values[n].candidates[k]}' (line {sized.openings.values[n].line}): {why}"
            for (n, k), why in sized.shapes.refused.items()]
    lines += _some("Candidates that the file cannot have", left)
    return lines + _some("Could not be proved", list(sized.refuted))


def _some(title: str, said: Sequence[str]) -> list[str]:
    if not said:
        return []
    more = [f"and {len(said) - MOST_REFUSED} more"] if len(said) > MOST_REFUSED else []
    return [*heading(title), *(line for entry in [*said[:MOST_REFUSED], *more] for line in listed(entry))]
