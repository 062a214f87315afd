"""Pumps out of tables and off the command line: what is understood, and one clear line for each mistake."""

import re
from pathlib import Path

import pytest

from hydro.errors import InputError
from hydro.search.pumps.tables import FORM, MOST_PUMPS, read_tables
from hydro.search.pumps.typed import typed_flow, typed_hours, typed_price, typed_pumps

CURVES = Path(__file__).parents[3] / "cases" / "curves"
LITRE_HOUR, GALLON_HOUR = 1e-3 / 3600.0, 231 * 0.0254**3 / 3600.0


@pytest.fixture
def table(tmp_path):
    """Return a function that writes a table and reads it."""
    def read(text, name="pumps.csv"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_tables([str(path)])
    return read


def complaints(read, *arguments):
    """Return what is complained of, without the folder of the file."""
    with pytest.raises(InputError) as problem:
        read(*arguments)
    return [re.sub(r"^/\S*/", "", str(one)) for one in problem.value.complaints]


@pytest.mark.parametrize("text", [
    "flow L/h, height m\n0, 3\n3600, 1.5\n", "flow [L/h]; height [m]\n0; 3\n3600; 1,5\n", "L/h\tm\n0\t3\n3600\t1.5\n",
    "# a remark\n\nheight in m, flow in L/h\n3, 0\n\n# another\n1.5, 3600\n", "Q L/s, H cm\n0, 300\n1, 150\n",
    "\ufeffflow (m3/h),head (m)\r\n0,3\r\n3.6,1.5\r\n"])
def test_one_curve(table, text):
    """One curve is read whatever divides its columns, in any order and any unit, and is named for its file."""
    (one,) = table(text, "brook.csv")
    assert one.name == "brook"
    assert one.points == ((0.0, pytest.approx(3.0)), (pytest.approx(1e-3), pytest.approx(1.5)))
    assert (one.watts, one.rated, one.price, one.most_flow) == ((), None, None, None)


def test_several_curves(table):
    """Rows of one name make a pump: power at every point or once, price, currency and control, in the order of the file."""
    first, second = table("pump, flow US gph, height ft, power W, price EUR, control\n'A', 0, 10, 40, 99, speed\n"
                          "B, 0, 8, 30, ,\n'A', 1000, 0, 60, 99,\nB, 500, 2, , ,\n")
    assert (first.name, second.name) == ("'A'", "B")
    assert first.watts == ((0.0, 40.0), (pytest.approx(1000 * GALLON_HOUR), 60.0))
    assert (first.price, first.currency, first.control, first.rated) == (99.0, "EUR", "speed", None)
    assert (second.rated, second.watts, second.price, second.control) == (30.0, (), None, "")
    assert second.points[0][1] == pytest.approx(8 * 0.3048)


def test_labels(table):
    """A label has most flow, most height and power, one row a pump."""
    first, second = table("name; max. flow L/h; most height m; power W\nCoot; 5000; 3,5; 40\nGrebe; 7000; 3,8;\n")
    assert (first.most_flow, first.most_height, first.rated, first.points) == (pytest.approx(5000 * LITRE_HOUR), 3.5, 40.0, ())
    assert second.rated is None


def test_the_files_that_come_along_are_sound():
    """The invented tables of cases/curves are read, say that they are invented, and hold nine pumps of every kind."""
    files = sorted(CURVES.glob("*.csv"))
    found = read_tables([str(file) for file in files])
    assert len(found) == 9
    assert {bool(one.points) for one in found} == {bool(one.watts) for one in found} == {True, False}
    assert all("invented" in file.read_text(encoding="utf-8").lower() for file in files)


HEAD = "pump, flow L/h, height m, power W, price EUR, control\n"


@pytest.mark.parametrize(("text", "expected"), [
    ("", "pumps.csv: the file is empty"),
    ("# nothing\n", "pumps.csv: the file is empty; expected columns flow and height with their units"),
    ("flow L/h, height m\n", "pumps.csv:1: no row under the head of the table"),
    ("flow, height m\n0, 1\n", "pumps.csv:1: column 'flow': 'flow' names no unit; expected a unit, such as flow L/h"),
    ("flow gph, height ft\n0, 1\n", "pumps.csv:1: column 'flow': '1 gph' does not say which gallon"),
    ("flow m, height m\n0, 1\n", "pumps.csv:1: column 'flow': '1 m' is a length; expected a flow"),
    ("flow L/h, heigth m\n0, 1\n", f"pumps.csv:1: column 2: 'heigth m'; expected {FORM}; did you mean 'height'?"),
    ("flow L/h\n0\n", "pumps.csv:1: columns 'flow L/h'; expected columns flow and height"),
    ("flow L/h, flow L/h, height m\n0, 0, 1\n", "pumps.csv:1: column 'flow': stands twice"),
    ("flow L/h, most height m\n0, 1\n", "pumps.csv:1: columns 'flow L/h', 'most height m'; expected"),
    ("most flow L/h, most height m\n5000, 3\n", "pumps.csv:1: labels of boxes without a column 'pump'"),
    (HEAD + "A, 0, 3, 40\n", "pumps.csv:2: 4 cells; expected 6 cells, as in the head of the table"),
    (HEAD + "A, none, 3, , ,\nA, 1000, 0, , ,\n", "pumps.csv:2: column 'flow': no number in 'none L/h'"),
    (HEAD + "A, , 3, , ,\nA, 1000, 0, , ,\n", "pumps.csv:2: column 'flow': nothing is written; expected a number (L/h)"),
    (HEAD + "A, 0, -3, , ,\nA, 9, 0, , ,\n", "pumps.csv:2: column 'height': '-3' is out of physical range; expected 0 to 200"),
    (HEAD + "A, 0, 2..3, , ,\nA, 1000, 0, , ,\n", "pumps.csv:2: column 'height': '2..3' has a band; expected one number"),
    (HEAD + "A, 1000, 3, , ,\nA, 500, 0, , ,\n", "pumps.csv:3: column 'flow': 'A': a flow is lower than the one before"),
    (HEAD + "A, 0, 3, , ,\nA, 0, 0, , ,\n", "pumps.csv:3: column 'flow': 'A': the same flow stands twice"),
    (HEAD + "A, 0, 3, , ,\n", "pumps.csv:2: 'A' is a curve of 1 point; expected 2 to 500 points"),
    (HEAD + "A, 0, 0, , ,\nA, 1000, 0, , ,\n", "pumps.csv:2: 'A': no point has a height above zero"),
    (HEAD + " , 0, 3, , ,\n", "pumps.csv:2: column 'pump': no name"),
    (HEAD + "A, 0, 3, 40, ,\nA, 9, 2, 50, ,\nA, 1000, 0, , ,\n", "pumps.csv:2: column 'power': 'A' has it at 2 of 3 points"),
    (HEAD + "A, 0, 3, , 9,\nA, 1000, 0, , 8,\n", "pumps.csv:3: column 'price': a second price of 'A'; expected one price a pump"),
    (HEAD + "A, 0, 3, , , sped\nA, 1000, 0, , ,\n", "pumps.csv:2: column 'control': 'sped'; expected one of throttle, speed; did "
                                                    "you mean 'speed'?"),
    ("pump, most flow L/h, most height m\nA, 50, 3\nA, 60, 3\n", "pumps.csv:3: a second label of 'A'; expected one row a pump"),
    (b"flow L/h, height m\n0, \xff\n", "pumps.csv:2: a byte that is not UTF-8 text"),
    (b"\x00\x01", "pumps.csv: the file is binary")])
def test_a_mistake_is_one_line(table, text, expected):
    """Each mistake is told once, with file, line, column and what is expected, and nothing is read."""
    (line,) = complaints(table, text)
    assert line.startswith(expected)
    assert "; expected " in line


def test_every_mistake_of_every_file_is_told(tmp_path):
    """Independent mistakes in several files, and a file that is not there, come all at once."""
    for name, text in (("a", "flow L/h, height m\n0, x\n"), ("b", HEAD + "A, 0, 3, z, ,\nB, 0, 3, , ,\n")):
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
    lines = complaints(read_tables, [str(tmp_path / f"{name}.csv") for name in ("a", "b", "c")])
    assert [line.split(" ")[0] for line in lines] == ["a.csv:2:", "b.csv:2:", "b.csv:3:", "c.csv:"]


def test_a_name_stands_once(tmp_path, table):
    """The same name in two files is a mistake, also between a file and the command line."""
    text = "pump, most flow L/h, most height m\nA, 5000, 3\n"
    for name in ("one", "two"):
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
    (line,) = complaints(read_tables, [str(tmp_path / "one.csv"), str(tmp_path / "two.csv")])
    assert line.startswith("two.csv:2: a second pump 'A'")
    (line,) = complaints(typed_pumps, [], ["A: 100 L/h, 1 m"], table(text))
    assert "a second pump 'A'" in line


def test_so_many_pumps_and_no_more(table):
    """More pumps than anybody compares are refused."""
    rows = "".join(f"p{n}, 5000, 3\n" for n in range(MOST_PUMPS + 1))
    (line,) = complaints(table, "pump, most flow L/h, most height m\n" + rows)
    assert f"{MOST_PUMPS + 1} pumps in all; expected at most {MOST_PUMPS}" in line


def test_typed_pumps():
    """Points with one power, with a power each, without a name, and a label are read off the command line."""
    points = ["Eel: 0 L/h = 5 m, 3600 L/h = 2 m; 70 W", "Ide: 0 L/h = 5 m at 40 W, 1 L/s = 0 m at 60 W",
              "[0 L/h = 2 m, 100 L/h = 1 m]"]
    one, two, three, label = typed_pumps(points, ["Orfe: 7000 L/h, 3.8 m, 70 W"])
    assert (one.name, one.points, one.rated) == ("Eel", ((0.0, 5.0), (0.001, 2.0)), 70.0)
    assert two.watts == ((0.0, 40.0), (0.001, 60.0))
    assert three.name == "typed points 3"
    assert (label.name, label.most_height, label.rated) == ("Orfe", 3.8, 70.0)


@pytest.mark.parametrize(("points", "box", "expected"), [
    ("Eel: 0 L/h = 5 m", None, "'Eel' is a curve of 1 point"), ("Eel: 5 m", None, "'5 m' is no point"),
    ("Eel: 0 L/h = 5, 9 L/h = 1 m", None, "--points: no unit on '5'"), (": 0 L/h = 5 m, 9 L/h = 1 m", None, "has no name"),
    ("Eel: 0 L/h = 5 m at 4 W, 9 L/h = 1 m", None, "a power at 1 of 2 points"), ("Eel: 9 L/h = 5 m, 0 L/h = 1 m", None, "lower"),
    ("Eel: 0 L/h = 5 m at 4 W, 9 L/h = 1 m at 5 W; 6 W", None, "a power at each point and one more"),
    (None, "Eel: 7000 L/h", "has 1 values"), (None, "Eel: 7000 L/h, 3.8", "--box: no unit on '3.8'"),
    (None, "Eel: 7000 gph, 3.8 m", "which gallon"), (None, "Eel: 0 L/h, 3.8 m", "out of physical range")])
def test_typed_mistakes(points, box, expected):
    """A mistake in what is typed names the option and what is expected."""
    (line,) = complaints(typed_pumps, [points] if points else [], [box] if box else [])
    assert expected in line
    assert line.startswith("--")
    assert "; expected " in line


@pytest.mark.parametrize(("text", "price", "word"), [("0.32 EUR", 0.32, "EUR"), ("$0.12", 0.12, "$"), (".3", 0.3, ""),
                                                     ("31 ct per kWh", 31.0, "ct"), ("0.3 kr/kWh", 0.3, "kr")])
def test_price(text, price, word):
    """A price keeps the word for its currency as typed."""
    assert typed_price(text) == (pytest.approx(price), word)


@pytest.mark.parametrize(("read", "text"), [
    (typed_price, "cheap"), (typed_price, "0,32 EUR"), (typed_price, "-1 EUR"), (typed_price, "EUR 3 EUR"), (typed_hours, "25"),
    (typed_hours, "0"), (typed_hours, "day"), (typed_flow, "4000"), (typed_flow, "-5 L/h"), (typed_flow, "1..2 L/s"),
    (typed_flow, "3 m")])
def test_wishes_that_cannot_be_used(read, text):
    """A price, hours or a flow that say nothing sensible are refused with their option's name."""
    (line,) = complaints(read, text)
    assert line.startswith("--")
    assert "; expected " in line


def test_wishes():
    """Hours come as a number or a time, a flow with its unit."""
    assert typed_hours("16") == typed_hours("16 h") == 16.0
    assert typed_flow("4000 L/h") == pytest.approx(4000 * LITRE_HOUR)
