"""The side view: every drawn height is the model's, no label lies over another, the same scene draws the same."""

from itertools import combinations

import pytest
from page_parts import DEMO, SVG, boxes, every_case, heights, overlap, plain, side_views
from report_cases import assessed

from hydro.description import heights as places
from hydro.network.model import CHAMBER
from hydro.report.drawing.side import WIDTH, side_view
from hydro.report.html.heights import Heights, together
from hydro.report.html.side_scene import scene_of
from hydro.report.html.states import shown_waters_of, standing

HALF_A_MILLIMETRE = 0.5


def model(found):
    """Return the heights that the build has, in mm above the ground, by kind: asked of places and elements, not of the page."""
    network, build, loop = found.results.network, found.build, found.loop
    at = {"rim": [], "bottom": [], "lip": [], "end": [], "mouth": [], "intake": []}
    for vessel in build.vessels:
        at["rim"].append(loop.height(f"{vessel.name} rim"))
        at["bottom"].append(loop.height(f"{vessel.name} bottom"))
    for k in network.drains:
        at["lip"].append(float(network.links[k].element.inlet.crest))
        at["end"].append(float(network.links[k].element.end))
    for described in build.returns:
        at["mouth"].append(float(places.resolve(described.end, build, {}, loop.tank_water)))
    for pump in build.pumps:
        at["intake"].append(float(places.resolve(pump.intake, build, {}, loop.tank_water)))
    return {kind: [1e3 * height for height in values] for kind, values in at.items()}


@every_case
def test_drawn_lines_stand_where_they_say(path):
    """Each line's y is the ground's less its height over the scale, to 0.5 mm of the model, and it is level."""
    for tree in side_views(path):
        ratio, ground = float(tree.get("data-ratio")), float(tree.get("data-ground"))
        lines = heights(tree)
        assert lines
        for _, what, _, height, (first, last) in lines:
            assert first == last
            assert abs((ground - first) * ratio - height) < HALF_A_MILLIMETRE, what


@every_case
def test_built_heights_are_the_models(path):
    """Rims, bottoms, lips, ends, mouths and intakes that are drawn stand at heights that the model has, to 0.5 mm."""
    known = model(assessed(path))
    for tree in side_views(path):
        ratio, ground = float(tree.get("data-ratio")), float(tree.get("data-ground"))
        for kind, what, _, _, (y, _) in heights(tree):
            if kind in known and not (kind == "mouth" and assessed(path).build.runs):
                drawn = (ground - y) * ratio
                assert min(abs(drawn - height) for height in known[kind]) < HALF_A_MILLIMETRE, what


@every_case
def test_running_levels_are_the_states(path):
    """Water drawn as running stands at the highest level of the solved states, or at the rim it runs over."""
    found = assessed(path)
    assert found.answer.state is not None
    tree, network = side_views(path)[0], found.results.network
    ratio, ground = float(tree.get("data-ratio")), float(tree.get("data-ground"))
    levels = [1e3 * found.answer.highest_of(k) for k, water in enumerate(network.waters) if water.body is not None]
    rims = [1e3 * found.loop.height(f"{vessel.name} rim") for vessel in found.build.vessels]
    waters = [(what, (ground - y) * ratio) for kind, what, _, _, (y, _) in heights(tree) if kind == "water"]
    assert waters
    for what, drawn in waters:
        assert min(abs(drawn - level) for level in (*levels, *rims)) < HALF_A_MILLIMETRE, what


def test_one_tank_has_every_level_by_name():
    """In a build of one tank the drawn level of each chamber and of the tank is the state's own, to 0.5 mm."""
    found, tree = assessed(DEMO), side_views(DEMO)[0]
    ratio, ground = float(tree.get("data-ratio")), float(tree.get("data-ground"))
    drawn = {what: (ground - y) * ratio for kind, what, _, _, (y, _) in heights(tree) if kind == "water"}
    for water, level in zip(found.results.network.waters, found.answer.state.levels, strict=True):
        if water.body is not None:
            what = f"water in chamber {water.name}" if water.kind == CHAMBER else "water in the tank"
            assert drawn[what] == pytest.approx(1e3 * level, abs=HALF_A_MILLIMETRE)


@every_case
def test_power_off_levels_are_those_of_the_case_that_has_to_fit(path):
    """The second drawing shows the levels at rest of the wanted power cut, or the rim that is run over."""
    found = assessed(path)
    assert found.results.stopped
    tree, case = side_views(path)[1], found.results.stopped[found.results.wanted_cut()]
    ratio, ground = float(tree.get("data-ratio")), float(tree.get("data-ground"))
    known = [1e3 * level for level in (*case.levels.values(), *case.chambers)]
    known += [1e3 * found.loop.height(f"{vessel.name} rim") for vessel in found.build.vessels]
    for kind, what, _, _, (y, _) in heights(tree):
        if kind == "water":
            assert min(abs((ground - y) * ratio - level) for level in known) < HALF_A_MILLIMETRE, what


@every_case
def test_no_two_labels_overlap_and_all_are_on_the_paper(path):
    """The boxes of a drawing's labels lie apart and within its 180 mm."""
    for tree in side_views(path):
        tall, found = float(tree.get("height").removesuffix("mm")), boxes(tree)
        assert len(found) >= 4
        assert not [pair for pair in combinations(found, 2) if overlap(*pair)]
        assert all(min(left, top) >= 0.0 and right <= WIDTH and bottom <= tall for left, top, right, bottom in found)


@every_case
def test_drawings_have_words_for_who_cannot_see_them(path):
    """Each drawing is an image whose first children are a title and a description with heights in both systems."""
    for tree in side_views(path):
        first, second = list(tree)[:2]
        assert tree.get("role") == "img"
        assert (first.tag, second.tag) == (f"{SVG}title", f"{SVG}desc")
        assert " mm" in plain(second.text)
        assert " in" in plain(second.text)


@every_case
def test_the_scale_bar_is_as_long_as_it_says(path):
    """The bar's length on paper times the scale is the length beside it."""
    for tree in side_views(path):
        bar = next(one for one in tree.iter(f"{SVG}g") if one.get("class") == "scale-bar")
        drawn, ratio = float(bar.get("data-drawn-mm")), float(tree.get("data-ratio"))
        assert drawn * ratio == pytest.approx(float(bar.get("data-length-mm")), rel=1e-4)


def test_the_same_scene_draws_the_same():
    """Two drawings of one scene do not differ in a sign."""
    found = assessed(DEMO)

    def drawn():
        state = standing(found)[0]
        told = Heights(found, state, shown_waters_of(found, state))
        return str(side_view(scene_of(told, together(told.all()), "metric", "Running"), 150.0))

    assert drawn() == drawn()
