"""Drains named by what they do together."""

from __future__ import annotations

from dataclasses import replace

import pytest
from builds import CURVE, drain, found, loop, pump, worked

from hydro.checks.drain_layouts import layout
from hydro.description.build import Item
from hydro.quantities.uncertain import Uncertain


def said(results):
    """Return the name of the only tank's drains."""
    return layout(results.network, results.answer, results.network.tank)


def test_one_drain_with_air():
    """A drain that runs with air alone is a single vented standpipe."""
    assert said(found(loop())) == "single vented standpipe"


@pytest.mark.parametrize(("dry", "words"), [(False, "2 vented drains"), (True, "2 vented drains, with a dry emergency drain")])
def test_vented_drains(dry, words):
    """Several drains with air are counted, a dry one beside them is said to stand by."""
    build = worked()
    drains = (*build.drains, *((drain("emergency", 1.55),) if dry else ()))
    assert said(found(worked(drains=drains))) == words


def throttled(*others, k=45.0):
    """Return a loop with a siphon throttled to just under what the pump moves, and other drains beside it."""
    siphon = drain("siphon", lip=1.440, bore=0.0362, k=0.5)
    kept = (*siphon.line, Item("gate valve", {"K": Uncertain.exact(k, "valve")}, label="valve"))
    return found(loop(drains=(replace(siphon, line=kept), *others),
                      driven_by=pump(curve=[(0.6 * flow, head) for flow, head in CURVE])))


@pytest.mark.parametrize(("dry", "words"), [(True, "siphon, open channel and dry emergency drain"),
                                            (False, "siphon, open channel and no dry emergency drain")])
def test_a_siphon_is_named_by_its_company(dry, words):
    """A throttled siphon with a trickling open channel, and a dry one above or none, is named by these functions."""
    assert said(throttled(drain("open", 1.470, bore=0.057), *((drain("emergency", 1.55),) if dry else ()))) == words


def test_a_siphon_that_flushes_has_no_name():
    """Drains that fill and flush do not work as any layout does: no name is given."""
    assert said(throttled(k=0.0)) == ""
