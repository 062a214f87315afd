"""How high the felt-pen line, in the chamber that closes the balance, and how the line that the file states lies to it."""

from __future__ import annotations

import math

from hydro.checks import HOLDS, CheckKind
from hydro.checks.assessment import RunningLine
from hydro.checks.overflow import remote
from hydro.checks.pump import intake
from hydro.report.content.cut_answers import has_breaks
from hydro.report.content.levels import running_line, stated_line
from hydro.report.content.sentences import DOWN, SIXTEENTH, UP, Figure, Sentence, height, joined_sentences, say
from hydro.report.content.view import View
from hydro.shutdown.sumps import outward
from hydro.steady.operating_point import DRAWS_AIR

AMPLE = 0.010
"""From so much on a line lies well below the highest, m: what waves want elsewhere."""
SAME = 1e-3
"""Heights closer than this are one, m."""


def line_sentences(view: View) -> list[Sentence]:
    """Return where to draw the line, in which chamber, how the file's own lies to it, and what it does not guard against."""
    wanted = view.assessment.wanted_line
    if wanted is None:
        return [say("No line can be given{where}: {kind}.", where=_where(view, " "), kind=view.assessment.answer.kind)]
    low = _low_line(view, wanted)
    if low and not _both_hold(view):
        return [joined_sentences([low, _own_height(view)])]
    blocked = _blocked_limit(view, wanted)
    if wanted.height is None:
        case = view.results.stopped[view.results.wanted_cut()]
        first = say("No line{where} is low enough: {volume} come down, and over the line of today the sump has room for {room}.",
                    where=_where(view, " "), volume=Figure(case.comes_down, "volume"),
                    room=Figure(max(case.comes_down + case.spare, 0.0), "volume"))
    elif wanted.safe is None:
        first = say("No line{where} is surely low enough: {middle} with every figure in its middle, none that all bands leave, "
                    "most of it for {worst}.", where=_where(view, " "), middle=height(wanted.height, DOWN),
                    worst=end_of(wanted.worst))
    else:
        line = wanted.safe if blocked is None else min(wanted.safe, blocked)
        first = say("Draw it{where} at most {line} above {bottom}, {pumps} running.", where=_where(view, " ", ","),
                    line=height(line, DOWN), pumps=view.pumps,
                    bottom=view.bottom(view.network.sump_of(view.network.pump_chamber)))
    about_drains = _blocked_line(view, wanted, blocked)
    bound = wanted.safe if blocked is None else blocked
    return [joined_sentences([first, _own_line(view, wanted, blocked), about_drains or _drowned_wall(view, bound)])]


def _both_hold(view: View) -> bool:
    """Whether power cut and intake hold at the line as it is: what is then short is only the wanted room, over all bands."""
    asked = view.assessment.of(CheckKind.POWER_CUT, CheckKind.INTAKE)
    return bool(asked) and all(check.verdict == HOLDS for check in asked)


def _drowned_wall(view: View, line: float | None) -> Sentence | str:
    """Return above which line a wall of the sump stands under water that has to fall over it; '' where none would."""
    crest, (_, own) = _edge_before_the_pump(view), _own(view)
    if line is None or not 0.0 < crest < line:
        return ""
    if own is not None and own > crest:
        return say("It drowns the edge before the {pumps}, which stands at {crest}.", crest=height(crest, DOWN), pumps=view.pumps)
    return say("Above {crest} it drowns the edge before the {pumps}.", crest=height(crest, DOWN), pumps=view.pumps)


def _edge_before_the_pump(view: View) -> float:
    """Return the lowest edge that water falls over into the chamber of the line, m above its sump's bottom; infinite for none."""
    network = view.network
    pool = network.pump_chamber
    walls = [wall for _, nearer, wall in outward(network, network.sump_of(pool)) if nearer == pool]
    return min((float(wall.holds) - network.sump_bottom for wall in walls), default=math.inf)


def line_details(view: View) -> list[Sentence]:
    """Return the line with every figure in its middle, and the one with the siphon breaks counted on."""
    wanted = view.assessment.wanted_line
    if wanted is None:
        return []
    said = []
    if wanted.height is not None and wanted.safe is not None and wanted.height - wanted.safe > SAME:
        said.append(say("For a power cut: {middle} with every figure in its middle; {safe} is what all bands leave, and "
                        "{worst} takes most of that.", middle=height(wanted.height, DOWN), safe=height(wanted.safe, DOWN),
                        worst=end_of(wanted.worst)))
    return [*said, *_other_line(view, wanted)]


def _where(view: View, before: str, after: str = "") -> str:
    """Return in which chamber; nothing where there is one tank on one sump."""
    return "" if view.assessment.build.one else f"{before}in {view.chamber(view.network.pump_chamber)}{after}"


def end_of(worst: str) -> str:
    """Return the input that weighs most, in quotes, and its end."""
    name, _, end = worst.rpartition(" at its ")
    return f"'{name}' at its {end}"


def _height(wanted: RunningLine) -> float | None:
    return wanted.safe if wanted.safe is not None else wanted.height


def _own(view: View) -> tuple[str, float | None]:
    """Return whose line the build has, in words, and how high it is (m)."""
    stated = stated_line(view.assessment)
    return ("Yours", stated) if stated is not None else ("With your water it runs", running_line(view.assessment))


def _own_height(view: View) -> Sentence | str:
    yours, own = _own(view)
    return "" if own is None else say("{yours} at {own}.", yours=yours, own=height(own))


def _own_line(view: View, wanted: RunningLine, blocked: float | None) -> Sentence | str:
    (yours, own), bound = _own(view), _height(wanted)
    if own is None or bound is None:
        return ""
    whose = say("{yours} at {own}: ", yours=yours, own=height(own))
    gap = bound - own
    if blocked is not None and blocked < own:
        return whose + say("{gap} too high.", gap=height(own - blocked, UP))
    gap = gap if blocked is None else min(gap, blocked - own)
    if 0.0 <= gap + 1e-6 < SIXTEENTH:
        return whose + "right at it."
    if gap < 0.0 and all(check.verdict == HOLDS for check in view.assessment.of(CheckKind.POWER_CUT)):
        # The check keeps its room in the middle of the bands and stays off the floor at their ends; the line keeps it there too.
        return whose + say("{gap} above it. It fits still, with less room at the sump's rim than is wanted where figures are at "
                           "their bad ends.", gap=height(-gap, UP))
    if gap < 0.0:
        return whose + say("{gap} too high.", gap=height(-gap, UP))
    good = "" if own > _edge_before_the_pump(view) > 0.0 or not _good(view) else ", good" if gap >= AMPLE else ", just enough"
    return whose + say("{gap} below it{good}.", gap=height(gap, DOWN), good=good)


def _good(view: View) -> bool:
    """Whether a low line does no harm: every intake deep enough, and no blocked drains bring up too much."""
    checks = view.assessment.of(CheckKind.INTAKE)
    short = (view.assessment.answer.kind == DRAWS_AIR or not checks or any(check.margin < 0.0 for check in checks)
             or (any(check.margin < 0.0 for check in view.assessment.of(CheckKind.ALL_BLOCKED)) and not remote(view.results)))
    return not short


def _low_line(view: View, wanted: RunningLine) -> Sentence | str:
    """Return that no line serves both a power cut and an intake in that chamber: the one that asks for the highest water."""
    line, network, results = _height(wanted), view.network, view.results
    asked = []
    for k in network.pumps:
        if network.links[k].up == network.pump_chamber and float(results.element(k).running) > 0.5:
            at = float(results.element(k).intake) - network.sump_bottom
            asked.append((at + intake(results, k).limit, at, network.links[k].name))
    if line is None or not asked or line >= max(asked)[0]:
        return ""
    needed, at, name = max(asked)
    return say("No line serves both: above {line} a power cut leaves too little room, below {least} {who} may draw air, for its "
               "intake, at {at}, asks for {needed} over it; a larger sump, less that comes down or a lower intake would.",
               line=height(line, DOWN), least=height(needed, UP), who="the pump" if view.pumps == "pump" else name, at=height(at),
               needed=height(needed - at, UP))


def _blocked_limit(view: View, wanted: RunningLine) -> float | None:
    """Return the line (m) above which blocked drains send more up than a tank has room for; None where the other one is lower."""
    line, case = _height(wanted), view.results.all_blocked
    if line is None or case is None or remote(view.results, case.tank) or view.study.blocked_line is None:
        return None
    over = view.study.blocked_line - view.network.sump_bottom
    return over if over < line else None


def _blocked_line(view: View, wanted: RunningLine, blocked: float | None) -> Sentence | str:
    """Return why the line is lower than a power cut asks for, or that no line keeps blocked drains from overfilling a tank."""
    line, case = _height(wanted), view.results.all_blocked
    if line is None or case is None or remote(view.results, case.tank):
        return ""
    if blocked is None and view.study.blocked_line is not None:
        return ""
    drains = "its drains" if len(view.network.drains) > 1 else "the only drain"
    if blocked is None:
        return say("No line helps {tank} with {drains} blocked.", tank=view.water(case.tank),
                   drains=drains)
    return say("Higher, {drains} blocked, the {pumps} can overfill {tank}; a power cut alone would allow {line}.",
               pumps=view.pumps, tank=view.water(case.tank), drains=drains, line=height(line, DOWN))


def _other_line(view: View, wanted: RunningLine) -> list[Sentence]:
    """Return the line that would do if the siphon breaks were counted on, where that is another one."""
    results = view.results
    if wanted.breaks or not has_breaks(view.network):
        return []
    other = next(line for line in view.assessment.lines if (line.breaks, line.holds) == (True, wanted.holds))
    if other.height is None or (wanted.height is not None and other.height - wanted.height < SAME):
        return []
    return [say("If the siphon breaks{trust} work: at most {line}.", line=height(other.height, DOWN),
                trust="" if results.breaks_counted() else " (too small to be trusted)")]
