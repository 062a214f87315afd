"""One row of the checks, and the ways in which a value is held against a limit."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

HOLDS, ONLY_JUST, FAILS = "holds", "only just", "fails"
RANK = {HOLDS: 0, ONLY_JUST: 1, FAILS: 2}


@dataclass(frozen=True, slots=True)
class Check:
    """A check. Value, limit and margin are in SI units of `dimension`; the margin is positive while the check holds.

    `origin` says where the limit comes from, `because` what decided the verdict, `figures` further numbers (SI) by words
    with their dimension.
    """

    key: str
    question: str
    value: float
    limit: float
    margin: float
    verdict: str
    dimension: str
    origin: str
    because: str = ""
    figures: dict[str, tuple[float, str]] = field(default_factory=dict)

    def downgraded(self, reason: str, verdict: str = ONLY_JUST) -> Check:
        """Return the row with a worse verdict and its reason; a verdict is never made better."""
        if RANK[verdict] < RANK[self.verdict]:
            return self
        because = f"{self.because}; {reason}" if self.because else reason
        return replace(self, verdict=verdict, because=because)

    def with_verdict(self, verdict: str, because: str) -> Check:
        """Return the row with another verdict, because of something that the plain comparison cannot see."""
        return replace(self, verdict=verdict, because=because)


def worse(first: str, second: str) -> str:
    """Return the worse one of two verdicts."""
    return first if RANK[first] >= RANK[second] else second


def at_most(key: str, question: str, value: float, limit: float, dimension: str, origin: str, because: str = "",
            otherwise: str = FAILS) -> Check:
    """Hold a value against an upper limit; `otherwise` is the verdict beyond it."""
    verdict = HOLDS if value <= limit else otherwise
    return Check(key, question, value, limit, limit - value, verdict, dimension, origin, because)


def at_least(key: str, question: str, value: float, limit: float, dimension: str, origin: str, because: str = "",
             otherwise: str = FAILS) -> Check:
    """Hold a value against a lower limit; `otherwise` is the verdict below it."""
    verdict = HOLDS if value >= limit else otherwise
    return Check(key, question, value, limit, value - limit, verdict, dimension, origin, because)
