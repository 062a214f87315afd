"""The values behind an element's word in one line: '40 PN10 about 20 cm' -> size and length.

Which words belong to which value is found by trying: the values stand in the kind's order, each takes the longest run
of words that reads well, and a value's own name may stand beside it ('40 % open'). Only units of the trade are tried;
whatever is left is cut in front of each number, which also gives the message when it cannot be read.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from hydro.case.syntax.values import has_known_unit, is_pipe_size, parse
from hydro.description.build import Value
from hydro.elements.registry import Field, Kind
from hydro.quantities.parsing import UnitProblem

MOST_WORDS = 24
_START = re.compile(r"[0-9.~≈]|about$|around$|roughly$|approx|circa$|ca\.?$", re.IGNORECASE)
_JOINS = ("+-", "±", "+/-", "..", "...", "to", "x", "sch", "schedule",
          "about", "around", "roughly", "circa", "ca", "approx")


def split_values(kind: Kind, fields: Mapping[str, Field], rest: str, system: str, named: bool = False) -> dict[str, Value]:
    """Return the values behind a word by name; `UnitProblem` where they cannot be read or something is left over.

    A size may stand before or behind the values of a kind that lists none in its order ('check valve 28 mm').
    """
    if not rest:
        return {}
    tokens, order = rest.split(), [fields[name] for name in kind.positional]
    sizes = [field for field in kind.fields if field.dimension == "size" and field not in order]
    usage = " ".join((kind.word, *(field.name.upper() for field in (*order, *sizes))))
    if not (order or sizes):
        raise UnitProblem(f"'{rest}' behind '{kind.word}'",
                          f"'{kind.word}' alone, or a mapping with its values by name")
    if len(tokens) > MOST_WORDS:
        raise UnitProblem(f"{len(tokens)} words behind '{kind.word}'", f"'{usage}'")
    for one_order in ((*order, *sizes), (*sizes, *order)):
        found = _split(tokens, one_order, system, named)
        if found is not None:
            return found
    _by_name(kind, fields, tokens, {field.name for field in (*order, *sizes)})
    return _cut(tokens, order or sizes, usage, system, named)


def _by_name(kind: Kind, fields: Mapping[str, Field], tokens: Sequence[str], placed: set[str]) -> None:
    """Raise where a value that has to be named in a mapping is named in the line, with the mapping."""
    for k, token in enumerate(tokens[:-1]):
        if token in fields and token not in placed and k > 0:
            before, behind = " ".join(tokens[:k]), " ".join(tokens[k + 1:])
            raise UnitProblem(f"'{token} {behind}' behind '{kind.word}'", f"'{{{kind.word}: {before}, {token}: {behind}}}'")


def _split(tokens: Sequence[str], order: Sequence[Field], system: str, named: bool) -> dict[str, Value] | None:
    """Return one way to give every word to a field, in order; None where there is no way.

    Fields that need not be given may go without.
    """
    if not tokens or not order:
        return None if tokens else {}
    for end in range(len(tokens), 0, -1):
        text = _without_name(" ".join(tokens[:end]), order[0].name)
        if not _plausible(text, order[0]):
            continue
        try:
            value = parse(order[0], text, system, named)
        except UnitProblem:
            continue
        others = _split(tokens[end:], order[1:], system, named)
        if others is not None:
            return {order[0].name: value, **others}
    return None if order[0].required else _split(tokens, order[1:], system, named)


def _plausible(text: str, field: Field) -> bool:
    """Whether trying is worth it: nothing may reach for units that are in no table of the trade."""
    if field.dimension == "number":
        return " " not in text or all(_START.match(word) or word.casefold() in _JOINS for word in text.split())
    if field.dimension in ("word", "height", "height range") or text.casefold() in field.choices:
        return True
    return has_known_unit(text) or (field.dimension == "size" and is_pipe_size(text))


def _cut(tokens: Sequence[str], order: Sequence[Field], usage: str, system: str, named: bool) -> dict[str, Value]:
    """Read the words cut in front of each number, one piece for each field: mostly to find out what is wrong."""
    pieces = _pieces(tokens, {field.name.casefold() for field in order})
    if len(pieces) > len(order) and order[-1].dimension in ("height range", "word"):
        pieces = [*pieces[:len(order) - 1], " ".join(pieces[len(order) - 1:])]
    values: dict[str, Value] = {}
    for field, text in zip(order, pieces, strict=False):
        try:
            values[field.name] = parse(field, _without_name(text, field.name), system, named)
        except UnitProblem as problem:
            raise UnitProblem(problem.found, f"'{usage}' with {problem.expected}", problem.nearest) from None
    if len(pieces) > len(order):
        raise UnitProblem(f"'{' '.join(pieces[len(order):])}' is left over", f"'{usage}'")
    return values


def _pieces(tokens: Sequence[str], names: set[str]) -> list[str]:
    """Cut a row of words in front of each number that does not continue the one before it."""
    pieces: list[list[str]] = []
    for token in tokens:
        before = pieces[-1][-1].casefold() if pieces else ""
        starts = _START.match(token) is not None and before not in _JOINS and before not in names
        if not pieces or starts:
            pieces.append([token])
        else:
            pieces[-1].append(token)
    return [" ".join(piece) for piece in pieces]


def _without_name(text: str, name: str) -> str:
    folded, own = text.casefold(), name.casefold()
    if folded.endswith(" " + own):
        return text[:-len(own)].strip()
    return text[len(own):].strip() if folded.startswith(own + " ") else text
