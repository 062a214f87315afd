"""What a case file leaves open: where, which candidates, which numbers they drive, and every mistake in one clear line."""

from __future__ import annotations

import pytest
from open_cases import trough

from hydro.case import loads
from hydro.case.syntax.open_values import open_places
from hydro.checks import CheckKind
from hydro.errors import InputError
from hydro.quantities.parsing import UnitProblem
from hydro.search.sizing.candidates import MOST_STEPS, candidates
from hydro.search.sizing.goals import read_goals
from hydro.search.sizing.openings import read_openings
from hydro.search.sizing.search import halton, neighbours
from hydro.search.sizing.shapes import read_shapes
from hydro.search.sizing.weighing import beats, front, short_list, tidy


def opened(**values):
    """Return what such a text leaves open."""
    return read_openings(trough(**values), "trough.yaml")


def complaints(text):
    """Return what is said of a text that cannot be used."""
    with pytest.raises(InputError) as caught:
        read_shapes(read_openings(text, "trough.yaml"))
    return [str(complaint) for complaint in caught.value.complaints]


def test_a_range_is_stepped_as_a_tape_shows_it():
    """A range goes from end to end in at most twelve steps of whole millimetres, fives, tens; inches in sixteenths and up."""
    assert candidates("12 .. 18 cm")[:3] == ["12 cm", "12.5 cm", "13 cm"]
    assert candidates("12 .. 18 cm by 1 cm") == [f"{k} cm" for k in range(12, 19)]
    assert candidates("1-1/2 .. 2 in") == ["1-1/2 in", "1-9/16 in", "1-5/8 in", "1-11/16 in", "1-3/4 in", "1-13/16 in",
                                           "1-7/8 in", "1-15/16 in", "2 in"]
    assert candidates("2 .. 4") == ["2", "3", "4"]
    for text in ("3 .. 19 mm", "1 .. 2 m", "3000 .. 5000 L/h", "0 .. 100 %", "1 .. 7 ft", "10 .. 21 cm"):
        low, _, high = text.partition(" .. ")
        found = candidates(text)
        assert len(found) <= MOST_STEPS + 2
        assert found[0].startswith(f"{low} ")
        assert found[-1] == high


@pytest.mark.parametrize(("said", "found"), [
    ("18 .. 12 cm", "does not go from low to high"), ("12 cm .. 18 in", "has two units"),
    ("12 .. 18 cm by 0 cm", "a step of nothing"),
    ("0 .. 900 mm by 1 mm", "makes 901 values"), ("50 PN10 or 50 PN10", "names one value"), ("50 PN10 or", "nothing beside it"),
    ("PN11", "names no candidates"), ("12 .. 13 cm by 5 cm", "holds one value"), ("12 .. 18 cm by 1 L", "steps in 'L'")])
def test_candidates_that_make_no_sense_are_refused(said, found):
    """Ranges that run backwards, lists of one, series that are none: each is refused in words."""
    with pytest.raises(UnitProblem, match=found):
        candidates(said)


def test_lists_series_names_and_what_follows():
    """A list ends where its last candidate has as many words as the first, a series is a ladder, what follows stays in place."""
    assert opened(bore="? 40 PN10 or 50 PN10").filled((1,)) == trough(bore="50 PN10")
    assert opened(bore="?(40 PN10 or 50 PN10)").filled((0,)) == trough(bore="40 PN10")
    series = opened(bore="? PN10").values[0]
    assert {"40 PN10", "50 PN10", "63 PN10"} <= set(series.candidates)
    assert series.candidates == tuple(sorted(series.candidates, key=lambda words: int(words.split()[0])))
    assert opened(lip="? 8 .. 10 cm below tank rim by 1 cm").filled((2,)) == trough(lip="10 cm below tank rim")
    named = opened(bore="?bore", more="open: {bore: 40 PN10 or 50 PN10}\n")
    assert named.filled((1,)) == trough(bore="50 PN10", more="\n")
    assert named.written((1,)) == trough(bore="50 PN10")


def test_a_name_is_one_value_wherever_it_stands():
    """A named open value takes the same candidate in all its places."""
    both = opened(bore="?b 40 mm or 50 mm", riser="?b")
    assert len(both.values) == 1
    assert both.filled((0,)) == trough(bore="40 mm", riser="40 mm")


def test_a_mark_alone_knows_some_natural_ranges():
    """For a size it stands for the series written nearest by, for a lip and a speed for a range; for a height it does not."""
    text = trough(bore="?", more="defaults: {}\n").replace("hose 25 mm", "pipe 32 PN16")
    assert "50 PN16" in read_openings(text, "x.yaml").values[0].candidates
    assert opened(riser="?").values[0].candidates[:2] == ("12 mm", "16 mm")
    lips = opened(lip="?").values[0].candidates
    assert (lips[0], lips[-1]) == ("3 cm below tank rim", "20 cm below tank rim")
    speed = read_openings(trough().replace("4000 L/h = 0 m]", "4000 L/h = 0 m], speed: ?"), "x.yaml").values[0]
    assert speed.candidates[-1] == "100 %"
    assert "says nothing about what may stand here" in complaints(trough().replace("bottom: 90 cm above ground", "bottom: ?"))[0]


def test_titles_notes_and_comments_may_ask():
    """A question in a title, a note or behind '#' leaves nothing open."""
    text = trough(more="notes:\n  - who feeds them on Sunday ? \n  - and who ?pays\n") + "# pipe ? 40 PN10 or 50 PN10\n"
    assert open_places(text) == []
    assert loads(text, "x.yaml").title == "A trough, where to?"


def test_other_commands_say_who_answers():
    """A file with open values is refused line by line, with the command that works them out; one with goals is read."""
    with pytest.raises(InputError) as caught:
        loads(trough(bore="? PN10", riser="? 20 mm or 25 mm"), "trough.yaml")
    lines = [str(complaint) for complaint in caught.value.complaints]
    assert len(lines) == 2
    assert lines[0].startswith("trough.yaml:8: ")
    assert all("'sumpwright size' works out what is left open" in line for line in lines)
    assert loads(trough(more="goals: {quiet: yes}\n")).notes == ("goals: quiet yes",)


MISTAKES = {
    "nothing open": (trough(), "nothing is left open"),
    "no such name": (trough(bore="?bore"), "trough.yaml:8: ?bore: nothing says what 'bore' may be"),
    "unused": (trough(bore="? PN10", more="open: {bore: 40 PN10 or 50 PN10}\n"), "12: open: bore: stands nowhere in the file"),
    "twice": (trough(bore="?b 40 mm or 50 mm", riser="?b 20 mm or 25 mm"), "its candidates are stated 2 times (lines 8 and 11)"),
    "not in the catalogue": (trough(bore="? 40 PN10 or 51 PN10"), "trough.yaml:8: drain left: "),
    "one value": (trough(lip="? 12 cm below tank rim"), "names one value"),
    "a list in open": (trough(bore="?b", more="open: {b: [1, 2]}\n"), "12: open: b: this is no text"),
    "open is no table": (trough(bore="?b", more="open: 12\n"), "no names with candidates")}


@pytest.mark.parametrize("name", MISTAKES)
def test_mistakes_come_in_one_line_each(name):
    """Every mistake names file, line and key, what stands there, and what is expected."""
    text, words = MISTAKES[name]
    said = complaints(text)
    assert len(said) == 1
    assert words in said[0]
    assert "; expected " in said[0]


def test_what_an_open_value_drives_is_found_by_reading():
    """A twin's numbers move along, a candidate drives the values its text gives, and builds can be made without text."""
    openings = opened(lip="? 6 .. 10 cm below tank rim by 2 cm", bore="? 40 PN10 or 50 PN10")
    shapes = read_shapes(openings)
    (topology,) = shapes.topologies
    assert shapes.count == 6
    sample = topology.sample([(0, 1), (2, 0)])
    assert sample["drain left: lip"].tolist() == pytest.approx([-0.06, -0.10])
    assert set(sample) == {"drain left: lip", "drain right: lip", "drain left: pipe: size", "drain right: pipe: size"}
    alone = loads(openings.filled((2, 0)), "trough.yaml")
    made = topology.built((2, 0))
    assert [one.inlet.values for one in made.drains] == [one.inlet.values for one in alone.drains]
    assert [item.values for item in made.drains[1].line] == [item.values for item in alone.drains[1].line]


def test_numbers_of_drains_are_layouts_of_their_own():
    """'?2 .. 3 x NAME' makes one topology a number; other curves do too."""
    text = trough(bore="? 40 PN10 or 50 PN10").replace("{name: left, ", "?2 .. 3 x stand: {").replace(
        "  - {name: right, same as: left}\n", "")
    shapes = read_shapes(read_openings(text, "x.yaml"))
    assert [len(topology.build.drains) for topology in shapes.topologies] == [2, 3]
    assert shapes.count == 4


def test_candidates_of_a_range_that_the_file_cannot_have_are_left_out():
    """A lip below the tank's bottom is left out with the reader's words; written out in a list it is a mistake."""
    shapes = read_shapes(opened(lip="? 10 .. 70 cm below tank rim by 20 cm"))
    assert sorted(shapes.refused) == [(0, 2), (0, 3)] or sorted(shapes.refused) == [(0, 3)]
    assert shapes.count == 4 - len(shapes.refused)
    assert complaints(trough(lip="? 10 cm below tank rim or 70 cm below tank rim"))


def test_goals_are_read_in_the_trades_words():
    """Goals ask for checks by yes and no, for turnover and flow by numbers; a wish is a goal; mistakes have lines."""
    goals = read_goals(trough(more="goals: {quiet: yes, flow: 1000 .. 2000 L/h}\n"), "x.yaml", {})
    assert goals.asked == (CheckKind.NOISE,)
    assert goals.flow.high == pytest.approx(2.0 / 3600.0)
    wishing = trough(more="wishes: {turnover: 2 .. 5 per hour}\n")
    assert read_goals(wishing, "x.yaml", loads(wishing).wishes).asked == (CheckKind.TURNOVER,)
    with pytest.raises(InputError, match=r"x.yaml:12: goals: silent: unknown key"):
        read_goals(trough(more="goals: {silent: yes}\n"), "x.yaml", {})
    twice = trough(more="wishes: {turnover: 2 per hour}\ngoals: {turnover: 3 per hour}\n")
    with pytest.raises(InputError, match="stands twice"):
        read_goals(twice, "x.yaml", loads(twice).wishes)


def test_the_front_has_what_no_other_beats():
    """Of pairs the ones stay that none is at least as good as in both; of equal ones that with the fewest doubts."""
    costs = [tidy(pair) for pair in ((1, 5), (2, 2), (5, 1), (3, 3), (2, 2), (2, 6), (1.0000000001, 5))]
    assert front(costs, [0, 1, 0, 0, 0, 0, 0]) == [0, 2, 4]
    assert beats((1.0, 2.0), (1.0, 3.0))
    assert not beats((1.0, 2.0), (1.0, 2.0))
    assert not beats((0.0, 4.0), (1.0, 3.0))


def test_the_short_list_shows_the_spread():
    """The even one comes first and says so, then the best by each figure, then what lies farthest from those."""
    costs = [(0.0, 10.0), (10.0, 0.0), (3.0, 3.0), (9.9, 0.1), (5.0, 2.0)]
    listed = short_list(costs, 4)
    assert [k for k, _ in listed] == [2, 0, 1, 4]
    assert [bool(why) for _, why in listed] == [True, False, False, False]
    assert len(short_list(costs, 2)) == 2
    assert short_list([], 3) == []


def test_samples_are_even_and_the_same_every_time():
    """Halton's sequence visits every candidate of each value about equally often, in the same order each time."""
    counts = [(0, 1, 2), (4, 5), tuple(range(5))]
    drawn = [choice for choice, _ in zip(halton(counts), range(300), strict=False)]
    assert drawn == [choice for choice, _ in zip(halton(counts), range(300), strict=False)]
    for place, candidates_of in enumerate(counts):
        share = [sum(choice[place] == one for choice in drawn) / 300.0 for one in candidates_of]
        assert share == pytest.approx([1.0 / len(candidates_of)] * len(candidates_of), rel=0.1)
    assert sorted(neighbours((0, 5, 2), counts)) == [(0, 4, 2), (0, 5, 1), (0, 5, 3), (1, 5, 2)]
