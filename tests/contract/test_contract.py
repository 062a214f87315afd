"""The contract of every element's law: what the solver relies on, held over a domain that includes its corners."""

import inspect
import pkgutil
import warnings
from importlib import import_module

import numpy as np
import pytest
from laws import BY_KIND, FORWARD, LAWS, MOST, SWEPT
from samples import DESIGNS, forms, kinds, make, numbers

import hydro.elements
from hydro.elements.registry import KINDS, load_all
from hydro.quantities.arrays import first, stack

every_law = pytest.mark.parametrize("law", LAWS, ids=lambda law: law.name)
SAMPLES = range(2)


@pytest.fixture(autouse=True)
def _nothing_is_whispered():
    """Make every warning, and every overflow or invalid number inside an array, an error."""
    with warnings.catch_warnings(), np.errstate(all="raise", under="ignore"):
        warnings.simplefilter("error")
        yield


@every_law
def test_floats_stay_finite_floats(law):
    """A law answers finite numbers of type float, never numpy's or complex ones, everywhere in the domain."""
    for seed in SAMPLES:
        element = law.element(seed)
        for point in law.points:
            answer = law.call(element, *point)
            assert [type(x) for x in answer] == [float] * (1 + len(law.signs)), point
            assert np.all(np.isfinite(answer)), point


@every_law
def test_slopes_have_the_signs_that_the_solver_needs(law):
    """No slope has the wrong sign anywhere, and the one to the flow of a link never vanishes."""
    for seed in SAMPLES:
        element = law.element(seed)
        for point in law.points:
            slopes = [sign * slope for sign, slope in zip(law.signs, law.call(element, *point)[1:], strict=True)]
            assert min(slopes) >= 0.0, point
            assert not law.strict or slopes[0] > 0.0, point


@every_law
def test_slopes_are_those_of_the_values(law):
    """Each slope is the difference quotient of the law, away from the kinks that are declared."""
    element = law.element(1)
    for point in law.points[::3] if len(law.points) > 500 else law.points:
        answer = law.call(element, *point)
        for k, slope in enumerate(answer[1:]):
            is_flow = len(law.signs) != 2 and k == 0 and law.points[0][0] in (FORWARD[0], -FORWARD[-1])
            step = max(2e-10, 2e-6 * abs(point[k])) if is_flow else 2e-9
            if is_flow and (law.rest or point[k] < step) and abs(point[k]) < 2.0 * step:
                continue
            values = [law.call(element, *point[:k], point[k] + by, *point[k + 1:])[0] for by in (step, -step)]
            noise = 4e-16 * (max(map(abs, (*values, *point))) + 1.0) / step
            assert (values[0] - values[1]) / (2.0 * step) == pytest.approx(slope, rel=3e-3, abs=1e-6 + noise), (point, k)


@every_law
def test_arrays_give_what_floats_give(law):
    """Designs joined into arrays, and arrays of states on one design, give each float's answer to 1e-12."""
    elements = [law.element(seed) for seed in range(DESIGNS)]
    states = np.array([law.points[k:k + 1] * DESIGNS for k in range(0, len(law.points), 7)])[:, 0, :]
    joined = stack(elements)
    for point in states:
        together = law.call(joined, *(np.full(DESIGNS, x) for x in point))
        for k, element in enumerate(elements):
            alone = law.call(element, *map(float, point))
            assert [np.broadcast_to(x, DESIGNS)[k] for x in together] == pytest.approx(list(alone), rel=1e-12, abs=1e-12)
    alone = [law.call(elements[0], *map(float, point)) for point in states]
    together = law.call(elements[0], *states.T)
    for one, all_of_them in zip(zip(*alone, strict=True), together, strict=True):
        assert np.broadcast_to(all_of_them, len(states)) == pytest.approx(list(one), rel=1e-12, abs=1e-12)


@every_law
def test_no_jump_where_the_flow_turns_or_the_levels_meet(law):
    """A law passes through q = 0 and through equal levels with no more of a jump than its slope explains."""
    element = law.element(0)
    for point in law.points[::2]:
        for k in range(len(point)):
            for meeting in {0.0, *point[k + 1:], 0.25, 0.29, 0.30, 1.40}:
                near = 1e-18 if meeting == 0.0 else 1e-12  # of a closed way 1e-12 m3/s would explain a centimetre
                sides = [law.call(element, *point[:k], meeting + by, *point[k + 1:]) for by in (near, -near)]
                explained = 2.5 * near * max(abs(side[1 + k]) for side in sides)
                rounding = 4e-15 * (1.0 + abs(sides[0][0]))
                assert abs(sides[0][0] - sides[1][0]) <= explained + rounding, (point, k, meeting)


def test_every_registered_kind_is_swept():
    """Each kind of a family that makes laws is among the laws, and no family is unknown to the sweep."""
    load_all()
    assert {kind.family for kind in KINDS.values()} <= {*SWEPT, "break"}
    assert {kind.word for kind in KINDS.values() if kind.family in SWEPT} == set(BY_KIND)
    assert all(BY_KIND.values())


def test_every_class_with_a_law_is_swept():
    """Each class of the element files that answers one of the contract's questions has been asked it here."""
    asked = {type(law.element(0)) for law in LAWS}
    for module in pkgutil.iter_modules(hydro.elements.__path__):
        for _, made in inspect.getmembers(import_module(f"hydro.elements.{module.name}"), inspect.isclass):
            answers = {"residual", "loss", "needed", "flow", "stored", "lift"} & set(vars(made))
            if answers and not getattr(made, "_is_protocol", False):
                assert made in asked, f"{made.__name__} answers {sorted(answers)}"


@pytest.mark.parametrize("kind", kinds("part", "inlet", "barrier", "edge"), ids=lambda kind: kind.word)
def test_made_from_arrays_is_made_from_floats(kind):
    """Preparing one element from arrays of inputs gives the same law as preparing each design from floats."""
    for _, fields, words in forms(kind):
        designs = [numbers(kind, fields, seed) for seed in range(DESIGNS)]
        sample = {name: np.array([design[name] for design in designs]) for name in designs[0]}
        together = make(kind, fields, words, 0, sample)
        alone = [make(kind, fields, words, seed) for seed in range(DESIGNS)]
        if kind.family == "part":
            together, alone = together[0], [made[0] for made in alone]
        for state in ((1.2e-3,), (2e-5,)) if kind.family not in ("barrier", "edge") else ((0.31, 0.27), (0.28, 0.33)):
            method = {"part": "loss", "inlet": "needed", "barrier": "flow", "edge": "flow"}[kind.family]
            values = getattr(together, method)(*(np.full(DESIGNS, x) for x in state))
            for k, element in enumerate(alone):
                expected = getattr(element, method)(*state)
                assert [np.broadcast_to(x, DESIGNS)[k] for x in values] == pytest.approx(list(expected), rel=1e-12)


@pytest.mark.parametrize("kind", kinds("vessel"), ids=lambda kind: kind.word)
def test_vessels_made_from_arrays_are_made_from_floats(kind):
    """A vessel, whole, cut and with gear in it, made from arrays of inputs holds what each design holds."""
    for _, fields, words in forms(kind):
        designs = [numbers(kind, fields, seed) for seed in range(DESIGNS)]
        sample = {name: np.array([design[name] for design in designs]) for name in designs[0]}
        together = make(kind, fields, words, 0, sample)
        for k in range(DESIGNS):
            alone = make(kind, fields, words, k)
            for shape in (lambda plan: plan.whole("whole", 0.0), lambda plan: plan.whole("gear", 0.0).displaced(1e-3, 0.05),
                          lambda plan: plan.whole("gear", 0.0).displaced(1e-3, 0.05).displaced(2e-3, 0.15)):
                for z in (0.02, 0.13, 0.21):
                    values = shape(together).stored(np.full(DESIGNS, z))
                    assert [np.broadcast_to(x, DESIGNS)[k] for x in values] == pytest.approx(
                        list(shape(alone).stored(z)), rel=1e-12)
            if alone.length is not None and first(alone.length) > 0.1:
                cut = together.stretch("cut", 0.0, 0.0 * sample[next(iter(sample))], together.length)
                assert np.broadcast_to(cut.stored(np.full(DESIGNS, 0.13))[0], DESIGNS)[k] == pytest.approx(
                    alone.stretch("cut", 0.0, 0.0, alone.length).stored(0.13)[0], rel=1e-12)


def test_ten_times_the_largest_flow_is_asked():
    """The domain reaches ten times the largest flow of a usual loop, and both sides of rest down to 1e-12."""
    assert {0.0, 1e-12, 1e-6, 10.0 * MOST} <= set(FORWARD)
