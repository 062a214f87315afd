"""The loop through time: steps that fit the error, and events that are met on the way.

The error of a step (`hydro.transient.step`), as a level in each water, is kept below a tolerance. Events
(`hydro.transient.events`) are located by shortening the step until it ends within a millisecond, or 1e-4 of the time, behind
the first of them; what they change is changed, the flows are found anew, and every condition is asked again at the same
instant, until none is left. Inertia of the water (0.2 s) is left out."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from hydro.errors import SolveError
from hydro.transient.state import TransientState
from hydro.transient.step import anew, stuck, time_step

TOLERANCE = 2e-5
"""Error of a level in one step, m."""
FIRST, LEAST, LONGEST = 0.02, 1e-6, 60.0
"""First step after a start or an event, shortest and longest step, s."""
SHARP, SHARPER = 1e-3, 1e-4
"""How far behind an event a step may end: seconds, share of the time since the start."""
STILL = 1e-3 / 3600.0
"""Flow below which a water counts as at rest, m3/s: 1 L/h."""
AT_ONCE = 10
"""Most events at one instant for each link; more is a bug or a loop that chatters."""


@dataclass(frozen=True, slots=True)
class Watch:
    """A condition: `margin` is positive while it holds; `act` is what follows when it no longer does, with its words.

    Empty words are not told.
    """

    name: str
    margin: Callable[[TransientState], float]
    act: Callable[[TransientState], tuple[TransientState, str]]


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened: the words, and the instant behind it."""

    words: str
    moment: TransientState


@dataclass(frozen=True, slots=True)
class History:
    """What happened: the instants step by step, the events, why it ended."""

    moments: tuple[TransientState, ...]
    events: tuple[Event, ...]
    ended: str

    @property
    def start(self) -> TransientState:
        """The first instant."""
        return self.moments[0]

    @property
    def end(self) -> TransientState:
        """The last instant."""
        return self.moments[-1]


Watches = Callable[[TransientState], Sequence[Watch]]
Enough = Callable[[TransientState, Sequence[Event]], str]
"""A reason to stop, from an instant and what has happened so far; '' to go on."""


def apply_events(moment: TransientState, watches: Watches) -> tuple[TransientState, list[Event]]:
    """Return the instant after everything that happens at it, with what that was: after each change all is asked again."""
    events: list[Event] = []
    for _ in range(AT_ONCE * len(moment.network.links)):
        broken = next((watch for watch in watches(moment) if watch.margin(moment) < 0.0), None)
        if broken is None:
            return moment, events
        network = moment.network
        moment, words = broken.act(moment)
        if moment.network is not network:
            moment = anew(moment)
        if words:
            events.append(Event(words, moment))
    raise SolveError("through time", len(events), moment.time, broken.name if broken else "", "one thing undoes another at once")


def crossing(before: TransientState, after: TransientState, watches: Sequence[Watch]) -> float | None:
    """Return the share of a step after which the first condition fails, by straight lines; None where all hold."""
    first: float | None = None
    for watch in watches:
        now = watch.margin(after)
        if now < 0.0:
            was = watch.margin(before)
            share = was / (was - now) if was > 0.0 else 0.0
            first = share if first is None else min(first, share)
    return first


def nothing_moves(before: TransientState, after: TransientState) -> bool:
    """Whether no water gained or lost more than 1 L/h in a step, nor anything in the lines."""
    dt = after.time - before.time
    changes = [b - a for a, b in zip(before.volumes, after.volumes, strict=True)]
    changes += [b - a for a, b in zip(before.held, after.held, strict=True)]
    for a, b in zip(before.stores, after.stores, strict=True):
        changes += [b.lines - a.lines, b.falling - a.falling]
    return max(map(abs, changes)) < STILL * dt


def next_step(dt: float, error: float, tolerance: float) -> float:
    """Return the step after one with an error, m: at most four times as long (the error grows with its square)."""
    return min(LONGEST, dt * min(4.0, 0.85 * math.sqrt(tolerance / (error + 1e-12))))


def shorter(dt: float, made: tuple[TransientState, float] | None, tolerance: float) -> float:
    """Return the step to try after one that was not solved, or whose error was too large."""
    return dt * (0.3 if made is None else max(0.2, 0.85 * math.sqrt(tolerance / made[1])))


def history(start: TransientState, watches: Watches, tolerance: float = TOLERANCE, longest: float = 4 * 3600.0,
           enough: Enough = lambda moment, events: "") -> History:
    """Return what happens from an instant on, until nothing moves, `enough` gives a reason to stop, or time is up.

    `tolerance` in m of level, `longest` in s. SolveError where a step of a microsecond is not solved.
    """
    moment, events = apply_events(anew(start), watches)
    moments = [moment]
    dt, quiet = FIRST, 0
    ended = enough(moment, events)
    while not ended:
        made = time_step(moment, dt)
        if made is None or made[1] > 1.5 * tolerance:
            dt = shorter(dt, made, tolerance)
            if dt < LEAST:
                raise stuck(moment)
            continue
        new, error = made
        share = crossing(moment, new, watches(moment))
        if share is not None and (1.0 - share) * dt > max(SHARP, SHARPER * new.time):
            dt *= min(0.9, max(0.02, 1.02 * share))
            dt = max(dt, 0.5 * SHARP)
            continue
        quiet = quiet + 1 if share is None and nothing_moves(moment, new) else 0
        dt = next_step(dt, error, tolerance)
        if share is not None:
            new, happened = apply_events(new, watches)
            events += happened
            dt = min(dt, FIRST)
        moment = new
        moments.append(moment)
        ended = ("nothing moves any more" if quiet >= 3 else "time is up" if moment.time >= longest else enough(moment, events))
    return History(tuple(moments), tuple(events), ended)
