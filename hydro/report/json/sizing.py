"""Designs for what a file leaves open, for programs: plain data in SI units (m, m2, m3, m3/s, W, 1/s), the first design first.

What is not known or does not exist is null.
"""

from __future__ import annotations

from typing import Any

from hydro.report.json.schema import origin
from hydro.search.sizing.figures import HYDRAULIC
from hydro.search.sizing.sized import Design, Sized


def sizing_data(sized: Sized) -> dict[str, Any]:
    """Return the answer as dicts, lists, texts and numbers."""
    found, build = sized.searched, sized.shapes.topologies[0].build
    return {**origin(), "title": build.title, "file": build.file, "complete": sized.complete,
            "open": [{"label": label, "name": one.name or None, "line": one.line, "candidates": list(one.candidates)}
                     for label, one in zip(sized.shapes.labels, sized.openings.values, strict=True)],
            "goals": list(sized.goals.words), "designs_there_are": found.grid, "layouts": len(sized.shapes.topologies),
            "looked_at": len(found.judged), "all_looked_at": found.whole and found.complete, "one_by_one": found.alone,
            "pass": len(found.good), "beaten_by_none": sized.front, "weighed_by": list(sized.names),
            "pipe_is": f"price, {sized.currency}" if sized.currency else "outside size x length, m2",
            "designs": [_design(sized, one) for one in sized.designs],
            "ruled_out_by": [{"check": words, "designs": n, "alone": alone} for words, n, alone in found.reasons()],
            "refused_candidates": [{"label": sized.shapes.labels[n], "candidate": sized.openings.values[n].candidates[k],
                                    "why": why} for (n, k), why in sized.shapes.refused.items()],
            "not_proved": list(sized.refuted)}


def _design(sized: Sized, one: Design) -> dict[str, Any]:
    watts = one.weighed.values["energy"]
    electric = one.weighed.energy_basis != HYDRAULIC
    return {"letter": one.letter, "stands_for": one.stands_for, "verdict": one.verdict, "asked": one.asked_verdict,
            "values": dict(zip(sized.shapes.labels, one.words, strict=True)), "figures": dict(one.weighed.values),
            "power_is": one.weighed.energy_basis, "energy_a_year": watts * 365.0 * 86400.0 if electric else None,
            "flow": one.point["flow"], "tank_levels": one.point["tank levels"], "turnover": one.point["turnover"],
            "line": one.point["line"],
            "checks": [{"key": row.key, "question": row.question, "asked": row in one.asked, "verdict": row.verdict,
                        "value": row.value, "limit": row.limit, "margin": row.margin,
                        "dimension": row.dimension, "because": row.because} for row in one.checks]}
