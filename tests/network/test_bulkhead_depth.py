"""How deep a bulkhead lies under the lip of what stands on it: as stated, as drilled, or as is common."""

import pytest

from hydro.case import loads
from hydro.network.assembly import make_network

CASE = """
tank: {inside: 100 x 50 x 50 cm, bottom: 1 m above ground}
sump: {inside: 100 x 50 x 50 cm, bottom: at ground, line: 25 cm above sump bottom}
drains:
  - {inlet: {standpipe: 57 mm, lip: 5 cm below tank rim}, line: [bulkhead 40 mm, pipe 63 PN10 1 m],
     into: {end: 30 cm above sump bottom}}
pump: {curve: [0 L/h = 4 m, 6000 L/h = 0 m]}
returns: [{line: [hose 25 mm 2 m], end: 3 cm below tank rim}]
"""


def under_lip(*changes):
    """Return the drain of the case with some of its text replaced, and how deep its first narrow place lies under the lip, m."""
    text = CASE
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    network = make_network(loads(text, "my.yaml"))
    drain = network.links[network.drains[0]].element
    return drain, drain.narrows[0].drop, network.used


LIP = "lip: 5 cm below tank rim"
INTO = "into: {end: 30 cm above sump bottom}"


@pytest.mark.parametrize(("changes", "depth"), [
    ([], 0.45), ([(LIP, f"{LIP}, length: 30 cm")], 0.30), ([(LIP, f"{LIP}, bulkhead: 8 cm above tank bottom")], 0.37),
    ([("standpipe: 57", "elbow up: 57")], 0.057),
    ([("standpipe: 57", "elbow up: 57"), (LIP, f"{LIP}, bulkhead: 12 cm below tank rim")], 0.07),
    ([(INTO, f"{INTO}, hole: {{in: back, diameter: 60 mm, from left: 20 cm}}")], 0.057)],
    ids=["bottom", "length", "bulkhead's height", "elbow", "elbow on a bulkhead of stated height", "standpipe through the back"])
def test_depth_of_the_bulkhead(changes, depth):
    """With the lip 45 cm up a standpipe's bulkhead is at the bottom, an elbow's 57 mm under its lip, else as stated."""
    drain, drop, used = under_lip(*changes)
    assert drop == pytest.approx(depth)
    assert drain.inlet.throat == 0.057
    assert any("common practice" in used[name].source for name in used if name.startswith(("standpipe's", "elbow height"))) == (
        "length" not in str(changes) and "bulkhead:" not in str(changes))


def test_a_standpipe_that_is_the_line_s_own_pipe_is_as_it_was():
    """Where no bulkhead begins the line the pipe itself reaches up to the lip, and its bore (56.5 mm) is the throat."""
    drain, _, _ = under_lip(("bulkhead 40 mm, ", ""), ("1 m]", "50 cm, pipe 50 PN10 50 cm]"))
    assert drain.inlet.throat == pytest.approx(0.0565, abs=2e-4)
    assert drain.narrows[0].drop == pytest.approx(0.5 * (1.45 - 0.30))
