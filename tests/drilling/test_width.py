"""The width of a panel's drawing: a page prints it to scale."""

import re

import pytest
from report_cases import ROOT

from hydro.case import loads
from hydro.checks.assessment import assess
from hydro.drilling.sheet import sheet_of
from hydro.report.drawing.panel_drawing import WIDEST, label_boxes, panel_drawing

DEMO = (ROOT / "cases" / "demo.yaml").read_text(encoding="utf-8")


@pytest.mark.parametrize("left", ["35 cm", "120 cm", "203 cm", "228 cm"])
@pytest.mark.parametrize("system", ["metric", "US"])
def test_no_drawing_is_wider_than_a_page_prints(left, system):
    """Wherever the second hole of the demo's back lies, drawing and figures end within 180 mm."""
    text = DEMO.replace("hole: {from left: 203 cm}", f"hole: {{from left: {left}}}")
    for one in sheet_of(assess(loads(text)), system, bands=False).panels:
        if drawn := str(panel_drawing(one, system)):
            assert float(re.search(r'width="([0-9.]+)mm"', drawn)[1]) <= WIDEST
            assert max(box[2] for box in label_boxes(one, system)) <= WIDEST
