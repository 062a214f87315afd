"""A check, the kinds of checks there are, and how a value is held against a limit.

A new kind is one row of `CheckKind` and one function that makes its checks; nothing else keeps a list of kinds.

How much a check wants in reserve, where less is tight; each can be overridden by the owner but those marked *:

| what | reserve | why |
|---|---|---|
| a level below an opening, running: tank, box, sump, with drains blocked too | 10 mm | waves, the film on the walls, the tape |
| what comes up with all drains blocked | the volume of those 10 mm | the same level, told in litres |
| the sump after a power cut | 25 mm | the swing of the stop, the film that follows, a line drawn too high |
| water over the ends of a siphon tube | 10 mm | a wave uncovers an end, and the prime is gone |
| water over an intake | 1.5 bores, or 1.5 V^2/2g | a whirl; V^2/2g alone draws air * |
| siphon breaks, check valves in a power cut | none: not counted on | what plugs or sticks shows only in the cut that floods |
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from enum import Enum

HOLDS, TIGHT, UNSURE, FAILS = "holds", "tight", "unsure", "fails"
"""What a person does about a check: nothing; change something, for little is left; measure what decides it; change it, for water
goes where it must not, or the pump does not do its work."""
IN_DOUBT = (TIGHT, UNSURE)
RANK = {HOLDS: 0, TIGHT: 1, UNSURE: 2, FAILS: 3}

FLOOR, PUMP, COMFORT = "floor", "pump", "comfort"
"""What is at stake: water where it must not be; a pump that runs dry, draws air or cannot lift; noise, speed, turnover, nearness
to another way of running."""
AT_MOST, AT_LEAST, WITHIN, NEITHER = "<=", ">=", "within", ""
"""How a value is held against its limit; `WITHIN` has two limits, and each check is held against the nearer one."""
TANK, SUMP, NOWHERE = "tank", "sump", ""
"""The vessel whose bottom the value and limit of a check are counted from; `NOWHERE` where they are no levels."""


class CheckKind(Enum):
    """The kinds of checks: word (the start of the key), title in a list, stake, dimension, sense, datum.

    Comfort has words of its own instead of a verdict: those of what is well, of what is noticed, of what is too much.
    """

    POWER_CUT = ("power cut", "power cut", FLOOR, "length", AT_MOST, SUMP)
    CUT_OVER_RIMS = ("cut over rims", "cut over rims", FLOOR, "volume", AT_MOST)
    SUMP_ROOM = ("sump room", "room in the sump", FLOOR, "length", AT_MOST, SUMP)
    TANK_ROOM = ("tank room", "room in the tank", FLOOR, "length", AT_MOST, TANK)
    CAPACITY = ("overflow", "overflow capacity", FLOOR, "length", AT_MOST, TANK)
    BLOCKED = ("blocked", "blocked drain", FLOOR, "length", AT_MOST, TANK)
    EMERGENCY_ALONE = ("emergency alone", "the emergency drain alone", FLOOR, "length", AT_MOST, TANK)
    ALL_BLOCKED = ("all blocked", "all drains blocked", FLOOR, "volume", AT_MOST)
    DRY_EMERGENCY = ("dry emergency", "no dry emergency drain", FLOOR, "number", AT_LEAST)
    RESTART = ("restart", "restart", FLOOR, "length", AT_MOST)
    SHARED_PIPE = ("shared pipe", "shared pipe", FLOOR, "number", AT_MOST)
    PRIME = ("prime", "prime of siphon tubes", FLOOR, "length", AT_LEAST)
    RESTART_PUMP = ("restart pump", "restart of the pump", PUMP, "length", AT_LEAST)
    STEADY = ("steady", "steady running", PUMP, "number", NEITHER)
    PUMP_CURVE = ("pump curve", "pump curve", PUMP, "flow", AT_MOST)
    LIFT_MARGIN = ("lift margin", "lift margin", PUMP, "share", AT_LEAST)
    INTAKE = ("intake", "water over the intake", PUMP, "length", AT_LEAST)
    SUCTION = ("suction", "suction", PUMP, "length", AT_MOST)
    BACK_FLOW = ("back-flow", "back-flow", PUMP, "flow", AT_MOST)
    TURNOVER = ("turnover", "turnover", COMFORT, "turnover", WITHIN, NOWHERE, ("in range", "unusual", "not as wished"))
    TURNOVER_OF_ALL = ("turnover of all", "turnover of all water", COMFORT, "turnover", WITHIN, NOWHERE,
                       ("in range", "unusual", "unusual"))
    SPEED = ("speed", "speed in the returns", COMFORT, "speed", AT_MOST, NOWHERE, ("calm", "brisk", "too fast"))
    NOISE = ("noise", "noise", COMFORT, "number", AT_MOST, NOWHERE, ("quiet", "audible", "loud"))
    WAY = ("way", "way of running", COMFORT, "share", AT_LEAST, NOWHERE, ("settled", "near a change", "changes"))
    GOAL_FLOW = ("goal flow", "flow asked for", COMFORT, "flow", WITHIN, NOWHERE, ("as asked", "unsure", "not as asked"))
    HOLE_TO_EDGE = ("edge", "hole to edge", FLOOR, "length", AT_LEAST)
    HOLE_TO_HOLE = ("rims", "hole to hole", FLOOR, "length", AT_LEAST)
    HOLE_TO_CORNER = ("corner", "hole to corner", FLOOR, "length", AT_LEAST)
    LARGEST_HOLE = ("size", "largest hole", FLOOR, "length", AT_MOST)
    SMALLEST_HOLE = ("least", "smallest hole", FLOOR, "length", AT_LEAST)

    def __init__(self, word: str, title: str, stake: str, dimension: str, sense: str, datum: str = NOWHERE,
                 comfort: tuple[str, str, str] = (HOLDS, TIGHT, FAILS)) -> None:
        self.word, self.title, self.stake, self.dimension, self.sense = word, title, stake, dimension, sense
        self.datum, self.comfort = datum, comfort

    def key(self, subject: str = "") -> str:
        """Return the key of a check by kind and subject: 'power cut', 'tank room show'; no two pairs share one.

        A subject that would make it read as another kind's, a drain called 'pump' in 'restart pump', stands in quotes.
        """
        plain = f"{self.word} {subject}".rstrip()
        taken = any(plain == other.word or plain.startswith(f"{other.word} ") for other in CheckKind
                    if len(other.word) > len(self.word))
        return f"{self.word} '{subject}'" if taken or subject != subject.strip() or subject.startswith("'") else plain


@dataclass(frozen=True, slots=True)
class Check:
    """A check. Value, limit and margin are in SI units of its kind's dimension; the margin is positive while the check holds.

    `subject` is the name of the drain, tank or pump asked about, '' where there is one only; `water` the network's water whose
    level it is, None where it is no level. `origin` says where the limit comes from, `reasons` what decided the verdict,
    `figures` further numbers (SI) by words with their dimension. A check that `stands_for` members of a group is that of the
    `worst` of them, by name. `soft` says that beyond its limit it is at worst tight: only a reserve is missing there; `reserve`
    is how far beyond the limit that is so where it is not everywhere. Where one input decides a verdict, `decided_by` names it.
    """

    kind: CheckKind
    question: str
    value: float
    limit: float
    margin: float
    verdict: str
    origin: str
    reasons: tuple[str, ...] = ()
    subject: str = ""
    water: int | None = None
    sense: str = NEITHER
    stands_for: tuple[str, ...] = ()
    worst: str = ""
    soft: bool = False
    reserve: float = 0.0
    decided_by: str = ""
    figures: dict[str, tuple[float, str]] = field(default_factory=dict)

    @property
    def key(self) -> str:
        """What the check is found by: no other check of an assessment has the same."""
        return self.kind.key(self.subject)

    @property
    def dimension(self) -> str:
        """The dimension of value, limit and margin."""
        return self.kind.dimension

    @property
    def to_failing(self) -> float:
        """How far the value may still go until the check fails, the reserve used up; it says so of a check that is not soft."""
        return self.margin + self.reserve

    @property
    def word(self) -> str:
        """The verdict as it is told: of comfort in plain words."""
        if self.kind.stake != COMFORT:
            return self.verdict
        well, noticed, too_much = self.kind.comfort
        return {HOLDS: well, FAILS: too_much}.get(self.verdict, noticed)

    @property
    def because(self) -> str:
        """The reasons in one line."""
        return "; ".join(self.reasons)

    def downgraded(self, reason: str, verdict: str = TIGHT) -> Check:
        """Return the check with a worse verdict and its reason; a verdict is never made better."""
        if RANK[verdict] < RANK[self.verdict]:
            return self
        return replace(self, verdict=verdict, reasons=(*self.reasons, reason))

    def with_verdict(self, verdict: str, *reasons: str) -> Check:
        """Return the check with another verdict, because of something that the plain comparison cannot see."""
        return replace(self, verdict=verdict, reasons=reasons, soft=verdict != FAILS)


def worst_verdict(checks: Iterable[Check]) -> str:
    """Return the worst verdict of some checks, 'holds' for none."""
    return max((check.verdict for check in checks), key=RANK.__getitem__, default=HOLDS)


def verdict_at_stake(checks: Iterable[Check]) -> str:
    """Return the worst verdict where the floor or the pump is at stake, 'holds' for none; comfort is told beside it."""
    return worst_verdict(check for check in checks if check.kind.stake != COMFORT)


def gravity(check: Check) -> tuple[int, float]:
    """Return what checks are put in order by: the verdict, and of alike ones the margin, the gravest one last."""
    return RANK[check.verdict], -check.margin


def by_key(checks: Iterable[Check]) -> dict[str, Check]:
    """Return checks by key."""
    return {check.key: check for check in checks}


def held(kind: CheckKind, question: str, value: float, limit: float, origin: str, because: str = "", otherwise: str = FAILS, *,
         subject: str = "", water: int | None = None) -> Check:
    """Hold a value against a limit in the sense of its kind; `otherwise` is the verdict on the wrong side of it."""
    return _held(kind, kind.sense, question, value, limit, origin, because, otherwise, subject, water)


def held_within(kind: CheckKind, question: str, value: float, low: tuple[float, str], high: tuple[float, str],
                otherwise: str = FAILS, *, subject: str = "") -> Check:
    """Hold a value against a range, each limit with its origin; the check is that of the nearer one."""
    least, most = (_held(kind, sense, f"{question}, {words}", value, limit, origin, "", otherwise, subject, None)
                   for sense, words, (limit, origin) in ((AT_LEAST, "at least", low), (AT_MOST, "at most", high)))
    return least if least.margin <= most.margin else most


def _held(kind: CheckKind, sense: str, question: str, value: float, limit: float, origin: str, because: str, otherwise: str,
          subject: str, water: int | None) -> Check:
    most = sense == AT_MOST
    verdict = HOLDS if (value <= limit if most else value >= limit) else otherwise
    return Check(kind, question, value, limit, limit - value if most else value - limit, verdict, origin,
                 (because,) if because else (), subject, water, sense, soft=otherwise != FAILS)
