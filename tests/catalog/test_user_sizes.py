"""An owner's own sizes and prices as CSV: what is read, and one clear line for each mistake."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hydro.catalog import BoreSize, PipeSize, adaptor, find_pipe, load_catalogue, load_prices
from hydro.errors import InputError
from hydro.quantities.csv_tables import MOST_COMPLAINTS, MOST_ROWS
from hydro.quantities.file_text import MOST_BYTES
from hydro.quantities.parsing import UnitProblem


@pytest.fixture
def write(tmp_path):
    """Return a function that writes a file and returns its path."""
    def written(content: str | bytes) -> Path:
        path = tmp_path / "mine.csv"
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        return path
    return written


def complaints(load, path) -> list[str]:
    """Return the lines that a file is refused with, without its folder."""
    with pytest.raises(InputError) as caught:
        load(path)
    assert all(complaint.file == str(path) for complaint in caught.value.complaints)
    return [str(complaint).replace(str(path), path.name) for complaint in caught.value.complaints]


@pytest.mark.parametrize("text", [
    "name,outside mm,wall mm,standard\ngrey 40,40,1.9,DIN 8062\n",
    "# invented\r\nName; Outside diameter [mm]; Wall thickness (mm); Standard; note\r\n\r\ngrey 40;40,0;1,9;DIN 8062;new\r\n",
    "size\tOD in cm\twall in cm\tstandard\ngrey  40\t4\t0,19\tdin 8062\t\n",
    "\ufeffname,standard,wall: mm,outside: mm\n\"grey 40\",DIN 8062,1.9,40\n",
    "name,outside in,wall in,standard\ngrey 40,1.574803,0.0748031,DIN 8062\n",
])
def test_a_catalogue_is_read_however_it_was_saved(write, text):
    """Commas, semicolons with decimal commas, tabs, units of any length, notes, comments and a byte order mark are understood."""
    mine = load_catalogue(write(text))
    size = mine.find("Grey 40 mm")
    assert isinstance(size, PipeSize)
    assert (size.outside, size.wall, size.bore) == pytest.approx((0.040, 0.0019, 0.0362), rel=1e-5)
    assert size.bore_rough().is_exact
    assert size.standing == "own catalogue mine.csv"
    assert adaptor(size, find_pipe("50 PN16")) is None
    assert adaptor(size, find_pipe("1-1/2 in sch 40")) is not None
    assert mine.find("40 PN10") is find_pipe("40 PN10")


def test_a_range_is_a_band(write):
    """A wall from 1.9 to 2.4 mm in 40 mm leaves a bore from 35.2 to 36.2 mm, and a bore may be a range itself."""
    mine = load_catalogue(write("name,outside mm,wall mm,bore mm\ngrey 40,40,1.9..2.4,\ngreen hose,,,24..25\n"))
    band = mine.find("grey 40").bore_rough()
    assert (band.low, band.middle, band.high) == pytest.approx((0.0352, 0.0357, 0.0362))
    hose = mine.find("green hose")
    assert isinstance(hose, BoreSize)
    assert (hose.bore_rough().low, hose.bore_rough().high) == pytest.approx((0.024, 0.025))
    assert "may be needed" in (adaptor(hose, mine.find("grey 40")) or "")


def test_outside_wall_and_bore_may_all_be_given(write):
    """A bore beside outside and wall is taken where it agrees with them to 0.3 mm, and refused where it does not."""
    text = "name,outside mm,wall mm,bore mm\ngrey 40,40,1.9,36\n"
    assert load_catalogue(write(text)).find("grey 40").bore == pytest.approx(0.0362)
    line, = complaints(load_catalogue, write(text.replace(",36\n", ",38\n")))
    assert line.endswith("column 'bore mm': a bore of 38 mm, but outside and wall leave 36.2 mm; expected figures that agree")


def test_an_unknown_size_names_the_nearest(write):
    """A size in neither catalogue is refused with the nearest of the owner's, or of the library's."""
    mine = load_catalogue(write("name,bore mm\ngreen hose,24\n"))
    for words, near in (("green hoze", "green hose"), ("40 PN12", "40 PN10")):
        with pytest.raises(UnitProblem) as caught:
            mine.find(words)
        assert caught.value.nearest == near


GOOD = "name,outside mm,wall mm,standard,price EUR per m\n"
NONE = "expected 'outside mm' and 'wall mm', or 'bore mm'"
HEADER = "expected a header such as name, outside mm, wall mm, bore mm, standard, price EUR per m"
UNIT = "expected the unit of a length, such as bore mm"
ALONE = "is not one number; expected a number alone, the unit 'mm' stands in the header"
POSITIVE = "is not above zero; expected a length above zero"
MISTAKES = [  # what stands in the file, and the line about it without the file's name
    ("", f": the file is empty; {HEADER}"),
    ("# only words\n\n", f": the file is empty; {HEADER}"),
    ("name,bore mm\n", ":1: the table has a header and no rows; expected one row for each thing"),
    (b"\x89PNG\0\0", ": the file is binary; expected plain text in UTF-8"),
    (b"name,bore mm\ngr\xfcn,24\n", ":2: a byte that is not UTF-8 text; expected plain text in UTF-8 (choose that when saving)"),
    (b"name,bore mm\n" + b"#" * MOST_BYTES, ": the file has more than 1 MB; expected a catalogue of sizes of at most 1 MB"),
    ("name,bore mm\n" + "a,20\n" * (MOST_ROWS + 1), f": {MOST_ROWS + 1} rows; expected at most {MOST_ROWS}"),
    ("name,outside mm\ngrey,40\n", f":1: no column 'wall'; {NONE}"),
    ("name,wall mm\ngrey,2\n", f":1: no column 'outside'; {NONE}"),
    ("name,standard\ngrey,DIN 8062\n", f":1: no column 'bore'; {NONE}"),
    ("bore mm\n20\n", f":1: no column 'name'; {HEADER}"),
    ("name,bore\ngrey,20\n", f":1: column 'bore': no unit; {UNIT}"),
    ("name,bore kg\ngrey,20\n", f":1: column 'bore kg': 'kg' is a weight; {UNIT}"),
    ("name,bore mn\ngrey,20\n", f":1: column 'bore mn': unknown unit 'mn'; {UNIT}"),
    ("name,boore mm\ngrey,20\n",
     ":1: unknown column 'boore mm'; expected one of name, outside, wall, bore, standard, price, note; did you mean 'bore'?"),
    ("name,bore mm,inside cm\ngrey,20,2\n", ":1: two columns for 'bore'; expected each column once"),
    ("name,bore mm,price\ngrey,20,3\n",
     ":1: column 'price': no currency; expected the word of a currency, such as price EUR per m"),
    ("name,bore mm,price 12\ngrey,20,3\n",
     ":1: column 'price 12': '12' is no currency; expected the word of a currency, such as price EUR per m"),
    ("name mm,bore mm\ngrey,20\n", ":1: column 'name mm': 'mm' behind 'name'; expected 'name' alone"),
    (GOOD + "grey,40,-1.9,,\n", f":2: column 'wall mm': '-1.9' {POSITIVE}"),
    (GOOD + "grey,40,0,,\n", f":2: column 'wall mm': '0' {POSITIVE}"),
    (GOOD + "grey,40,20,,\n",
     ":2: column 'wall mm': a wall of 20 mm is half the outside of 40 mm or more; expected a wall that leaves a bore"),
    (GOOD + "grey,40,thin,,\n", f":2: column 'wall mm': 'thin' {ALONE}"),
    (GOOD + "grey,40 mm,1.9,,\n", f":2: column 'outside mm': '40 mm' {ALONE}"),
    (GOOD + "grey,nan,1.9,,\n", f":2: column 'outside mm': 'nan' {ALONE}"),
    (GOOD + "grey,1e999,1.9,,\n", f":2: column 'outside mm': '1e999' {ALONE}"),
    (GOOD + "grey,40,,,\n", ":2: column 'wall mm': nothing is written; expected outside and wall, or bore"),
    (GOOD + "grey,4000,1.9,,\n",
     ":2: column 'outside mm': a bore of 3996 mm is out of range; expected bores from 3 mm to 500 mm; "
     "is the unit of the header right?"),
    (GOOD + "grey,40,1,9,DIN 8062,2\n",
     ":2: 6 values under 5 columns; expected 5 values; with decimal commas, semicolons between the columns"),
    (GOOD + 'grey,40,"1,9",,\n',
     ":2: column 'wall mm': a comma in the number '1,9'; expected a number alone, the unit 'mm' stands in the header; "
     "did you mean '1.9'?"),
    (GOOD + 'grey,"40,1.9,,\n',
     ":2: a quote in 'grey,\"40,1.9,,' does not fit; expected quotes round a whole cell, an inch sign as 'in'"),
    (GOOD + ",40,1.9,,\n", ":2: column 'name': nothing is written; expected a name"),
    (GOOD + "x" * 61 + ",40,1.9,,\n", ":2: column 'name': a name of 61 letters; expected at most 60"),
    (GOOD + "grey 40,40,1.9,,\nother,32,1.8,,\nGrey  40 mm,40,2,,\n",
     ":4: column 'name': 'Grey 40 mm' stands twice (first in line 2); expected each name once"),
    (GOOD + "40 mm,40,1.9,,\n",
     ":2: column 'name': '40 mm' reads as a number or a length; expected a name with a word in it, such as 'grey 40'"),
    (GOOD + "40,40,1.9,,\n",
     ":2: column 'name': '40' reads as a number or a length; expected a name with a word in it, such as 'grey 40'"),
    (GOOD + "40 pn10,40,2.5,,\n", ":2: column 'name': '40 pn10' is in the catalogue already (DIN 8062 (read), bore 36.2 mm); "
                                  "expected a name of its own, such as 'my 40 PN10'"),
    (GOOD + "grey,40,1.9,,-2\n", ":2: column 'price EUR per m': '-2' is below zero; expected a price from 0 to 10000000"),
    (GOOD + "grey,40,1.9,,cheap\n", ":2: column 'price EUR per m': 'cheap' is not one number; expected one number"),
    (GOOD.replace("per m", "per kg") + "grey,40,1.9,,2\n",
     ":2: column 'price EUR per kg': '1 kg' is a weight; expected 'piece', or a length, such as m or 5 m"),
    (GOOD + "gr\x1b[31mey,40,1.9,,\n", ":2: a control character; expected plain text"),
]


@pytest.mark.parametrize(("text", "line"), [pytest.param(*row, id=row[1].partition(": ")[2][:60]) for row in MISTAKES])
def test_a_mistake_in_a_catalogue_is_one_clear_line(write, text, line):
    """Each mistake is one line with file, line, column, what stands there and what is expected."""
    found, = complaints(load_catalogue, write(text))
    assert found == f"mine.csv{line}"
    assert found.isprintable()


def test_every_mistake_is_found_at_once(write):
    """All mistakes of a table come back together, in the order of the file; the last of very many are not listed."""
    text = GOOD + "grey,40,-1,,\nblack,x,1.9,,\nred,40,30,,y\n"
    assert [line.split(": ")[0] for line in complaints(load_catalogue, write(text))] == [
        "mine.csv:2", "mine.csv:3", "mine.csv:4", "mine.csv:4"]
    many = complaints(load_catalogue, write(GOOD + "".join(f"pipe {k} x,40,30,,\n" for k in range(1000))))
    assert len(many) == MOST_COMPLAINTS + 1
    assert "the rest was not read" in many[-1]


_CELLS = st.one_of(st.text(max_size=8), st.sampled_from([
    "name", "item", "bore mm", "wall in", "outside", "price EUR", "per", "m", "40", "1.9..2.4", "-1", "", '"', "1,5", "40 PN10",
    "#", "nan", "1e308", "\x1b", "\u2028", "EUR/", "wall mm per"]))


@settings(max_examples=300, deadline=None)
@given(rows=st.lists(st.lists(_CELLS, max_size=6), max_size=6), mark=st.sampled_from(",;\t"), load=st.sampled_from([0, 1]))
def test_whatever_stands_in_a_file_is_read_or_refused(tmp_path_factory, rows, mark, load):
    """Any text is read or refused with complaints in printable lines; nothing else is raised."""
    path = tmp_path_factory.mktemp("any") / "any.csv"
    path.write_bytes("\n".join(mark.join(row) for row in rows).encode("utf-8", "surrogatepass"))
    refused = ()
    try:
        (load_catalogue, load_prices)[load](path)
    except InputError as problem:
        refused = problem.complaints
    assert all(str(complaint).isprintable() for complaint in refused)


@pytest.mark.parametrize("load", [load_catalogue, load_prices])
def test_what_is_no_file_is_refused(load, tmp_path):
    """A missing file and a folder are refused in one line each."""
    assert "there is no such file" in complaints(load, tmp_path / "gone.csv")[0]
    assert "this is a folder" in complaints(load, tmp_path)[0]


def test_prices_of_a_catalogue(write):
    """A size may have a price in the currency of the header, for a metre where the header says so; one without has none."""
    mine = load_catalogue(write("name;bore mm;price EUR/m\ngreen hose;24;2,50\nblue hose;30;\n"))
    assert set(mine.prices) == {"green hose"}
    price = mine.prices["green hose"]
    assert (price.amount, price.currency, price.per, price.per_metre) == (2.5, "EUR", 1.0, 2.5)


def test_a_list_of_prices(write):
    """A price stands for a piece unless a length is named, and is found however the size in its words is written."""
    prices = load_prices(write("item,price US dollars,per\nelbow 90 50 PN10,2.40,\nelbow 45 50 PN10,2.20,each\n"
                               "50 PN10,12.50,5 m\n2 in sch 40,3,ft\ngift,0,piece\n"))
    assert prices.currency == "US dollars"
    elbow = prices.find("Elbow 90  50 pn 10")
    assert elbow is not None
    assert (elbow.amount, elbow.per, elbow.per_metre) == (2.4, None, None)
    assert {words: price.per_metre for words, price in prices.prices.items() if price.per} == {
        "50 PN10": pytest.approx(2.5), "2 in sch 40": pytest.approx(3 / 0.3048)}
    assert prices.prices["gift"].amount == 0.0
    assert prices.find("elbow 90 63 PN10") is None


@pytest.mark.parametrize(("text", "line"), [
    ("item,price EUR\nelbow,\n", ":2: column 'price EUR': nothing is written; expected a price, or no row for the item"),
    ("item,price EUR\nelbow,2\nElbow,3\n",
     ":3: column 'item': 'Elbow' stands twice (first in line 2); expected each name once"),
    ("item,price EUR,per\nelbow,2,kg\n",
     ":2: column 'per': '1 kg' is a weight; expected 'piece', or a length, such as m or 5 m"),
    ("item,price EUR,per\nelbow,2,0 m\n",
     ":2: column 'per': '0 m' is not above zero; expected 'piece', or a length, such as m or 5 m"),
    ("item,price EUR\nelbow,1e9\n", ":2: column 'price EUR': a price of 1e+09; expected a price from 0 to 10000000"),
    ("item;price €\nelbow;1.234,50\n", ":2: column 'price €': '1.234.50' is not one number; expected one number"),
    ("item,per\nelbow,m\n", ":1: no column 'price'; expected a header such as item, price EUR, per"),
])
def test_a_mistake_in_a_list_of_prices_is_one_clear_line(write, text, line):
    """Each mistake is one line with file, line, column, what stands there and what is expected."""
    found, = complaints(load_prices, write(text))
    assert found == f"mine.csv{line}"
