"""What hangs on a throttled valve is in doubt, unless its K is known or it is tuned."""

from dataclasses import replace

import pytest
from builds import CURVE, drain, loop, pump

from hydro.checks import FAILS, HOLDS, CheckKind
from hydro.checks.assessment import assess
from hydro.description.build import Item
from hydro.elements.fittings import THROTTLED, TRICKLE
from hydro.quantities.uncertain import Uncertain
from hydro.steady.operating_point import STEADY


def assessed(**written):
    """Return what is said of a siphon behind a valve with an open channel and a spare above it."""
    siphon = drain("siphon", 1.34, bore=0.0362, k=0.5)
    valve = Item("gate valve", {name: value if isinstance(value, str) else Uncertain.exact(value, f"valve: {name}")
                                for name, value in written.items()}, label="drain siphon: gate valve")
    return assess(loop(drains=(replace(siphon, line=(*siphon.line, valve)), drain("open", 1.470), drain("spare", 1.52)),
                       driven_by=pump(curve=[(0.6 * flow, head) for flow, head in CURVE]),
                       overrides={one.name: one.uncertain() for one in (THROTTLED, TRICKLE)}))


def test_a_siphon_that_hangs_on_a_valves_curve_is_in_doubt():
    """At 21 % open the siphon holds by the table's K and flushes at half of it: the row on running steadily is in doubt."""
    found = assessed(open=0.21)
    assert found.answer.kind == STEADY
    row = found.check(CheckKind.STEADY)
    assert row.verdict not in (HOLDS, FAILS)
    assert f"'{THROTTLED.name}' at its low end" in row.because
    assert THROTTLED.name in [one.name for one in found.assumed]


@pytest.mark.parametrize("written", [{"K": 31.0}, {"open": "tuned"}], ids=str)
def test_a_known_or_tuned_valve_leaves_no_doubt(written):
    """With the K of its owner, or tuned until the channel trickles, the same siphon runs steadily over all bands."""
    found = assessed(**written)
    assert found.check(CheckKind.STEADY).verdict == HOLDS
    assert THROTTLED.name not in [one.name for one in found.assumed]
