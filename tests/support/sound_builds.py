"""Whole builds at random as a careful builder makes them: most of what is asked of them holds.

A roomy sump, a pump well within what the drains take, a drain that stands dry, returns whose mouths end at the lip: a power cut
brings little down. Drawn by the dice of `random_builds`, the same ones for the same seed.
"""

from __future__ import annotations

from dataclasses import replace

from random_builds import LINE, Case, Dice, at

from hydro.description.build import GivenWater


class SoundDice(Dice):
    """Draws one build with room to spare."""

    def __init__(self, seed, number):
        super().__init__(f"{seed} sound", number)
        self.flavour = "usual"

    def vessels(self):
        """Draw a tank over a sump that takes what comes down."""
        self.tank_bottom, self.tank_height = self.uniform(0.6, 1.1), self.uniform(0.45, 0.7)
        self.tank = self.vessel("tank", at(self.tank_bottom), self.uniform(0.7, 1.6), self.uniform(0.35, 0.7), self.tank_height)
        self.sump_bottom, self.sump_height = self.uniform(0.0, 0.1), self.uniform(0.42, 0.58)
        self.sump_length = self.uniform(0.7, 1.3)
        self.sump = self.vessel("sump", at(self.sump_bottom), self.sump_length, self.uniform(0.35, 0.6), self.sump_height)

    def drains(self):
        """Draw drains, and one that stands dry over them."""
        made = super().drains()
        bore = max(float(drain.inlet.values["rim"].middle) for drain in made)
        below = max(0.012, min(-drain.inlet.values["lip"].offset.middle for drain in made) - self.uniform(0.015, 0.03))
        return (*made, self.drain("dry drain", bore, below, False))

    def wanted(self):
        """Return a flow well within what the drains take, m3/s."""
        return self.capacity * self.uniform(0.1, 0.5)

    def one_return(self, name, bore):
        """Return a line that ends about at the lip, without a hole."""
        made = super().one_return(name, bore)
        below = self.lip_below_rim + self.uniform(-0.03, 0.01)
        self.mouth = self.tank_bottom + self.tank_height - below + 0.03
        return replace(made, end=at(-below, "tank rim"), hole=None,
                       line=tuple(item for item in made.line if item.kind != "siphon break"))

    def water(self, running):
        """Return a line with water over the intake."""
        return GivenWater(LINE, at(max(running, self.intake + self.uniform(0.08, 0.12)), "sump bottom"))


def cases(seed, count, first=0):
    """Yield cases one after the other."""
    for number in range(first, first + count):
        build, _ = SoundDice(str(seed), number).build()
        yield Case(str(seed), number, "sound", build, ())
