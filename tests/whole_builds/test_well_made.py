"""Three normal builds, well made by the trade's practice, hold; with one classic mistake each that one alone is named.

The practice: a siphon throttled until an open channel trickles, beside a dry emergency drain that ends over the water; a dry
standpipe some centimetres over the wet ones; returns that end just under the water, with a hole that lets in air; a felt-pen
line with room over it for all that comes down; a hand's breadth of water over the intake.
"""

import pytest
from report_cases import ROOT, assessed, studied

from hydro import assess, loads
from hydro.checks import CheckKind
from hydro.checks.check import COMFORT
from hydro.report.terminal.report import text

WELL_MADE = ("reef-400-back-box", "plywood-2500", "one-hole-180")
HOLE = "    siphon break: {hole: 10 mm, at: 65 mm below tank rim}"
MISTAKES = {
    "the return ends deep and nothing lets in air": (
        "reef-400-back-box", (("end: 8 cm below tank rim", "end: 35 cm below tank rim"), (HOLE, "")),
        CheckKind.POWER_CUT, "", "fails", "Fails: power cut."),
    "the hole that lets in air lies deep under water": (
        "reef-400-back-box", (("end: 8 cm below tank rim", "end: 35 cm below tank rim"), ("at: 65 mm below", "at: 33 cm below")),
        CheckKind.POWER_CUT, "", "fails", "Fails: power cut."),
    "the siphon's end stands deep under the sump's water": (
        "reef-400-back-box", (("end: 23 cm above sump bottom", "end: 4 cm above sump bottom"),),
        CheckKind.RESTART, "siphon", "tight", "Tight: restart (siphon)."),
    "no dry third": (
        "plywood-2500", (("  - name: dry third\n    inlet: {standpipe: 69 mm, lip: 7 cm below tank rim, fin: yes}\n"
                          "    line: [bulkhead 63 mm, pipe 75 PN10 100 cm]\n"
                          "    into: {chamber: inflow, end: 42 cm above sump bottom}\n", ""),),
        CheckKind.DRY_EMERGENCY, "", "tight", "Tight: no dry emergency drain."),
    "an intake a finger's breadth under water": (
        "plywood-2500", (("intake: 5 cm above", "intake: 27 cm above"),),
        CheckKind.INTAKE, "", "fails", "Fails: water over the intake."),
    "a felt-pen line too high for what comes down": (
        "one-hole-180", (("line: 19 cm above", "line: 35 cm above"),),
        CheckKind.POWER_CUT, "", "fails", "Fails: power cut.")}
"""By mistake: the case, what of its text is replaced, kind and subject of the check, its verdict, what the headline says."""


def at_stake(found):
    """Return the verdicts on floor and pump that are not 'holds', by kind and subject."""
    return {(check.kind, check.subject): check.verdict for check in found.checks
            if check.kind.stake != COMFORT and check.verdict != "holds"}


def said(found, **options):
    """Return a report on one line."""
    return " ".join(text(found, "metric", **options).split())


@pytest.mark.parametrize("name", WELL_MADE)
def test_a_well_made_build_holds(name):
    """A build that is well made holds: every check on floor and pump, every single fault, and its line lies below the highest."""
    path = ROOT / "cases" / f"{name}.yaml"
    found = assessed(path)
    assert at_stake(found) == {}
    assert said(found).split(path.name, 1)[1].startswith(" Verdict HOLDS.")
    assert not studied(path).faults.flooding
    assert "below it, good." in said(found)


def test_what_holds_beyond_its_limit_says_why():
    """All drains of the reef blocked at once would send water over the rim: the check holds, and the table says why."""
    table = said(assessed(ROOT / "cases" / "reef-400-back-box.yaml"), full=True).split("Checks")[1]
    row = table.split("holds all drains blocked")[1].split("holds one drain")[0]
    assert "42.4 L (32.7 L) -" in row
    assert "remote: it takes every drain blocked at once, the dry one that carries all alone too" in row


@pytest.mark.parametrize("mistake", MISTAKES)
def test_one_mistake_is_named_and_nothing_else(mistake):
    """A classic mistake in a well-made build makes one check worse, the headline says which, and all others hold."""
    name, changes, kind, subject, verdict, headline = MISTAKES[mistake]
    case = (ROOT / "cases" / f"{name}.yaml").read_text(encoding="utf-8")
    for old, new in changes:
        assert case.count(old) == 1
        case = case.replace(old, new)
    found = assess(loads(case))
    assert at_stake(found) == {(kind, subject): verdict}
    assert found.verdict == verdict
    assert f"Verdict {verdict.upper()}." in said(found)
    assert headline in said(found)
