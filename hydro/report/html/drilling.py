"""The section on drilling: panels to scale, holes, clearances, the freedom of each height, what is not given, order of work."""

from __future__ import annotations

from markupsafe import Markup

from hydro.checks.check import AT_MOST
from hydro.drilling import work
from hydro.drilling.measures import exact, length
from hydro.drilling.panels import DrilledHole
from hydro.drilling.settings import ElbowSetting, settings_of
from hydro.drilling.sheet import DrillingSheet, PanelSheet, guessed, rule_asks
from hydro.report.drawing.panel_drawing import panel_drawing
from hydro.report.html.markup import (
    PageSection,
    items,
    join,
    page_figure,
    page_paragraph,
    page_table,
    strong,
    subheading,
    verdict_mark,
)
from hydro.study import Study

ANCHOR, TITLE = "drilling", "Drilling sheet"


def drilling_section(study: Study, system: str) -> PageSection | None:
    """Return the section, None where the build describes no hole."""
    sheet = study.drilling_sheet(system)
    if sheet is None:
        return None
    return PageSection(ANCHOR, TITLE, join([*_warnings(sheet), *(_panel(sheet, one) for one in sheet.panels), _work(sheet)]))


def _warnings(sheet: DrillingSheet) -> list[Markup]:
    made = [page_paragraph(strong(work.TOUGHENED), class_="warning")]
    if sheet.failing:
        made.append(page_paragraph(strong("Do not drill yet. "), "The build as described fails: ", "; ".join(sheet.failing),
                                   ". A hole cannot be moved afterwards.", class_="warning"))
    if sheet.refusals:
        made.append(items([strong(sentence[0].upper() + sentence[1:], ".") for sentence in sheet.refusals]))
    if sheet.unasked:
        made.append(page_paragraph("How much freedom the heights of the holes have was not asked: the build is too large "
                                   "for that. Set each lip to its height exactly."))
    return made


def _panel(sheet: DrillingSheet, one: PanelSheet) -> Markup:
    parts = [subheading(f"{one.name[0].upper()}{one.name[1:]}")]
    if one.also:
        parts.append(page_paragraph(f"The same in {len(one.also)} more: {', '.join(one.also)}."))
    drawn = panel_drawing(one, sheet.system)
    if drawn:
        seen = "seen from above, its front edge below" if one.panel.level else "seen from outside"
        parts.append(page_figure(drawn, f"{one.name}, {seen}, to scale. {work.CORNERS}"))
    parts.append(_holes(sheet, one))
    if one.checks:
        parts.append(_clearances(sheet, one))
    if one.bands:
        parts.append(_freedom(sheet, one))
    return join(parts)


def _holes(sheet: DrillingSheet, one: PanelSheet) -> Markup:
    """A table of the holes: what to drill and where."""
    system, edge = sheet.system, "Centre from the front" if one.panel.level else "Centre below the rim"
    rows = []
    for hole in one.holes:
        x = "not stated" if hole.x is None else length(hole.x, system)
        down = hole.up if one.panel.level else hole.below_rim
        there = "not known" if down is None else length(down, system)
        rows.append((hole.name, _cutter(hole, system), x, there, _follows(hole, system)))
    head = ("Hole for", "Cutter", "Centre from the left", edge, "Where that comes from")
    return page_table(f"Holes in {one.name}", head, rows, words=(0, 1, 4))


def _cutter(hole: DrilledHole, system: str) -> str:
    if hole.diameter is not None:
        return f"{exact(hole.diameter, system)}, as stated for the fitting in hand"
    usual = guessed(hole, system)
    return f"measure the fitting in hand; {'usual for its bore: ' + usual if usual else 'no bulkhead of its bore is known here'}"


def _follows(hole: DrilledHole, system: str) -> str:
    """Say where the height comes from."""
    if hole.panel.level:
        return "as stated" if hole.up is not None else "not known"
    if hole.elbow is not None:
        return f"{length(hole.elbow.rise, system)} under the lip of its upright elbow"
    if hole.over is not None:
        return f"{length(hole.over, system)} over its lip, the lowest point of the bore"
    return "not known" if hole.up is None else "as stated"


def _clearances(sheet: DrillingSheet, one: PanelSheet) -> Markup:
    rows = [(check.question, length(check.value, sheet.system, 1 if check.sense == AT_MOST else -1),
             rule_asks(check, sheet.system), verdict_mark(check.verdict), "; ".join((*check.reasons, check.origin)))
            for check in one.checks]
    return page_table(f"Clearances in {one.name}; a hole that breaks a rule is not given",
                      ("Clearance", "Is", "Asked for", "Verdict", "Why, and by whose rule"), rows, words=(0, 3, 4))


def _freedom(sheet: DrillingSheet, one: PanelSheet) -> Markup:
    """A table of how high and how low each hole may be, and the setting that goes with it."""
    rows, none = [], []
    for hole in one.holes:
        band = one.bands.get(hole.name)
        if band is None:
            continue
        if band.least is None:
            none.append(f"no hole is given for {hole.name}: what its checks ask and what the edges of the panel leave have no "
                        "height in common")
        rows += [_setting(hole, setting, sheet.system) for setting in settings_of(hole, band, sheet.system)]
    made = page_table("Freedom of the heights: between lowest and highest there is a setting with which no check on "
                      "floor or pump is worse than as described, every input at either end and the tape off by what it is good "
                      "for; all else as described",
                 ("Hole", "Centre below the rim", "Elbow from upright", "Lowest point of its lip below the rim",
                  "Middle of its lip below the rim", "Beyond it"), rows, words=(0, 5))
    return join([made, items(none)])


def _setting(hole: DrilledHole, setting: ElbowSetting, system: str) -> tuple[str, ...]:
    centre, lowest, middle = setting.towards
    turned = "cannot be turned" if setting.degrees is None else f"{setting.degrees:.0f}°"
    beyond = f"worse: {setting.bound}" if setting.bound else ("no check was met as far as was looked" if centre else "")
    return (f"{hole.name}: {setting.words}", length(setting.centre, system, centre), turned,
            length(setting.lowest, system, lowest), length(setting.middle, system, middle), beyond)


def _work(sheet: DrillingSheet) -> Markup:
    parts = [subheading("Order of work")]
    for material in dict.fromkeys(one.panel.material or "glass" for one in sheet.panels):
        parts += [page_paragraph(f"In {material}:"), items(work.order_for(material), ordered=True)]
    parts += [page_paragraph(work.GASKET), page_paragraph(work.PRACTICE), page_paragraph(work.LIMITS)]
    if sheet.given:
        parts.append(page_paragraph("The holes that are given stand on a 1:1 template as well ('--template FILE.pdf'). ",
                                    strong(work.SCALE)))
    return join(parts)
