"""Which pump, for a terminal of 80 columns: the answer, the pumps as they come, set to the wanted flow, and what they fail."""

from __future__ import annotations

from collections.abc import Sequence

from hydro.checks import FAILS, HOLDS, TIGHT, UNSURE
from hydro.elements.pump import BOX_EXPONENT
from hydro.quantities.formatting import convert, show, unit_name
from hydro.quantities.tape import ceiling_mark, floor_mark, mark, rounded_band, tape_above, tape_below
from hydro.report.terminal.layout import heading, labelled, listed, paragraph, table, titled
from hydro.report.terminal.pump_chart import pump_curves_chart
from hydro.search.pumps.candidate import SPEED, THROTTLE
from hydro.search.pumps.choose import JUST, Choice, Choices
from hydro.search.pumps.curves import Curves
from hydro.search.pumps.duty import Duty
from hydro.search.pumps.point import WITHIN
from hydro.search.pumps.power import ALONG, JOULES, LABEL, SLOWED

NOTES = (
    "Each pump was put in the place of '{pump}' and the whole loop solved, levels too; all that lies on the way stays as it was "
    "described. 'Likely' is what the pump's own data leave open: curve points by +-7 % of head (ISO 9906 grade 3B, from "
    "memory), a label on a box by the exponent of its curve, 1 to 3, besides.",
    "The valve is a ball valve behind the pump, K by a table of handbooks, from memory, good for a factor of 2 (K counts on the "
    "bore of the pump's line): set it by bucket and clock, not by its handle. Verdicts are those of the pump so set, {bands}, "
    "but overflows have to carry it with the valve open and at full speed. Only the pump was changed: 'sumpwright "
    "run' says all of it for the one you buy.",
    "{energy}. '<' marks the figure on the label, which a pump draws somewhere on its curve; '~' a slowed pump, by affinity: "
    "really it draws a little more, for its controller. Sea water takes up to 3 % more watts than the fresh water of a maker's "
    "table.",
    "A pump stands in water on mains power: leakage breaker, drip loop, and a licensed electrician for the wiring.")

WAYS = {THROTTLE: "opening of a valve", SPEED: "speed"}
MARKS = {ALONG: "", LABEL: "<", SLOWED: "~"}
BEFORE = {ALONG: "", LABEL: "at most ", SLOWED: "about "}


def pump_choice_text(found: Choices, units: str | None = None) -> str:
    """Return the choice as text."""
    build = found.loop.build
    system = units or build.units
    lines = titled(build.title, build.file)
    lines += ["", *labelled("Answer", *pump_choice_answer(found, system)), *labelled("Wanted", *wanted(found, system))]
    if not found.complete:
        lines += labelled("Stopped", f"after {found.done} of {found.asked_for} pumps; of the others nothing is said.")
    running = [row for row in found.rows if row.full is not None]
    drawn = found.curves
    if running:
        lines += [*heading("As they come, all on"), "", *_as_they_come(running, drawn, system)]
    if any(row.settings for row in running):
        lines += [*heading("Brought to the wanted flow"), "", *_set(found, running, system)]
    lines += [*heading("Checks"), "", *_checks(found.rows, system)]
    remarks = [line for row in found.rows for line in _remarks(row, system)]
    if remarks:
        lines += heading("Pump by pump") + remarks
    lines += pump_curves_chart(drawn, system)
    lines += heading("Basis")
    energy = f"{show(found.asked.hours * 3600.0, 'time', system)} a day" if found.asked.hours < 24.0 else "day and night"
    for note in (found.rule, *NOTES):
        lines += listed(note.format(pump=found.pump, energy=f"Energy: {energy}",
                                    bands="with every band moved" if found.asked.bands else "in the middle of every band"))
    return "\n".join(lines) + "\n"


def pump_choice_answer(found: Choices, system: str) -> list[str]:
    """Return what to buy in a sentence or two."""
    if not found.rows:
        return ["No pump was looked at."]
    if not found.suited:
        first = found.rows[0]
        return ["None of these pumps both reaches the wanted flow and passes every check.",
                f"The least unsuited: {first.candidate.name}."]
    return [f"{found.suited[0].candidate.name}: {_in_short(found.suited[0], found, system)}.",
            *(f"Then {row.candidate.name}: {_in_short(row, found, system)}." for row in found.suited[1:2])]


def wanted(found: Choices, system: str) -> list[str]:
    """Return which flow is wanted and who says so."""
    flow, turnover = found.wanted.flow, found.wanted.turnover
    if flow is None:
        return [f"No flow ({found.wanted.origin}): pumps are taken as they come."]
    every = "" if turnover is None else f", {show(turnover, 'turnover', system)}"
    return [f"{show(flow, 'flow', system)} through '{found.pump}' ({found.wanted.origin}{every})."]


def _in_short(row: Choice, found: Choices, system: str) -> str:
    assert row.run is not None
    words = [f"{show(row.run.point.flow, 'flow', system)} at {show(row.run.point.head, 'length', system)}"]
    if row.setting is not None:
        share = show(row.setting.value, "share", system)
        words.append(f"at {share} of its speed" if row.setting.kind == SPEED else f"valve {share} open")
    power = row.run.power
    if power is not None and row.run.yearly is not None:
        words.append(f"{BEFORE[power.basis]}{show(power.watts, 'power', system, 2)}, "
                     f"{row.run.yearly / JOULES:.0f} kWh a year{_money(row.run, found)}")
    words.append({HOLDS: "every check holds", TIGHT: "checks are tight",
                  UNSURE: "checks are unsure"}.get(row.verdict, "a check fails"))
    return ", ".join(words)


def _money(duty: Duty, found: Choices) -> str:
    return "" if duty.cost is None else f", {duty.cost:.0f} {found.asked.currency}".rstrip()


def _watts(duty: Duty) -> str:
    if duty.power is None:
        return "-"
    return f"{MARKS[duty.power.basis]}{duty.power.watts:.{0 if duty.power.watts >= 10.0 else 1}f}"


def _likely(low: float | None, middle: float, high: float | None, dimension: str, system: str) -> tuple[str, str]:
    return rounded_band((middle if low is None else min(low, middle), middle, middle if high is None else max(high, middle)),
                        dimension, system)


def _as_they_come(rows: Sequence[Choice], drawn: Curves, system: str) -> list[str]:
    head = ["", "pump", f"flow, {unit_name('flow', system)}", "likely", "head", "on its curve",
            "W", "to the water"]
    letters = dict(drawn.letters)
    cells = [head]
    for row in rows:
        assert row.full is not None
        point = row.full.point
        to_water = "-" if row.full.efficiency is None or row.full.power is None else (
            f"{'>' if row.full.power.basis == LABEL else ''}{100.0 * row.full.efficiency:.0f} %")
        cells.append([letters.get(row.candidate.name, ""), row.candidate.name,
                      *_likely(row.weak, point.flow, row.strong, "flow", system), show(point.head, 'length', system),
                      f"{100.0 * point.share:.0f} %", _watts(row.full), to_water])
    return table(cells, words=(0, 1))


def _set(found: Choices, rows: Sequence[Choice], system: str) -> list[str]:
    money = [f"{found.asked.currency} a year".strip()] if found.asked.price is not None else []
    head = ["pump", "valve open", "likely", "K", "W", "kWh a year", *money, "or speed", "likely", "W", "kWh a year", *money]
    cells = [head]
    for row in rows:
        line = [row.candidate.name]
        for kind in (THROTTLE, SPEED):
            n = next((n for n, one in enumerate(row.settings) if one.kind == kind), None)
            if n is None:
                line += ["-"] * (len(money) + (5 if kind == THROTTLE else 4))
                continue
            one, duty = row.settings[n], row.set_duties[n]
            line += [*_shares(one.low, one.value, one.high),
                     *(["-" if one.k is None else f"{float(f'{one.k:.2g}'):g}"] if kind == THROTTLE else []), _watts(duty),
                     "-" if duty.yearly is None else f"{duty.yearly / JOULES:.0f}",
                     *(["-" if duty.cost is None else f"{duty.cost:.0f}"] if money else [])]
        cells.append(line)
    half = 5 + len(money)
    if len(head) <= 10:
        return table(cells)
    return [*table([line[:half + 1] for line in cells]), "", *table([[line[0], *line[half + 1:]] for line in cells])]


def _shares(low: float | None, middle: float, high: float | None) -> tuple[str, str]:
    """Return a share in whole per cent, and its band; an end that is not reached is said."""
    ends = ["none" if end is None else f"{100.0 * end:.0f}" for end in (low, high)]
    shown = f"{100.0 * middle:.0f}"
    return f"{shown} %", "" if ends == [shown, shown] else f"{ends[0]} to {'full' if ends[1] == 'none' else ends[1]} %"


def _checks(rows: Sequence[Choice], system: str) -> list[str]:
    unit = unit_name("length", system)
    priced = any(row.candidate.price is not None for row in rows)
    turned = unit_name("turnover", system)
    head = ["pump", "verdict", "wanted flow", f"turnover, all on, {turned}", f"room left, {unit}", f"worst drain blocked, {unit}",
            *(["price"] if priced else [])]
    cells = [head]
    for row in rows:
        price = "-" if row.candidate.price is None else f"{row.candidate.price:g} {row.candidate.currency}".strip()
        if row.full is None:
            cells.append([row.candidate.name, "not solved", "-", "-", "-", "-", *([price] if priced else [])])
            continue
        cells.append([row.candidate.name, row.verdict, row.reached,
                      "-" if row.turnover is None else f"{convert(row.turnover, 'turnover', system):.1f}",
                      _room(row.room, system), _room(row.blocked, system), *([price] if priced else [])])
    return table(cells, words=(0, 1, 2))


def _room(room: float | None, system: str) -> str:
    if room is None:
        return "none"
    if room < 0.0:
        return f"over by {mark(ceiling_mark(-room, system), system)}"
    return mark(floor_mark(room, system), system)


def _remarks(row: Choice, system: str) -> list[str]:
    """Return what has to be said of one pump in words."""
    said: list[str] = []
    if row.full is None:
        said.append(row.problem)
    else:
        point = row.full.point
        if point.trouble:
            other = "" if point.other is None else f" (the lower one at {show(point.other, 'flow', system)})"
            said.append(f"{point.trouble}{other}")
        if row.run is not None and row.run is not row.full and row.run.point.trouble:
            said.append(f"set to the wanted flow: {row.run.point.trouble}")
        if point.place != WITHIN and point.flow > 0.0:
            said.append(f"all on it works {point.place}")
        if row.reached == JUST:
            said.append("reaches the wanted flow only if it is as strong as its data say")
        if row.candidate.most_flow is not None and not row.candidate.points:
            said.append(f"only the label on its box is known: its curve may bend as exponent {BOX_EXPONENT.low:g} to "
                        f"{BOX_EXPONENT.high:g}, which is the likely range shown")
        if row.blocked is None and row.drain:
            said.append(f"with {row.drain} blocked nothing carries its water")
        elif row.blocked is not None and row.blocked < 0.0:
            said.append(f"with {row.drain} blocked the water would stand {tape_above(-row.blocked, system)} over the lowest "
                        "opening, the other drains running with air")
        elif row.blocked is not None:
            said.append(f"worst drain to block: {row.drain}, {tape_below(row.blocked, system)} left")
        said += [f"no {WAYS[kind]} was found at which the wanted flow runs" for kind in row.unset]
    failed = [check for check in row.checks if check.verdict == FAILS]
    known = row.full is None or bool(row.full.point.trouble)
    said += [f"fails '{check.question}'" + (f": {check.because}" if check.because and not known else "") for check in failed[:4]]
    if len(failed) > 4:
        said.append(f"and {len(failed) - 4} more checks fail")
    return paragraph(f"{row.candidate.name}: {'; '.join(said)}.", 2, 2) if said else []


