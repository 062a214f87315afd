"""A choice of pumps for programs: plain data in SI units (m, m3/s, W, J, 1/s), in order, the best first.

Shares lie between 0 and 1. Costs and prices are in the currency that was typed. What is not known or does not exist is null.
"""

from __future__ import annotations

from typing import Any

from hydro.report.json.schema import origin
from hydro.search.pumps.choose import Choice, Choices
from hydro.search.pumps.duty import Duty


def pump_choice_data(found: Choices) -> dict[str, Any]:
    """Return the choice as dicts, lists, texts and numbers."""
    build, asked = found.loop.build, found.asked
    return {**origin(), "title": build.title, "file": build.file, "instead_of": found.pump, "complete": found.complete,
            "done": found.done, "asked": found.asked_for,
            "wanted": {"flow": found.wanted.flow, "turnover": found.wanted.turnover, "origin": found.wanted.origin},
            "hours_a_day": asked.hours, "price_per_kwh": asked.price, "currency": asked.currency, "rule": found.rule,
            "best": found.suited[0].candidate.name if found.suited else None,
            "system_curve": [{"flow": flow, "head": head} for flow, head in found.curves.system],
            "pumps": [_row(row) for row in found.rows]}


def _row(row: Choice) -> dict[str, Any]:
    one = row.candidate
    return {"name": one.name, "source": one.source, "own": one.own, "price": one.price, "price_currency": one.currency,
            "known": "points" if one.points else "label" if one.most_flow is not None else "tests",
            "problem": row.problem or None, "verdict": row.verdict if row.full is not None else None,
            "verdict_all_on": row.full_verdict if row.full is not None else None, "wanted_flow": row.reached,
            "all_on": _duty(row.full), "flow_band": None if row.full is None else [row.weak, row.full.point.flow, row.strong],
            "turnover": row.turnover, "room": row.room, "room_worst_drain_blocked": row.blocked,
            "worst_drain": row.drain or None,
            "settings": [{"by": setting.kind, "share": setting.value, "share_band": [setting.low, setting.value, setting.high],
                          "flow": setting.flow, "k": setting.k, "bore": setting.bore, "judged": setting is row.setting,
                          "duty": _duty(duty)}
                         for setting, duty in zip(row.settings, row.set_duties, strict=True)],
            "checks": [{"key": check.key, "verdict": check.verdict, "margin": check.margin, "because": check.because}
                       for check in row.checks]}


def _duty(duty: Duty | None) -> dict[str, Any] | None:
    if duty is None:
        return None
    point, power = duty.point, duty.power
    return {"flow": point.flow, "head": point.head, "share_of_last_point": point.share, "place": point.place,
            "trouble": point.trouble or None, "unstable_flow": point.other, "hydraulic_power": duty.hydraulic,
            "power": None if power is None else power.watts, "power_basis": None if power is None else power.basis,
            "wire_to_water": duty.efficiency, "energy_a_year": duty.yearly, "cost_a_year": duty.cost}
