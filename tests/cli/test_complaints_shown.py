"""However much is wrong, and however long what stands there, complaints stay a screen that can be read."""

import pytest

from hydro.errors import Complaint
from hydro.report.content.named import EXAMPLE
from hydro_cli.main import main
from hydro_cli.output import MOST_LETTERS, short


@pytest.mark.parametrize(("mistakes", "shown", "last"), [(49, 49, None), (50, 50, None), (51, 50, "sumpwright: and 1 more"),
                                                         (400, 50, "sumpwright: and 350 more")])
def test_at_most_fifty_complaints(mistakes, shown, last, tmp_path, capsys):
    """Of more than fifty mistakes fifty are shown, the first ones, and the others counted."""
    case = tmp_path / "case.yaml"
    case.write_text(EXAMPLE + "".join(f"\nkey number {k}: 1" for k in range(mistakes)) + "\n", encoding="utf-8")
    assert main(["check", str(case)]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == shown + (last is not None)
    assert "key number 0:" in lines[0]
    assert last is None or lines[-1] == last


@pytest.mark.parametrize("complaint", [
    Complaint("a.yaml", 3, "tank: inside", "x" * 5000, "a length", "12 cm"), Complaint("a.yaml", 3, "k" * 900, "x", "a length"),
    Complaint("a.yaml", 3, "key", "x", ", ".join(["word"] * 400), "word"), Complaint("/f" * 2000, 3, "key", "x", "y", "n" * 900),
    Complaint("f" * 5000, 3, "k" * 5000, "x" * 5000, "y" * 5000, "n" * 5000)])
def test_a_complaint_has_at_most_300_letters(complaint):
    """A complaint of any length is cut to 300 letters, and keeps its line, its key's first letters, and the word that is near."""
    text = short(complaint)
    assert len(text) <= MOST_LETTERS == 300
    assert ":3:" in text
    assert not complaint.nearest or f"did you mean '{complaint.nearest[:40]}" in text


def test_a_usual_complaint_is_left_alone():
    """A complaint that fits is told word for word."""
    complaint = Complaint("a.yaml", 3, "tank: inside", "'3'", "three sides", "3 cm")
    assert short(complaint) == str(complaint)


def test_endless_numbers_are_not_echoed(tmp_path, capsys):
    """Of a number with hundreds of digits the first ten are shown."""
    case = tmp_path / "case.yaml"
    case.write_text(EXAMPLE.replace("120 x 50 x 50 cm", f"{'9' * 150} x 50 x 50 cm"), encoding="utf-8")
    assert main(["check", str(case)]) == 2
    err = capsys.readouterr().err
    assert "9999999999... x 50 x 50 cm" in err
    assert "9" * 11 not in err
