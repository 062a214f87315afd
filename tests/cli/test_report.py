"""The command `sumpwright report`: a page in a file, and exit codes like those of `run`."""

import pytest
from page_parts import WHOLE, Tags
from report_cases import ROOT

from hydro_cli.main import main

CASE = next(path for path in WHOLE if path.stem == "spray-bar")


def test_report_writes_the_page(tmp_path, capsys):
    """With --to the page stands in that file, nothing is printed, and the exit code is 0 for a case that does not fail."""
    target = tmp_path / "spray-bar.html"
    assert main(["report", str(CASE), "--to", str(target)]) == 0
    assert capsys.readouterr().out == ""
    assert Tags(target.read_text(encoding="utf-8")).wrong == []


def test_report_names_the_file_itself(tmp_path, capsys, monkeypatch):
    """Without --to the page is named after the case, in the folder one is in, and the name is printed."""
    monkeypatch.chdir(tmp_path)
    assert main(["report", str(CASE)]) == 0
    assert capsys.readouterr().out == "spray-bar.html\n"
    assert (tmp_path / "spray-bar.html").stat().st_size > 10_000


def test_report_of_a_case_that_fails_exits_with_one(tmp_path):
    """A case that fails has its page and exit code 1."""
    target = tmp_path / "floods.html"
    assert main(["report", str(ROOT / "cases" / "floods.yaml"), "--to", str(target), "--units", "us"]) == 1
    assert "fails" in target.read_text(encoding="utf-8")


@pytest.mark.parametrize("text", ["tank: 12", "title: [", ""])
def test_report_of_a_broken_file_writes_nothing(tmp_path, text, capsys):
    """A file that cannot be used gives exit code 2, one line for each mistake, and no page."""
    case, target = tmp_path / "broken.yaml", tmp_path / "broken.html"
    case.write_text(text, encoding="utf-8")
    assert main(["report", str(case), "--to", str(target)]) == 2
    assert not target.exists()
    assert capsys.readouterr().err


def test_report_never_replaces_the_case(tmp_path):
    """Writing the page over the case file is refused."""
    case = tmp_path / "spray-bar.yaml"
    case.write_text(CASE.read_text(encoding="utf-8"), encoding="utf-8")
    assert main(["report", str(case), "--to", str(case)]) == 2
    assert case.read_text(encoding="utf-8") == CASE.read_text(encoding="utf-8")


def test_the_template_is_written_beside_the_page(tmp_path):
    """With --template the holes come at 1:1 as a PDF, on the paper asked for; without holes there is one line and none."""
    page, sheets = tmp_path / "page.html", tmp_path / "holes.pdf"
    case = str(ROOT / "cases" / "us-inch.yaml")
    assert main(["report", case, "--to", str(page), "--template", str(sheets), "--paper", "Letter"]) <= 1
    assert sheets.read_bytes().startswith(b"%PDF")
    assert main(["report", str(ROOT / "cases" / "floods.yaml"), "--to", str(page), "--template", str(tmp_path / "none.pdf")]) == 2
    assert not (tmp_path / "none.pdf").exists()


def test_prices_come_into_the_shopping_list(tmp_path):
    """A list of prices gives the shopping list its sums; a list with a mistake is one line, and no page is written."""
    page, prices = tmp_path / "page.html", tmp_path / "prices.csv"
    prices.write_text("item,price EUR,per\n32 PN10,2.50,m\n", encoding="utf-8")
    assert main(["report", str(CASE), "--to", str(page), "--prices", str(prices)]) == 0
    assert "EUR" in page.read_text(encoding="utf-8")
    page.unlink()
    prices.write_text("item,price EUR,per\n32 PN10,cheap,m\n", encoding="utf-8")
    assert main(["report", str(CASE), "--to", str(page), "--prices", str(prices)]) == 2
    assert not page.exists()
