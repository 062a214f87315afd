"""Keys of the file itself, of the water, and of what the owner wishes for."""

from __future__ import annotations

from hydro.case.keys.model import YES_NO, Key, SectionKeys
from hydro.quantities.parsing import SYSTEMS

KEPT = ("lid", "heater", "circulation pumps", "lights", "livestock", "weight")
"""Keys that are kept as notes: heat, weight and light, never flow through the sump."""
PROSE = ("title", "notes", *KEPT)
"""Keys of the file whose text may hold any question."""
_DRAINS, _RETURNS = "[{inlet: ..., line: [...], into: {...}}]", "[{line: [...], end: HEIGHT}]"

FILE = SectionKeys({
    "title": Key("any text", "text"),
    "units": Key("metric, US or imperial: what the report is shown in", "word", choices=SYSTEMS),
    "my tape": Key("4 mm; how far off each tape measure may be", "length", high=0.2),
    "temperature": Key("24 °C", "temperature", low=273.15, high=313.15), "salinity": Key("35 ppt", "salinity", high=42.0),
    "tank": Key("a shape, and the keys of 'tank'", section="tank", required=True, unless="tanks",
                example="{inside: 197 x 99 x 78 cm, bottom: 62 cm above ground}"),
    "sump": Key("a shape, and the keys of 'sump'", section="sump", required=True, unless="sumps",
                example="{inside: 100 x 50 x 45 cm, bottom: at ground, chambers: [...]}"),
    "drains": Key("a list", section="drain", listed=True, example=_DRAINS, required=True, unless="tanks"),
    "pump": Key("one", section="pump", example="{curve: [0 L/h = 5.0 m, 3600 L/h = 3.9 m]}", required=True, unless="pumps"),
    "returns": Key("a list", section="return", listed=True, example=_RETURNS, required=True, unless="tanks"),
    "water": Key("where no chamber has a 'line'", section="water", example="{still: HEIGHT} or {total: VOLUME}"),
    "wishes": Key("limits of your own", section="wishes", example="{turnover: 3 .. 10 per hour}"),
    "goals": Key("{turnover: 3 .. 5 per hour, quiet: yes, survives one blocked drain: yes, holds the power cut: yes}; for 'size'",
                 section="goals", example="{turnover: 3 .. 5 per hour, quiet: yes, survives one blocked drain: yes, "
                 "holds the power cut: yes, flow: 3000 L/h}"),
    "catalogue": Key("my-sizes.csv; pipe and hose of your own, beside those of the library", "text"),
    "defaults": Key("{NAME OF A DEFAULT: VALUE}", "defaults", "{NAME OF A DEFAULT: VALUE}"),
    "notes": Key(f"any text; so are {', '.join(KEPT[:-1])} and {KEPT[-1]}: kept, not reckoned with", "prose"),
    **dict.fromkeys(KEPT, Key(kind="prose")),
    "tanks": Key(section="tank", listed=True, several="a list; '12 x NAME' for many alike; each may hold its own box, drains and "
                 "returns"),
    "overflow boxes": Key(section="box", listed=True, several="a list"),
    "sumps": Key(section="sump", listed=True, several="a list"),
    "pumps": Key(section="pump", listed=True, several="a list; '2 x NAME' for several alike side by side"),
    "pipes between": Key(section="pipe", listed=True, several="a list, between headers or waters")},
    "the file", "the file, with several of something")

SEVERAL = tuple(name for name, key in FILE.keys.items() if key.only_several)
"""Sections of a build that has several of something."""

WATER = SectionKeys({
    "still": Key("25 cm above sump bottom, all at rest", "height"), "total": Key("900 L", "volume", low=1e-4, high=1e4),
    "chamber": Key(kind="name", several="NAME, one that a pump draws from")},
    "water", "water, with several pumps", most_one=("still", "total"))

WISHES = SectionKeys({
    "turnover": Key("2 .. 6 per hour", "turnover", high=1.0), "least turnover": Key("2 per hour", "turnover", high=1.0),
    "most turnover": Key("6 per hour", "turnover", high=1.0), "room at the sump rim": Key("25 mm", "length", high=10.0),
    "top-up reservoir": Key("10 L", "volume", high=1e3), "other water": Key("50 L", "volume", high=1e4),
    "count on": Key("siphon breaks, check valves; what is sure to work in a power cut", "word", listed=True,
                    choices=("siphon breaks", "check valves"))}, "wishes")

GOALS = SectionKeys({
    "turnover": Key("at least, or within", "turnover", high=1.0), "flow": Key("what all pumps lift", "flow", high=1.0),
    "quiet": Key("every drain runs quietly", "word", choices=YES_NO),
    "survives one blocked drain": Key("with each drain blocked the others carry the pumps' maximum flow", "word", choices=YES_NO),
    "holds the power cut": Key("what comes down fits, and no tank runs over its rim", "word", choices=YES_NO)})
"""What `sumpwright size` asks of a design; read by `hydro.search.sizing.goals`."""
