"""The report on builds of several tanks, sumps and pumps: named, folded, and no longer for two hundred than for twelve."""

import json
import re
from collections import Counter
from dataclasses import replace

import pytest
from report_cases import CASES, ROOT, SYSTEMS, assessed, varied
from rooms import mixture, roomed

from hydro.checks import CheckKind
from hydro.checks.assessment import pumped_flow
from hydro.checks.check import COMFORT, RANK
from hydro.description.build import Build, Group
from hydro.elements.line import REST
from hydro.network.model import TANK, Water
from hydro.report.content.cut_answers import cut_details, cut_sentences, floods
from hydro.report.content.flows import drain_runs, return_runs
from hydro.report.content.grouping import MANY, Grouping, few, span
from hydro.report.content.head_budget import way_of, ways_to
from hydro.report.content.loads import weights
from hydro.report.content.named import named
from hydro.report.content.pump_points import pump_runs
from hydro.report.content.running_answers import expected_sentences, flow_details, over_sentences, special_sentences
from hydro.report.content.sentences import written
from hydro.report.content.tank_flows import tank_runs
from hydro.report.content.unjoined import unjoined_waters
from hydro.report.content.verdict_answers import check_topics
from hydro.report.content.view import View
from hydro.report.json.assessment import as_data, to_json
from hydro.report.terminal.check_table import check_section
from hydro.report.terminal.first_screen import first_screen
from hydro.report.terminal.layout import columns
from hydro.report.terminal.pump_tables import head_section, pump_table
from hydro.report.terminal.report import text
from hydro.report.terminal.running_tables import drain_table, level_table, return_table, running_section, ways_counted
from hydro.report.terminal.shutdown_table import shutdown_section
from hydro.report.terminal.unjoined import unjoined_section
from hydro.steady.operating_point import DRAWS_AIR, NONE, SURGES, TWO_POINTS
from hydro_cli.main import main

SCREEN = 30
"""Lines of one screen."""
LOW = (0.4, 0.9, 0.9)
"""Bottoms of three tanks on one header, the first one half a metre under the others, m."""


def view(assessment, each=False):
    """Return a view in metric units."""
    return View.of(assessment, "metric", each)


def sentences(*found):
    """Return sentences as text in metric units."""
    return " ".join(written(sentence, "metric") for several in found for sentence in several)


def squeezed(lines):
    """Return lines as one line with single spaces."""
    return " ".join(" ".join(lines).split())


def table_row(lines, start):
    """Return the row of a table that starts with some words."""
    return next(line for line in lines if line.strip().startswith(start))


def numbers(cell):
    """Return the ends of 'lowest .. highest'."""
    return [float(end) for end in re.search(r"([0-9.]+) \.\. ([0-9.]+)", cell).groups()]


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("each", [False, True])
def test_no_line_is_wider_than_a_terminal(system, each):
    """In every unit system no line on a fish room or on several of everything takes more than 80 columns, folded or not."""
    for found in (roomed(12), mixture()):
        assert max(map(columns, text(found, system, each, full=True).splitlines())) <= 80


def test_the_answers_stand_in_their_order():
    """The verdict, the line, the power cut, the blocked drain and the flows lead the report in this order."""
    for found in (roomed(12), mixture()):
        labels = [line[:15].strip() for line in text(found).splitlines()[:SCREEN]]
        places = [labels.index(label) for label in ("Verdict", "Felt-pen line", "Power cut", "Blocked drain", "Expect")]
        assert places == sorted(places)


def test_twelve_tanks_fit_on_two_screens():
    """The answers on twelve tanks fit on one screen of 30 lines, the running state with all its tables on two more."""
    shown = view(roomed(12))
    assert len(first_screen(shown)) <= SCREEN
    assert len(first_screen(shown)) + len(running_section(shown)) <= 3 * SCREEN


def test_more_tanks_take_no_more_lines():
    """Forty tanks take no more lines than twelve, but for a word or two that wraps beside longer numbers."""
    few_tanks, many = view(roomed(12)), view(roomed(40))
    for told in (first_screen, running_section, shutdown_section):
        assert len(told(many)) <= len(told(few_tanks)) + 1
    assert len(roomed(40).checks) == len(roomed(12).checks)
    assert len(text(roomed(40), full=True).splitlines()) <= len(text(roomed(12), full=True).splitlines()) + 3


def test_one_tank_is_told_as_ever():
    """A build of one tank, one sump and one pump has nothing to group: asking for each thing changes no word."""
    assert text(varied(), each=True) == text(varied(), full=True)
    assert as_data(varied())["states"][0]["worst_off"] is None
    assert as_data(varied())["groups"] == []


def test_folded_flows_are_the_least_and_the_most():
    """The row of twelve drains shows the least and the most flow of the state, and says at which drain each of them is."""
    state = roomed(12).results.state
    flows = {state.network.links[k].name: 3.6e6 * float(state.flows[k]) for k in state.network.drains}
    lines = drain_table(view(roomed(12)), state)
    low, high = numbers(table_row(lines, "12 x rack overflow"))
    assert low == pytest.approx(min(flows.values()), abs=1.0)
    assert high == pytest.approx(max(flows.values()), abs=1.0)
    assert (f"12 x rack overflow: lowest at {min(flows, key=flows.get)}, highest at {max(flows, key=flows.get)}."
            in squeezed(lines))


def test_folded_levels_are_the_lowest_and_the_highest():
    """The row of twelve tanks runs from the lowest level over its own bottom to the highest, in whole millimetres, rounded up."""
    state = roomed(12).results.state
    over = [1000.0 * (float(state.levels[k]) - float(state.network.waters[k].body.bottom)) for k in state.network.tanks]
    row = table_row(level_table(view(roomed(12)), state), "12 x rack")
    first, last = re.search(r"rack +(\d+)(?: \.\. (\d+))?", row).groups()
    low, high = float(first), float(last or first)
    assert -1e-3 <= low - min(over) < 1.0
    assert -1e-3 <= high - max(over) < 1.0


def test_all_shows_every_tank_by_name():
    """Without grouping each of the twelve tanks, drains and returns has a row of its own, and none is called '12 x'."""
    lines = running_section(view(roomed(12), each=True))
    for k in range(1, 13):
        for name in (f"rack {k} ", f"rack {k} overflow", f"rack {k} return"):
            assert any(line.strip().startswith(name) for line in lines)
    assert not any("12 x" in line for line in lines)


def test_the_first_screen_stays_folded():
    """Asking for each thing leaves the first screen as it is: it is for one look."""
    folded, unfolded = (text(roomed(12), each=each, full=True).split("\nChecks\n")[0] for each in (False, True))
    assert folded == unfolded


def test_what_flows_into_the_tanks_is_what_the_pumps_move():
    """The flows into all tanks add up to what the pumps draw from chambers (conservation), within 0.1 L/h."""
    for found in (roomed(12), mixture()):
        state = found.results.state
        into = sum(run.flow[1] for run in tank_runs(found, state))
        assert 3.6e6 * into == pytest.approx(3.6e6 * pumped_flow(state), abs=0.1)


def test_tanks_are_expected_with_their_least_and_most():
    """The flow to expect names the tank that gets least, gives the range of turnovers, and the bucket of the weakest tank."""
    found = roomed(12)
    runs = tank_runs(found, found.results.state)
    said = sentences(expected_sentences(view(found)), flow_details(view(found)))
    least = min(runs, key=lambda run: run.flow[1])
    assert "Into each of 12 x rack: " in said
    assert f"least at {least.name}; turnover" in said
    assert "Turnover of each of 12 x rack " in said
    assert f"{10.0 / (1000.0 * least.flow[1]):.0f} s at {least.name}" in said
    assert numbers(said.split("turnover ")[1]) == pytest.approx(
        [3600.0 * turned for turned in (min(run.turnover for run in runs), max(run.turnover for run in runs))], abs=0.051)


def test_each_pump_is_expected_by_name():
    """With several pumps the flow to expect is that of all together and of each."""
    said = sentences(expected_sentences(view(mixture())), flow_details(view(mixture())))
    assert said.startswith("Together the pumps move ")
    for name in ("pump A", "pump B", "frag pump", "booster"):
        assert f"{name} " in said


def test_pumps_know_their_company():
    """Pumps on one header stand beside each other, pumps in a row before and behind; a room's only pump stands alone."""
    company = {run.name: run.company for run in pump_runs(mixture(), mixture().results.state)}
    assert company == {"pump A": "beside pump B", "pump B": "beside pump A", "frag pump": "before booster",
                       "booster": "behind frag pump"}
    assert [run.company for run in pump_runs(roomed(12), roomed(12).results.state)] == ["alone"]
    lines = pump_table(view(mixture()), mixture().results.state)
    assert [table_row(lines, name).split("  ")[-1] for name in company] == list(company.values())


def test_a_pump_that_is_switched_off_says_so():
    """A pump without power is told as 'off' and gives no head."""
    state = mixture().results.state
    k = state.network.place("pump B")
    still = replace(state, network=state.network.changed({k: {"running": 0.0}}))
    found = {run.name: run for run in pump_runs(mixture(), still)}
    assert (found["pump B"].company, found["pump B"].head) == ("off", 0.0)
    assert found["pump A"].company == "alone"


def test_heads_of_pumps_in_a_row_add_up():
    """On the way to every return the pumps' heads are the lift and the losses, within 1 um and what each equation adds.

    The pump's equation and each line carry a resistance of 1e-3 s/m2, so that no slope vanishes.
    """
    for found in (roomed(12), mixture()):
        state = found.results.state
        ways = ways_to(state)
        assert set(ways) == set(state.network.returns)
        for links in ways.values():
            way = way_of(state, links)
            added = sum((REST + 1e-3 * (k in state.network.pumps)) * float(state.flows[k]) for k in links)
            assert way.left == pytest.approx(added, abs=1e-6)
    assert len(way_of(mixture().results.state, ways[mixture().results.network.place("frag 1 return")]).heads) == 2


def test_a_pipe_passed_against_its_flow_gives_its_head_back():
    """A run described the other way round has the same head lost on the way through it."""
    state = roomed(12).results.state
    network = state.network
    k = network.place("row 1 to 2")
    link = network.links[k]
    turned = replace(network, links=tuple(replace(one, up=link.down, down=link.up) if one is link else one
                                          for one in network.links))
    back = replace(state, network=turned, flows=tuple(-q if n == k else q for n, q in enumerate(state.flows)))
    links = ways_to(state)[network.place("rack 12 return")]
    assert way_of(back, links).left == pytest.approx(way_of(state, links).left, abs=1e-9)


def test_the_return_that_is_worst_off_is_told():
    """Where the head goes is told for the return into the tank with the least turnover, the pipes of the header as one."""
    found = roomed(12)
    least = min(tank_runs(found, found.results.state), key=lambda run: run.turnover).name
    said = squeezed(head_section(view(found), found.results.state))
    assert f"On the way to {least} return, in {least}: the tank of 12 with the least turnover." in said
    assert "11 pipes: row 1 to 2 .. row 11 to 12" in said
    assert said.endswith("100.0%")


def test_verdict_counts_every_check_and_folds_names():
    """The counts beside the verdict are those of the rows, and what is folded is told as any of so many."""
    found = roomed(12)
    said = squeezed(first_screen(view(found)))
    checks = [check for check in found.checks if check.kind.stake != COMFORT]
    assert f"{found.verdict.upper()}. {len(checks)} checks on floor and pump: " in said
    counts = re.findall(r"(\d+) (?:is |are )?(hold|tight|unsure|fail)s?[,.]",
                        said.split(" checks on floor and pump: ")[1].split(". ")[0] + ".")
    assert {{"hold": "holds", "fail": "fails"}.get(word, word): int(count) for count, word in counts} == Counter(
        check.verdict for check in checks)
    assert "blocked drain (any of 12 x rack overflow)" in said


def test_every_row_has_a_topic_of_its_own():
    """Each row of several of everything falls under a short name without the name of a thing in it."""
    found = mixture()
    things = [water.name for water in found.results.network.waters] + [link.name for link in found.results.network.links]
    for row in found.checks:
        topic = check_topics(view(found), [row])[0].split(" (")[0]
        assert not any(topic.endswith(f" {name}") for name in things), row.key


def test_the_worst_blocked_drain_is_named():
    """The drain named is the one behind the row with the gravest verdict and the least margin, with the group it stands for."""
    found = roomed(12)
    rows = found.of(CheckKind.BLOCKED)
    worst = max(rows, key=lambda row: (RANK[row.verdict], -row.margin))
    drain = worst.worst
    said = squeezed(first_screen(view(found)))
    assert f"Worst with '{drain}' blocked, the worst of 12 x rack overflow" in said
    case = found.results.all_blocked
    assert f"All drains of {found.results.network.waters[case.tank].name} blocked at once (the worst of 12 x rack)" in said


def test_the_line_names_its_chamber_and_sump():
    """Of several sumps the line says in which chamber it is drawn, and over which bottom it counts."""
    said = squeezed(first_screen(view(mixture())))
    assert "Draw it in 'return' of main sump, at most " in said
    assert " above the bottom of main sump, pumps running." in said


def test_each_sump_ends_by_itself():
    """A power cut tells of every sump where it ends, rounded up, and the room left, as the stopped state has them."""
    found = mixture()
    case, network = found.results.stopped[found.results.wanted_cut()], found.results.network
    said = sentences(cut_sentences(view(found)))
    for sump, name in zip(network.sumps, ("main sump", "Frag sump"), strict=True):
        over = 1000.0 * (case.sump_level_of(sump) - float(network.waters[sump[0]].body.bottom))
        shown = float(re.search(rf"{name} ends at ([0-9.]+) mm", said)[1])
        assert -1e-3 <= shown - over < 1.0


def test_what_comes_down_is_told_by_where_from():
    """The litres from tanks, drains and lines in the power cut add up to what comes down in all, within rounding."""
    found = mixture()
    said = sentences(cut_details(view(found))).split(";")[0]
    total, *parts = (float(part) for part in re.findall(r"([0-9.]+) L (?:there come|from)", said))
    assert sum(parts) == pytest.approx(total, abs=1.0)
    assert "from 3 x frag (" in said


def test_stopped_table_adds_up():
    """In each of the four cases the volumes shown by where from add up to the volume in all."""
    for found in (roomed(12), mixture()):
        rows = [line.rsplit(", L", 1) for line in shutdown_section(view(found)) if ", L " in line]
        columns_of = {name.strip(): [float(cell) for cell in cells.split()] for name, cells in rows}
        for k in range(4):
            parts = sum(values[k] for name, values in columns_of.items() if name.startswith("from "))
            assert parts == pytest.approx(columns_of["in all"][k], abs=0.8)


def test_valves_do_not_part_tanks_on_one_header():
    """With a check valve at the pump, tanks that still siphon through the header into a lower one are told with it."""
    said = sentences(cut_details(view(roomed(3, valve=True, bottoms=LOW))))
    assert "With the check valves holding, 2 x rack still siphon through the header into rack 1, and its drains have to" in said
    assert "check valves holding" not in sentences(cut_sentences(view(roomed(12))), cut_details(view(roomed(12))))


def test_a_tank_that_floods_is_named():
    """Water that a power cut sends over the rim of a tank is told in litres, with the tank that stands at its rim."""
    found = roomed(3, valve=True, bottoms=LOW)
    network, wanted = found.results.network, found.results.wanted_cut()
    opening = float(network.waters[network.water("rack 1")].opening)
    case = found.results.stopped[wanted]
    flooded = replace(case, floor=0.012, levels={**case.levels, network.water("rack 1"): opening})
    assert sentences(floods(view(found), flooded)) == "12 L go over the rim of rack 1 and on the floor."
    assert floods(view(found), case) == []
    every = dict.fromkeys(found.results.stopped, flooded)
    changed = replace(found, results=replace(found.results, stopped=every))
    assert "and it goes over its rim" in sentences(cut_sentences(view(changed)))


def test_surging_names_drains_folded_and_the_widest_swing():
    """Where all drains of a group surge they are told as one, with the tank that swings most and both its levels."""
    found = roomed(3)
    state, network = found.results.state, found.results.network
    lifted_up = tuple(float(level) + 0.01 * (k + 1) * (k in network.tanks) for k, level in enumerate(state.levels))
    reason = f"{', '.join(network.links[k].name for k in network.drains)}: it fills and empties"
    answer = replace(found.answer, kind=SURGES, others=(replace(state, levels=lifted_up),), reason=reason)
    said = sentences(special_sentences(view(replace(found, results=replace(found.results, answer=answer)))))
    assert said.startswith("It surges: 3 x rack overflow: it fills and empties.")
    assert "rack 3, the widest of 3 x rack, swings between " in said


def test_a_pump_that_draws_air_is_told_in_its_own_sump():
    """A pump's chamber and intake are counted from the bottom of the sump that pump stands in."""
    found = mixture()
    k = found.results.network.place("frag pump")
    answer = replace(found.answer, kind=DRAWS_AIR, which=k, reason="frag pump: too little water",
                     figures={"pump chamber level": 0.12, "intake": 0.11})
    said = sentences(special_sentences(view(replace(found, results=replace(found.results, answer=answer)))))
    assert "frag pump: too little water" in said
    assert "pump chamber level 70 mm above the bottom of frag sump; intake 60 mm above the bottom of frag sump" in said


def test_other_figures_of_an_answer_are_heads_and_flows():
    """What is no level in a sump is shown as a flow where it is called so, else as a head."""
    found = mixture()
    answer = replace(found.answer, kind=TWO_POINTS, figures={"stable flow": 1.0 / 3600.0, "spare head at rest": -0.2})
    said = sentences(special_sentences(view(replace(found, results=replace(found.results, answer=answer)))))
    assert "stable flow 1000 L/h; spare head at rest -200 mm" in said


def test_a_vessel_that_runs_over_is_named():
    """A row of a tank over its opening while nothing is amiss names the tank and what it stands for; none holds no words."""
    found = roomed(12)
    row = replace(found.check(CheckKind.TANK_ROOM, "rack"), margin=-0.02)
    said = [written(sentence, "metric") for sentence in over_sentences(view(replace(found, checks=(row,))))]
    assert re.match(r"Rack \d+ \(the worst of 12 x rack\) runs over with nothing blocked: .* 20 mm above its rim\.$", said[0])
    assert over_sentences(view(found)) == []


def test_a_build_that_does_not_run_is_still_told():
    """Without any state the report says why, gives no line, no flow and no power cut, and keeps the cautions."""
    found = roomed(3)
    answer = replace(found.answer, kind=NONE, state=None, others=(), reason="no combination of modes holds", figures={})
    nothing = replace(found, results=replace(found.results, answer=answer, stopped={}, overflows=(), blocked_tanks=()),
                      checks=(found.check(CheckKind.STEADY),), lines=(), flow=None, tank_levels={})
    said = squeezed(text(nothing, full=True).splitlines())
    for words in ("No steady state: no combination of modes holds.", "No line can be given in 'pump' of the sump", "No flow.",
                  "there is no running state to stop from", "Cautions"):
        assert words in said
    assert json.loads(to_json(nothing))["states"] == []


def test_where_no_line_is_low_enough_the_chamber_is_named_all_the_same():
    """Without a line that is low enough the litres that come down stand in its place; without a safe one the worst input."""
    found = roomed(3)
    wanted = found.wanted_line
    for height, safe, said in ((None, None, "No line in 'pump' of the sump is low enough: "),
                               (wanted.height, None, "No line in 'pump' of the sump is surely low enough: ")):
        line = replace(wanted, height=height, safe=safe, worst="line at its high end")
        lines = tuple(line if one is wanted else one for one in found.lines)
        assert said in squeezed(first_screen(view(replace(found, lines=lines))))


def test_the_command_tells_each_thing_where_asked(tmp_path):
    """The command takes the wish for each thing: on one tank, one sump and one pump it writes the same report."""
    for name, each in (("folded", ["--full"]), ("each", ["--all"])):
        main(["run", str(CASES[0]), "--to", str(tmp_path / name), *each])
    assert (tmp_path / "folded").read_text(encoding="utf-8") == (tmp_path / "each").read_text(encoding="utf-8")


def test_dead_ends_are_named():
    """A header that only one pipe meets stands under a heading of its own; a room without one has no such heading."""
    said = squeezed(unjoined_section(view(mixture())))
    assert "Not joined to the rest" in said
    assert "nowhere: a header that only one pipe meets" in said
    assert unjoined_section(view(roomed(12))) == []


def test_what_hangs_on_nothing_is_named():
    """Tanks that no pipe joins to the chamber that closes the balance are named, many alike as one."""
    found = roomed(12)
    network = found.results.network
    body = network.waters[0].body
    alone = tuple(Water(f"spare {k}", TANK, body, opening=2.0) for k in (1, 2))
    changed = replace(found, results=replace(found.results, network=replace(network, waters=(*network.waters, *alone))))
    assert unjoined_waters(changed.results.network) == [["spare 1"], ["spare 2"]]
    assert "spare 1: no pipe leads from here" in squeezed(unjoined_section(view(changed)))


def test_many_checks_on_one_thing_are_told_by_the_worst():
    """Of more rows on one thing than a few the worst stays in the table, and the others are counted under it."""
    found = roomed(12)
    row = found.check(CheckKind.TANK_ROOM, "rack")
    rows = tuple(replace(row, subject=f"shelf {k}", question=f"shelf {k} stays below", margin=0.01 * k)
                 for k in range(1, 10))
    said = squeezed(check_section(view(replace(found, checks=rows))))
    assert "shelf 1 stays below" in said
    assert "shelf 2 stays below" not in said
    assert "Not shown, none of them worse: room in the tank: 8 more." in said
    assert "shelf 9 stays below" in squeezed(check_section(view(replace(found, checks=rows), each=True)))


def test_json_names_everything_unfolded():
    """The JSON has every tank, drain, return, pump and pipe by name, and what is asked of one alone is null."""
    data = as_data(mixture())
    state, network = data["states"][0], mixture().results.network
    for key, places in (("drains", network.drains), ("returns", network.returns), ("pumps", network.pumps),
                        ("pipes", network.runs), ("edges", network.edges)):
        assert [one["name"] for one in state[key]] == [network.links[k].name for k in places]
    assert [one["name"] for one in state["tanks"]] == [network.waters[k].name for k in network.tanks]
    assert [one["kind"] for one in state["levels"]].count("box") == 1
    assert state["pump"] is None
    assert state["volumes"]["tank"] is None
    assert [one["name"] for one in data["stopped"][0]["sumps"]] == ["main sump", "frag sump"]
    assert (data["running_line"]["chamber"], data["running_line"]["sump"]) == ("return", "main sump")
    assert data["dead_ends"] == ["nowhere"]
    assert json.loads(to_json(mixture())) == data


def test_json_has_the_folded_rows_too():
    """What is grouped stands in the JSON with its least and its most, which are those of the unfolded entries."""
    data = as_data(roomed(12))
    state = data["states"][0]
    row = next(one for one in state["folded"] if (one["what"], one["group"]) == ("flow", "rack overflow"))
    flows = {one["name"]: one["flow"] for one in state["drains"]}
    assert (row["count"], row["lowest"], row["highest"]) == (12, min(flows.values()), max(flows.values()))
    assert (flows[row["lowest_at"]], flows[row["highest_at"]]) == (row["lowest"], row["highest"])
    assert {one["what"] for one in state["folded"]} == {"flow", "flow into", "turnover", "level over the bottom"}
    assert [one["worst"] for one in data["checks"] if one["key"] == "turnover rack"] != [""]


def test_named_figures_carry_names():
    """The named figures have each tank's flow, turnover and level, each pump's head, and each sump's room, and no 'the tank'."""
    figures = named(mixture())
    state = mixture().results.state
    assert figures["flow into refuge"] == (float(state.flows[state.network.place("refuge return")]), "flow")
    assert figures["level in frag 2"][0] == pytest.approx(float(state.levels[state.network.water("frag 2")]) - 0.9)
    for name in ("turnover of show", "head of booster", "flow of balance", "water in frag 3", "level in weir box",
                 "room left in frag sump, siphon breaks plugged, check valves stuck", "all drains of refuge blocked, room in it"):
        assert name in figures
    assert not any("the tank" in name for name in figures)


def test_weights_are_told_for_each_and_folded_by_the_heaviest():
    """The water of every vessel has a weight by name; of tanks alike the heaviest stands for all."""
    found = mixture()
    each, folded = weights(found), weights(found, Grouping.by(found.build))
    heaviest = max(each[f"water in frag {k}, running"][0] for k in (1, 2, 3))
    assert folded["water in the heaviest of 3 x frag, running"] == (heaviest, "mass")
    assert each["water in show, running"] == folded["water in show, running"]
    assert "water in weir box, full to its rim" in each


def test_bands_are_told_for_things_in_several_sumps():
    """A line known to a centimetre gives levels and flows with bands, in the chamber of the other sump as well."""
    found = mixture()
    row = table_row(level_table(view(found), found.results.state), "other pump")
    low, high = (float(end) for end in re.search(r"([0-9.]+) to ([0-9.]+)", row).groups())
    assert high - low == pytest.approx(20.0, abs=1.1)
    assert "What moves the results most" in text(found, full=True)


def test_returns_of_a_group_name_their_fastest_run():
    """The speeds of a group of returns run from its slowest to its fastest, and the run named is that of the fastest."""
    found = roomed(12)
    runs = return_runs(found, found.results.state)
    row = table_row(return_table(view(found), found.results.state), "12 x rack return")
    assert max(runs, key=lambda run: run.speed).where.split()[0] in row
    assert all(run.tank == run.name.removesuffix(" return") for run in runs)


def test_ways_of_running_are_counted():
    """Drains alike that run in different ways are told by how many run in which."""
    runs = drain_runs(roomed(12), roomed(12).results.state)
    grouped, = Grouping.by(roomed(12).build).of("drains", [(run.name, run) for run in runs])
    assert ways_counted(grouped) == runs[0].runs
    mixed_up = replace(grouped, members=((grouped.members[0][0], replace(runs[0], runs="carries air")), *grouped.members[1:]))
    assert ways_counted(mixed_up) == f"11 {runs[1].runs}, 1 carries air"


def test_folding_needs_a_group_or_a_crowd():
    """Things of a group are told by its name, others only where there are more of them than a few; unfolded none does."""
    build = replace(roomed(3).build, groups=(Group("shelf", ("a", "b")),))
    assert isinstance(build, Build)
    grouping = Grouping.by(build)
    lone = [f"p{k}" for k in range(MANY)]
    assert grouping.names("pumps", ["a", "b", *lone]) == ["2 x shelf", *lone]
    assert grouping.names("pumps", ["a", *lone, "q"]) == ["a", f"{MANY + 1} pumps"]
    assert Grouping.by(build, each=True).names("pumps", ["a", "b"]) == ["a", "b"]
    assert grouping.called("shelf") == "any of 2 x shelf"
    assert grouping.reason("a, b: it flushes") == "2 x shelf: it flushes"
    assert grouping.notes(["a: too thin", "b: too thin", "c: else", "'x: y' is odd"]) == ["2 x shelf: too thin", "c: else",
                                                                                          "'x: y' is odd"]


def test_spans_and_lists_are_short():
    """A span of one figure is that figure; a list of many names ends in how many more there are, of one more than few in all."""
    assert (span("5", "5"), span("5", "7")) == ("5", "5 .. 7")
    assert few(list("abcde"), 4) == "a, b, c, d, e"
    assert few(list("abcdef"), 4) == "a, b, c, d and 2 more"


def test_water_that_rises_out_of_a_drain_is_told():
    """Where a throttled stack sends water up through the lower tank's overflow while all is well, the first screen says so.

    What the upper overflow brings down and the stack does not take comes up there: the difference of the two.
    """
    found = assessed(ROOT / "cases" / "shared-stack.yaml")
    network, state = found.results.network, found.answer.state
    up = -float(state.flows[network.place("lower overflow")])
    passes = float(state.flows[network.place("down pipe")])
    assert up == pytest.approx(float(state.flows[network.place("upper overflow")]) - passes, rel=1e-3)
    said = re.search(r"Attention +Water comes back up through lower overflow: (\d+) L/h\.", text(found, "metric"))
    assert float(said[1]) / 3.6e6 == pytest.approx(up, rel=5e-3)
    assert "comes back up" not in text(assessed(ROOT / "cases" / "worked-loop.yaml"), "metric")
