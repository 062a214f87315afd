"""Every case in cases/ says in its first lines what it is and which verdict it gets; it is held to that."""

import re

from report_cases import CASES, assessed, every_case

from hydro import load

REASONS = {
    "floods": ({"power cut"}, set()), "check-valve-saves": ({"power cut"}, set()), "worked-loop": ({"blocked drain 2"}, set()),
    "blocked-over-rim": ({"blocked left", "blocked right"}, set()), "demo": (set(), {"power cut"}), "us-inch": (set(), set()),
    "tub-and-mats": (set(), set())}
"""By case: the rows that fail, all of them, and rows that must hold."""


@every_case
def test_verdict_is_the_one_written(path):
    """The first lines of a case say that it is invented and which verdict it gets, and the checks give that verdict."""
    head = "".join(line for line in path.read_text(encoding="utf-8").splitlines(keepends=True)[:6] if line.startswith("#"))
    assert "nvented" in head
    written = re.search(r"# Verdict: (holds|only just|fails)\. \S", head)
    assert written, head
    assert assessed(path).verdict == written[1]


@every_case
def test_what_fails_is_what_the_case_is_for(path):
    """A case that fails does so for the one reason it was made for."""
    fails, hold = REASONS[path.stem]
    rows = {row.key: row.verdict for row in assessed(path).rows}
    assert {key for key, verdict in rows.items() if verdict == "fails"} == fails
    assert all(rows[key] == "holds" for key in hold)


def test_only_the_check_valve_saves_and_is_named():
    """The row of check-valve-saves says that only the valve keeps the water off the floor, and with it counted on it holds."""
    found = next(assessed(path) for path in CASES if path.stem == "check-valve-saves")
    assert "only a check valve" in found.row("power cut").because
    stopped = found.findings.stopped
    assert stopped[False, True].spare > 0.0 > stopped[False, False].spare


def test_there_is_a_case_of_each_kind():
    """The cases cover a felt-pen line, bucket fills, mats, box labels, US units, check valves, and each vessel is sound."""
    builds = [load(path) for path in CASES]
    assert {"metric", "US"} <= {build.units for build in builds}
    assert {"inside", "bucket fill"} <= {build.sump.shape.kind for build in builds}
    assert any(build.pump.most_flow for build in builds)
    assert any(chamber.end and chamber.end.kind == "mat" for build in builds for chamber in build.chambers)
