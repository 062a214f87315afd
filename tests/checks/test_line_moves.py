"""How far each default moves the felt-pen line, against the line of a file that sets the default to that end."""

import pytest
from report_cases import ROOT, assessed, studied

from hydro import assess, loads
from hydro.report.html.basis import basis_section
from hydro.report.terminal.report import text

INCHES = ROOT / "cases" / "us-inch.yaml"


def line_with(name, value):
    """Return the highest line (m) of the inch case with a default set in the file."""
    return assess(loads(f"{INCHES.read_text(encoding='utf-8')}defaults: {{{name}: {value}}}\n")).wanted_line.height


@pytest.mark.parametrize(("name", "low", "high"), [("rim orifice coefficient", 0.40, 0.62), ("pump strength", 0.93, 1.07)])
def test_a_default_moves_the_line_as_setting_it_does(name, low, high):
    """The line moves by as much as that of the same file with the default set to the end of its band, 0.2 mm aside."""
    here = assessed(INCHES).wanted_line.height
    by_hand = [line_with(name, value) - here for value in (low, high)]
    assert studied(INCHES).line_moves[name] == pytest.approx(by_hand, abs=2e-4)
    assert max(map(abs, by_hand)) > 5e-4


def test_what_does_not_move_the_line_is_left_out():
    """A still pump's resistance has no say in how much comes down, and no figure."""
    assert "stopped pump K" not in studied(INCHES).line_moves


def test_a_build_without_a_line_has_no_moves():
    """Where no line is low enough, no default moves it."""
    assert studied(ROOT / "cases" / "floods.yaml").line_moves == {}


def test_the_report_and_the_page_tell_it_where_the_default_stands():
    """Swirl in the rims takes 56 mm from the line of the inch case: said behind its default, in the text and on the page."""
    report = " ".join(text(studied(INCHES), "metric", full=True).split("Assumed\n")[1].split())
    entry = report.split("- rim orifice coefficient 0.606")[1].split(" - ")[0]
    assert entry.endswith("line -56 / 0 mm")
    row = str(basis_section(studied(INCHES), "metric").body).split("rim orifice coefficient")[1].split("</tr>")[0]
    assert "-56 mm" in row
