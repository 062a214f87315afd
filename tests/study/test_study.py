"""The study: each thing worked out once, when it is first asked for; reports that are given one solve nothing."""

import sys
from dataclasses import FrozenInstanceError

import pytest
from report_cases import CASES, SURGING, assessed, unsolved, varied
from rooms import mixture

import hydro
from hydro import Study, study_of
from hydro.errors import SolveError
from hydro.faults.effects import effect_of
from hydro.faults.survivable_heights import surviving
from hydro.faults.table import fault_table
from hydro.report.html import html
from hydro.search.pumps.point import head_asked
from hydro.shutdown import shut_down
from hydro.solve import relax, solve
from hydro.solve.system import System
from hydro.steady.modes import operating_point
from hydro.steady.state import solve_network
from hydro.transient.step import time_step

SOLVERS = (solve, relax, solve_network, operating_point, time_step, shut_down, effect_of, head_asked)


def named(name):
    """Return the assessment of a case by its name."""
    return assessed(next(path for path in CASES if path.stem == name))


BUILDS = {"one tank": varied, "one that surges": lambda: varied(*SURGING), "drilled": lambda: named("us-inch"),
          "several of everything": mixture, "not solved": unsolved}


def in_place_of(patch, functions, made):
    """Put what `made` makes of a function in its place, wherever in the library it was imported to."""
    for module in [module for name, module in sys.modules.items() if name.split(".")[0] == "hydro"]:
        for name, value in list(vars(module).items()):
            if any(value is function for function in functions):
                patch.setattr(module, name, made(value))


def evaluated(study):
    """Ask a study for each of its members, one by one."""
    _ = (study.faults, study.blocked_line, study.line_moves, study.courses(), study.hole_freedoms, study.parts)
    state = study.assessment.answer.state
    if state is not None:
        network = state.network
        _ = ([study.rating(k) for k in network.drains], [study.system_curve(k) for k in network.pumps])
    return study


def told(study):
    """Return a study as text, as JSON, as named figures and as a page in two systems of units."""
    texts = [made(study, system) for made in (hydro.text, html) for system in ("metric", "US")]
    return [*texts, hydro.to_json(study), hydro.figures(study)]


@pytest.mark.parametrize("build", BUILDS.values(), ids=BUILDS)
def test_reports_solve_nothing(build, monkeypatch):
    """From a study that knows everything, text, JSON, figures and page come without the solver."""
    study = evaluated(Study.of(build()))

    def refuse(*given, **named):
        raise AssertionError("a report asks the solver")

    in_place_of(monkeypatch, SOLVERS, lambda function: refuse)
    monkeypatch.setattr(System, "evaluate", refuse)
    assert all(told(study))


def test_a_study_asks_once(monkeypatch):
    """A study solves nothing before it is asked, and of reports on one study the second one solves nothing."""
    counted = []
    in_place_of(monkeypatch, (solve,), lambda function: lambda *given, **named: counted.append(1) or function(*given, **named))
    study = Study.of(varied())
    assert counted == []
    told(study)
    first = len(counted)
    assert first > 0
    told(study)
    assert len(counted) == first
    assert study.courses() is study.courses()
    assert study.drilling_sheet("US") is study.drilling_sheet("US")


def test_a_report_on_an_assessment_is_that_of_its_study():
    """Text and JSON are the same whether the assessment or its study is handed over."""
    assert hydro.text(varied()) == hydro.text(Study.of(varied()))
    assert hydro.to_json(varied()) == hydro.to_json(Study.of(varied()))


def test_a_study_stays_as_it_is():
    """A study of a study is itself, of a build that of its assessment; no field of it can be set."""
    study = study_of(varied().build)
    assert Study.of(study) is study
    assert study.assessment.checks == varied().checks
    with pytest.raises(FrozenInstanceError):
        study.assessment = varied()


def test_what_does_not_run_has_neither_faults_nor_courses():
    """Without a running state there is no table of faults and no course, and a rating is refused."""
    study = Study.of(unsolved())
    assert study.faults is None
    assert study.courses().cut is None
    assert study.courses().why == "the loop does not run"
    with pytest.raises(SolveError):
        study.rating(0)


@pytest.mark.parametrize("breaks", [True, False])
def test_courses_end_where_the_volumes_say(breaks):
    """A cut followed second by second leaves the sump where the volumes of the power cut alone say, breaks working or plugged."""
    study = Study.of(named("worked-loop"))
    case = study.assessment.results.stopped[breaks, True]
    cut = study.courses(breaks).cut
    chamber = cut.end.network.pump_chamber
    assert cut.end.levels[chamber] == pytest.approx(case.sump_level, abs=2e-3)


def test_a_table_of_pairs_holds_the_single_faults():
    """Every single fault stands in the table of pairs as well, with the same effect, and more choices were asked."""
    study = Study.of(varied())
    pairs = fault_table(study.assessment.loop, with_pairs=True, through_time=None)
    assert pairs.asked > study.faults.asked
    assert {(row.names, row.effect.litres) for row in study.faults.rows} <= {
        (row.names, row.effect.litres) for row in pairs.rows}


def test_the_line_that_survives_is_no_higher_than_the_line_for_a_power_cut():
    """The highest line that survives every single fault is at most the one at which the power cut alone leaves room."""
    study = Study.of(named("worked-loop"))
    sump = study.assessment.results.network.waters[study.assessment.results.network.pump_chamber].body.bottom
    heights = surviving(study.faults.base, study.faults.faults)
    assert heights.highest.level - float(sump) <= study.assessment.wanted_line.height + 1e-4


@pytest.mark.parametrize("name", ["worked-loop", "two-heights-one-header"])
def test_the_system_curve_meets_the_pump_where_it_runs(name):
    """At the flow at which a pump runs, the loop asks of it the head that its own curve gives there."""
    study = Study.of(named(name))
    state = study.assessment.results.state
    for k in state.network.pumps:
        pump, flow = state.network.links[k].element, float(state.flows[k])
        (q0, h0), (q1, h1) = next((a, b) for a, b in zip(study.system_curve(k), study.system_curve(k)[1:], strict=False)
                                  if a[0] <= flow <= b[0])
        asked = h0 + (h1 - h0) * (flow - q0) / (q1 - q0)
        assert asked == pytest.approx(float(pump.curve.head(flow, pump.speed)[0]), abs=0.02)
