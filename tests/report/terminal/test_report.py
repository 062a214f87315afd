"""The report for a terminal: what stands where, and how wide it gets."""

import math
import re
import unicodedata
from collections import Counter

import pytest
from report_cases import CASES, ROOT, SURGING, SYSTEMS, assessed, every_case, studied, varied

from hydro.case import loads
from hydro.checks import CheckKind
from hydro.checks.assessment import assess
from hydro.checks.check import COMFORT
from hydro.faults.table import fault_table
from hydro.report.html.summary import summary_section
from hydro.report.terminal.report import text
from hydro.scenarios.results import COMBINATIONS

every = pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
WEAK = "0 L/h = 1.1 m, 3000 L/h = 0.6 m, 6000 L/h = 0 m"
DROOPS = "0 L/h = 1.1 m, 2000 L/h = 1.7 m, 3000 L/h = 1.6 m, 6000 L/h = 0 m"
HOLE = ("end: 10 cm below tank rim", "end: 20 cm below tank rim, siphon break: {hole: 12 mm, at: 10 cm below tank rim}")
CASES_BY_NAME = {path.stem: path for path in CASES}
CURVE = "0 L/h = 3 m, 3000 L/h = 2.2 m, 6000 L/h = 0 m"


def width(line):
    """Return the columns a line takes on a terminal, counted here on its own."""
    return sum({"W": 2, "F": 2}.get(unicodedata.east_asian_width(sign), 1) for sign in line)


def beside(label, report):
    """Return what stands beside a label of the first screen, joined to one line."""
    lines = report.splitlines()
    start = next(k for k, line in enumerate(lines) if line.startswith(label))
    rest = [lines[start][15:]]
    for line in lines[start + 1:]:
        if not line.startswith(" " * 15):
            break
        rest.append(line[15:])
    return " ".join(rest)


@every_case
@pytest.mark.parametrize("system", SYSTEMS)
def test_no_line_is_wider_than_a_terminal(path, system):
    """In every unit system no line of any case's report takes more than 80 columns."""
    assert max(map(width, text(assessed(path), system, full=True).splitlines())) <= 80


@every
@pytest.mark.parametrize("system", SYSTEMS)
def test_one_screen_holds_the_answers(path, system):
    """By default the report has the verdict, the line, the power cut, the blocked drain, single faults, what to expect and what
    to measure in this order, within 30 lines of 80 columns in every unit system, and nothing else.
    """
    lines = text(studied(path), system).splitlines()
    labels = [line[:15].strip() for line in lines[3:] if line[:15].strip()]
    wanted = ["Verdict", "Attention", "Comfort", "Felt-pen line", "Power cut", "Blocked drain", "Single faults", "Expect",
              "Measure"]
    assert labels == [label for label in wanted if label in labels]
    assert set(wanted) - set(labels) <= {"Attention", "Comfort"}
    assert len(lines) <= 30
    assert max(map(width, lines)) <= 80
    assert text(studied(path), system, full=True).splitlines()[:6] == lines[:6]


@every_case
def test_verdict_counts_every_check(path):
    """The counts beside the verdict are those of the checks on floor and pump, and all that do not hold are named by kind."""
    found = assessed(path)
    checks = [check for check in found.checks if check.kind.stake != COMFORT]
    said = beside("Verdict", text(found))
    assert said.startswith(f"{found.verdict.upper()}. {len(checks)} checks on floor and pump: ")
    counts = re.findall(r"(\d+) (?:is |are )?(hold|tight|unsure|fail)s?[,.]",
                        said.split(" checks on floor and pump: ")[1].split(". ")[0] + ".")
    assert {{"hold": "holds", "fail": "fails"}.get(word, word): int(count) for count, word in counts} == Counter(
        check.verdict for check in checks)
    for check in checks:
        assert check.verdict == "holds" or check.kind.title in said


@every_case
def test_comfort_has_a_line_of_its_own(path):
    """Noise, speed and turnover stand beside 'Comfort' where they are not in order, and nowhere in the verdict."""
    checks = [check for check in assessed(path).checks if check.kind.stake == COMFORT and check.verdict != "holds"]
    report = text(assessed(path))
    for check in checks:
        assert check.kind.title in beside("Comfort", report)
        assert f"{check.kind.title} (" not in beside("Verdict", report)


@every_case
def test_line_is_the_safe_one_rounded_down(path):
    """The first figure of the felt-pen line is the pessimistic line in whole millimetres, or where blocked drains ask for a lower
    one that, never above it.
    """
    found = assessed(path)
    line, blocked, bottom = found.wanted_line, studied(path).blocked_line, found.results.network.sump_bottom
    said = beside("Felt-pen line", text(found, "metric"))
    if line.safe is None:
        assert said.startswith("No line is ")
    else:
        shown = float(re.search(r"(?:at most|serves both: above) (\d+) mm", said)[1]) / 1000.0
        lower = blocked is not None and "blocked, the pump can overfill" in said
        assert -1e-9 <= min(line.safe, blocked - bottom if lower else line.safe) - shown < 1e-3


def test_a_line_over_the_plates_is_told():
    """Where the line that a power cut allows lies over the plate before the pump, 250 mm in the worked loop, that is said."""
    over, under = (beside("Felt-pen line", text(assessed(ROOT / "cases" / f"{name}.yaml"), "metric"))
                   for name in ("worked-loop", "demo"))
    assert " Above 250 mm it drowns the edge before the pump." in over
    assert "drowns" not in under


@every_case
def test_every_check_and_default_is_told(path):
    """The table has the verdict or word of comfort of each check in order, and each default used stands there by name."""
    found = assessed(path)
    report = text(found, full=True)
    table = report.split("Checks\n------\n")[1].split("\nRunning\n")[0].splitlines()
    first = table[1].index("question")
    words = [line[2:first].strip().lower() for line in table[2:] if line[:2] == "  " and re.match(r"\S.*  $", line[2:first])]
    assert words == [check.word for check in found.checks]
    said = " ".join(report.split())
    assert all(uncertain.name in said for uncertain in found.assumed if uncertain.source.startswith("default"))


def test_limits_are_told_by_their_sense():
    """A row that is held from above is shown with '<=', one held from below with '>=', whether it holds or fails."""
    found = assessed(CASES[0])
    assert {row.key: row.sense for row in found.checks}.items() >= {
        "power cut": "<=", "tank room": "<=", "lift margin": ">=", "intake": ">=", "speed": "<="}.items()


@pytest.mark.parametrize(("changes", "said", "figure"), [
    (((CURVE, WEAK), ("10 cm below tank rim", "2 cm below tank rim")), "The pump cannot lift that high", "must lift"),
    (((CURVE, "0 L/h = 0.9 m, 3000 L/h = 0.6 m, 6000 L/h = 0 m"), ("10 cm below tank rim", "20 cm below tank rim")),
     "It runs backwards", "best head 900 mm"),
    (((CURVE, DROOPS),), "Two operating points", "unstable flow"),
    ((("{name: pump, line: 20 cm above sump bottom}]", "{name: pump}]"), ("drains:", "water: {total: 250 L}\ndrains:")),
     "The pump draws air", "intake 50 mm above the sump's bottom"),
    (SURGING, "It surges", "The tank swings between")])
def test_whatever_is_not_steady_stands_on_top(changes, said, figure):
    """An answer other than one steady state is named right under the verdict, with the figures that it rests on."""
    found = varied(*changes)
    attention = beside("Attention", text(found, "metric"))
    assert attention.startswith(said)
    assert found.answer.reason in attention
    assert figure in attention


def test_no_attention_is_asked_for_a_steady_loop():
    """A loop with one steady state has no line 'Attention'."""
    assert not any(line.startswith("Attention") for line in text(varied()).splitlines())


@every_case
def test_blocked_answer_is_the_worst_of_them(path):
    """The drain named is the one whose row has the smallest margin among those of the worst verdict, and its verdict leads."""
    found = assessed(path)
    rows = found.of(CheckKind.BLOCKED)
    worst = next(row for verdict in ("fails", "unsure", "tight", "holds") for row in sorted(rows, key=lambda row: row.margin)
                 if row.verdict == verdict)
    said = beside("Blocked drain", text(found))
    assert said.lower().startswith(f"{worst.verdict}.")
    assert f"'{worst.subject}'" in said


def test_only_drain_blocked_is_said_both_ways():
    """With a single drain the answer says what happens topped up, and what the water that is in it does."""
    said = beside("Blocked drain", text(varied(), "metric"))
    assert "is the only drain" in said
    assert "The only drain of the tank blocked, with only the water that is in it" in said


def test_floods_says_how_much_goes_over():
    """Where the sump cannot hold it, the power cut is told in litres over the brim, not as a level in the air."""
    found = assessed(next(path for path in CASES if path.stem == "floods"))
    over = -found.results.stopped[found.results.wanted_cut()].spare
    said = beside("Power cut", text(found, "metric"))
    assert over > 0.0
    assert f"{1000.0 * over:.0f} L go over the rim of the sump" in said
    row = next(line for line in text(found, "metric", full=True).splitlines() if re.match(r"  FAILS +power cut", line))
    assert re.search(rf" over +<= 375 mm +-{1000.0 * over:.0f} L$", row)


@pytest.mark.parametrize("title", ["x" * 300, "Koi 水槽 \u202eback\u200b tank", "a\\x1b[31mred\\u0007"])
def test_titles_cannot_steer_a_terminal(title):
    """Whatever the title holds, the report has no control or format character and stays within 80 columns."""
    report = text(varied(("A trough over a crate", f'"{title}"')), full=True)
    assert not [sign for sign in report if sign != "\n" and unicodedata.category(sign) in ("Cc", "Cf", "Cs")]
    assert max(map(width, report.splitlines())) <= 80


def test_units_change_words_and_not_verdicts():
    """In US and imperial units lengths are inches, volumes their own gallons, and the verdict stays."""
    found = varied()
    us, imperial = text(found, "US", full=True), text(found, "imperial", full=True)
    assert "US gal" in us
    assert " mm" not in us.split("Assumed")[0]
    assert "imp gal" in imperial
    assert beside("Verdict", us) == beside("Verdict", imperial) == beside("Verdict", text(found, "metric"))


def test_stopped_table_adds_up():
    """In each of the four cases the volumes shown from tank, drains and returns add up to the volume in all."""
    found = varied()
    rows = {line.split(", L")[0].strip(): [float(cell) for cell in line.split(", L")[1].split()]
            for line in text(found, "metric", full=True).splitlines() if (", L " in line and line.startswith("  from "))
            or line.startswith("  in all, L")}
    for k in range(4):
        total = sum(rows[name][k] for name in ("from the tank", "from the drains", "from the lines under pressure"))
        assert total == pytest.approx(rows["in all"][k], abs=0.2)


def test_own_line_is_measured_against_the_safe_one():
    """A line stated above the safe one is called too high, or above it while it still fits; one below it below; each with its
    distance in whole millimetres."""
    demo = (ROOT / "cases" / "demo.yaml").read_text(encoding="utf-8")
    for stated, words in (("30 cm", "too high."), ("22 cm", "above it."), ("14 cm", "below it, good.")):
        found = assess(loads(demo.replace("line: 14 cm above", f"line: {stated} above")))
        gap = 1000.0 * (found.wanted_line.safe - float(stated.split()[0]) / 100.0)
        assert f": {abs(math.floor(gap))} mm {words}" in beside("Felt-pen line", text(found, "metric"))


def test_no_line_that_serves_both_is_said_in_one_sentence():
    """Where a power cut allows a lower line than the intake asks for, text and page say so, both heights, and what would do."""
    study = studied(ROOT / "cases" / "paludarium.yaml")
    line, check = study.assessment.wanted_line.safe, study.assessment.check(CheckKind.INTAKE)
    least = 0.040 + check.limit
    assert line < least
    told = [" ".join(text(study, "metric", full=full).split()) for full in (False, True)]
    for report in (*told, " ".join(re.sub("<[^>]+>", "", str(summary_section(study, "metric").body)).split())):
        sentence = report.split("No line serves both: ")[1].split(".")[0]
        low, high = re.findall(r"(?:above|below) (\d+) mm", sentence)
        assert (int(low), int(high)) == (math.floor(1000.0 * line), math.ceil(1000.0 * least))
        assert sentence.endswith("a larger sump, less that comes down or a lower intake would")
    assert "serves both" not in text(studied(ROOT / "cases" / "one-hole-180.yaml"), "metric", full=True)


def test_a_coefficient_that_decides_is_tried_with_water():
    """Where a coefficient of a rim decides a blocked drain, nobody is asked to measure it: close that drain, watch the tank."""
    case = (ROOT / "cases" / "us-inch.yaml").read_text(encoding="utf-8")
    dry = case[case.index("  - name: dry"):case.index("pump:\n")]
    found = assess(loads(case.replace(dry, "")))
    assert set(found.deciding) == {"rim orifice coefficient"}
    told = beside("Measure", text(found, "metric"))
    assert told == ("No ruler tells 'rim orifice coefficient': close 'port' by hand, pump running, a hand at the plug, and watch "
                    "how high the tank rises.")


def test_siphon_breaks_are_told_beside_what_counts():
    """Where breaks would raise the line or spare water, the first screen says so beside the case that counts on nothing."""
    report = text(varied(HOLE), "metric", full=True)
    assert "If the siphon breaks work: at most " in beside("Felt-pen line", report)
    assert "With siphon breaks that work: " in beside("Power cut", report)
    assert "siphon breaks" not in beside("Felt-pen line", text(varied(), "metric", full=True))


def test_small_siphon_breaks_are_not_trusted():
    """An owner who counts on siphon breaks that are too small is told that they are taken as plugged."""
    small = (("end: 10 cm below tank rim", "end: 20 cm below tank rim, siphon break: {hole: 3 mm, at: 10 cm below tank rim}"),
             ("returns:", "wishes: {count on: siphon breaks}\nreturns:"))
    assert "taken as plugged" in beside("Power cut", text(varied(*small), "metric"))


def test_what_fails_is_changed_before_anything_is_measured():
    """Where floor or pump fail, no thermometer is asked for and no drain is blocked by hand: what fails is changed first."""
    for name, path in CASES_BY_NAME.items():
        said = beside("Measure", text(assessed(path), "metric"))
        assert said.startswith("Change first what fails: ") is (assessed(path).verdict == "fails"), name


def test_a_valve_that_is_counted_on_has_its_litres():
    """Counting on check valves, the power cut of the build that only they save holds, and says what comes if one fails."""
    found = assess(loads(CASES_BY_NAME["check-valve-saves"].read_text(encoding="utf-8") + "\nwishes: {count on: check valves}\n"))
    said = beside("Power cut", text(found, "metric"))
    over = found.results.stopped[False, False].over
    assert said.startswith("Holds, counting on the check valves. ")
    assert f"Should a check valve fail, {1e3 * over:.1f} L go over." in said


def test_a_line_that_holds_both_is_not_said_to_serve_neither():
    """A sump of 42 cm and an intake at 45 mm: over all bands no line serves both, but at this one power cut and intake hold."""
    demo = CASES_BY_NAME["demo"].read_text(encoding="utf-8")
    found = assess(loads(demo.replace("118 x 49 x 47 cm", "118 x 49 x 42 cm").replace("intake: 3 cm", "intake: 45 mm")))
    assert {check.verdict for check in found.of(CheckKind.POWER_CUT, CheckKind.INTAKE)} == {"holds"}
    said = beside("Felt-pen line", text(found, "metric"))
    assert "No line serves both" not in said
    assert "It fits still" in said


def test_faults_that_a_failing_cut_makes_all_alike_are_told_at_once():
    """Where the power cut floods anyway, every fault with one on top does: said in one sentence, with those that need none."""
    said = beside("Single faults", text(assessed(CASES_BY_NAME["floods"]), "metric"))
    assert "every one puts water on the floor with a power cut on top; already while it runs, left and right: blocked" in said


def test_a_bucket_is_held_under_one_mouth_at_a_time():
    """Of two returns each has its own time: 10 L at 3368.6 and 1665.7 L/h, the worked loop by hand, are 10.7 and 21.6 s."""
    said = beside("Expect", text(assessed(ROOT / "cases" / "worked-loop.yaml"), "metric"))
    assert "10 L should take 7.2 s of the whole flow, 11 s at branch 1, 22 s at branch 2." in said
    assert [round(36000.0 / flow) for flow in (3368.6, 1665.7)] == [11, 22]


def test_bucket_is_the_flow_turned_round():
    """The seconds for 10 L lie around 10 L divided by the pump's flow."""
    found = varied()
    said = beside("Expect", text(found, "metric"))
    low, high = map(float, said.split("10 L should take ")[1].split(" s ")[0].split(" to "))
    assert low <= 0.010 / found.flow[1] <= high


def test_lines_of_all_four_cases_are_in_the_table():
    """The highest running line of each combination stands in its column of the table, rounded down."""
    found = varied(HOLE)
    row = next(line for line in text(found, "metric", full=True).splitlines() if line.startswith("  highest running line, mm"))
    lines = {(line.breaks, line.holds): line.height for line in found.lines}
    shown = [int(cell) for cell in row.split("mm")[1].split()]
    assert shown == [math.floor(1000.0 * lines[case] + 1e-6) for case in COMBINATIONS]


def test_notes_and_cautions_close_the_report():
    """What is noted, what is not judged and the cautions stand at the end, electricity and the floor among them."""
    report = text(varied(("title:", "heater: 300 W\ntitle:")), full=True)
    last = " ".join(report.split("Not judged")[1].split())
    assert "not reckoned with: heater: 300 W" in last
    assert all(word in last for word in ("RCD", "drip loop", "structural engineer", "toughened", "licensed electrician"))


def test_a_tank_that_runs_over_is_told_on_top():
    """A tank whose running level would lie above its rim is warned of above all answers, and no negative room is shown."""
    found = varied(("standpipe: 60 mm, lip: 8 cm below tank rim", "standpipe: 40 mm, lip: 1 cm below tank rim"))
    report = text(found, "metric")
    assert found.check(CheckKind.TANK_ROOM).margin < 0.0
    assert beside("Attention", report).startswith("The tank runs over with nothing blocked")
    assert "has room for -" not in report


def test_what_goes_over_with_all_drains_blocked_is_said():
    """Where the pump can bring up more than the tank has room for, the difference is told in litres."""
    found = varied()
    row = found.check(CheckKind.ALL_BLOCKED)
    assert row.margin < 0.0
    assert f": {-1000.0 * row.margin:.3g} L go over its rim" in beside("Blocked drain", text(found, "metric"))


def test_the_felt_pen_line_tells_of_blocked_drains():
    """Where a blocked drain asks for a lower line than a power cut, that one is to be drawn (182 mm: a regression value)."""
    shown = " ".join(text(assess(loads(SINGLE_DRAIN))).split("Power cut")[0].split())
    assert "Draw it at most 182 mm above the sump's bottom, pump running." in shown
    assert "Higher, the only drain blocked, the pump can overfill the tank; a power cut alone would allow " in shown
    assert "good" not in shown


SINGLE_DRAIN = """title: One drain, invented
temperature: 25 °C
tank: {inside: 150 x 60 x 60 cm, bottom: 80 cm above ground}
sump: {inside: 130 x 45 x 45 cm, bottom: at ground, chambers: [
  {name: in, length: 45 cm, ends in: {plate: 28 cm above sump bottom}}, {name: pump, line: 20 cm above sump bottom}]}
drains: [{name: a, inlet: {standpipe: 50 mm, lip: 8 cm below tank rim}, line: [pipe 50 mm 110 cm],
  into: {chamber: in, end: 25 cm above sump bottom}}]
pump: {intake: 5 cm above sump bottom, curve: [0 L/h = 3.6 m, 1000 L/h = 3.2 m, 2000 L/h = 2.4 m, 3000 L/h = 1 m, 3400 L/h = 0 m],
  line: [hose 25 mm 150 cm]}
returns: [{line: [elbow 90 25 mm], end: 10 cm below tank rim}]
"""


@pytest.mark.parametrize(("case", "said"), [("demo", "none puts water on the floor"),
                                            ("worked-loop", "drain 2: blocked"),
                                            ("check-valve-saves", "pump: check valve stuck open")])
def test_first_screen_names_the_single_faults_that_flood(case, said):
    """The first screen says which single fault puts water on the floor, as the table of faults does, or that none does."""
    path = next(path for path in CASES if path.stem == case)
    shown = " ".join(text(assessed(path)).split("Single faults")[1].split("Expect")[0].split())
    table = fault_table(assessed(path).loop)
    flooding = [row.names for row in table.flooding]
    assert said in shown
    assert shown.startswith(f"Of {table.asked} single faults asked, every figure in its middle, ")
    assert all(names in shown for names in (flooding if len(flooding) <= 4 else flooding[:3]))
    assert bool(flooding) is not ("none puts water on the floor" in shown)


def test_single_faults_are_no_all_clear_beside_a_failing_drain():
    """Where a blocked drain fails its check, the sentence on single faults names a blocked drain, or says that it fails above."""
    seen = 0
    for path in CASES:
        if any(check.verdict == "fails" for check in assessed(path).of(CheckKind.BLOCKED)):
            said, seen = beside("Single faults", text(studied(path))), seen + 1
            assert ": blocked" in said or "; but blocked drain, above: fails" in said
            assert "none" not in said
    assert seen


def test_what_to_measure_moves_the_doubtful_checks():
    """The input told to be measured first takes margin from a check on floor or pump that does not hold, at one of its ends."""
    found = assessed(CASES_BY_NAME["worked-loop"])
    name = beside("Measure", text(found)).split("'")[1]
    doubtful = {check.key: check.margin for check in found.checks if check.kind.stake != COMFORT and check.verdict != "holds"}
    assert doubtful
    assert any(shift.checks[key].margin < margin for shift in found.shifts if shift.uncertain.name == name
               for key, margin in doubtful.items() if key in shift.checks)


def test_no_trial_is_asked_of_what_fails():
    """Where a check fails, nobody is told to pull the plug or to block a drain: it is changed first."""
    seen = 0
    for path in CASES:
        if assessed(path).verdict == "fails":
            said, seen = beside("Measure", text(studied(path))), seen + 1
            assert "by hand" not in said
            assert "watch" not in said
    assert seen


def test_what_each_drain_can_carry_is_told():
    """The drains' ratings of the worked loop: drain 1's throat of 45.2 mm takes 3263 L/h at H = D (project notes, Co = 0.60).

    Its full line has 0.0452 + 1.470 - 0.303 m of head for K 2.9 + 1 and f L/D = 0.0165 x 1.45/0.0452, so V = 2.31 m/s in
    1.605e-3 m2 (derived here): 13,350 L/h. But its rim, brimful at H = D, feeds (2/3) 0.60 (2g)^0.5 pi D^2.5 = 8702 L/h.
    """
    shown = " ".join(text(assessed(next(path for path in CASES if path.stem == "worked-loop")), full=True).split())
    told = re.search(r"They can carry: drain 1 (\d+) L/h with air, (\d+) L/h full of water; drain 2", shown)
    assert told
    assert int(told[1]) == 3300
    assert int(told[2]) == 8700
    assert "each carries what its edge feeds" in shown
