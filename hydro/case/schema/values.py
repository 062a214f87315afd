"""The form of one value in the JSON Schema: quantities, heights, words, pairs."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from hydro.case.keys.vessels import MATERIALS
from hydro.case.syntax.values import ALSO_GROUND, YES_NO_WORDS
from hydro.description.heights import BOTTOM, GROUND, LIP, RIM, WATER
from hydro.quantities.parsing import DIMENSIONS

Schema = dict[str, Any]

SCALAR: Schema = {"type": ["string", "number", "boolean"]}
EMPTY: Schema = {"type": ["string", "number", "boolean", "null"]}
"""What stands behind a key that may be left empty."""
_DIGIT = "[0-9½¼¾⅛⅜⅝⅞]"
_QUANTITY = rf"{_DIGIT}.*[A-Za-z%°\"'″′µμ]"


def any_case(text: str) -> str:
    """Return a pattern for a text in small or capital letters; schemas have no switch for that."""
    return "".join(f"[{sign.upper()}{sign.lower()}]" if sign.isalpha() else re.escape(sign) if sign != " " else r"\s+"
                   for sign in text)


def matching(pattern: str) -> Schema:
    """Return the form of a text that holds a pattern, or a '?'."""
    return {"type": "string", "pattern": rf"\?|{pattern}"}


def either(choices: Sequence[Schema]) -> Schema:
    """Return the form of a value that has one of several forms."""
    return choices[0] if len(choices) == 1 else {"anyOf": [*choices]}


def one_word(choices: Sequence[str]) -> Schema:
    """Return the form of one of some words; any word where there is no choice."""
    if not choices:
        return SCALAR
    more = YES_NO_WORDS if "yes" in choices else ()
    forms = [{"enum": [*choices]}, matching(f"^({'|'.join(any_case(word) for word in (*choices, *more))})$")]
    return either([*forms, {"type": "boolean"}] if more else forms)


_GROUNDS = rf"(({any_case('the ')})?({any_case(GROUND)}|{any_case(ALSO_GROUND)}))"
_PLACE = rf"({_GROUNDS}|.+({'|'.join(map(any_case, (BOTTOM, RIM, WATER)))})|{any_case(LIP)}.+)$"
_HEIGHT = rf"(^{any_case('at')}|^[^-].*\s({any_case('above')}|{any_case('below')}))\s+{_PLACE}"
_FORMS: dict[str, Schema] = {
    "number": {"anyOf": [{"type": "number"}, matching(_DIGIT)]},
    "height": matching(_HEIGHT), "height range": matching(rf"\.\..+{_PLACE}"), "size": SCALAR, "name": EMPTY, "text": EMPTY,
    "prose": {}, "product": matching(rf"{_DIGIT}.*[x×].*{_QUANTITY}"), "fill": matching(rf"{_QUANTITY}.*=.*{_QUANTITY}"),
    "point": matching(rf"{_DIGIT}.*=.*{_DIGIT}"),
    "bucket test": matching(rf"{_DIGIT}.*\s{any_case('in')}\s.*\s{any_case('at')}\s"),
    "wall": matching(rf"^({'|'.join(map(any_case, MATERIALS))})\s.*{_QUANTITY}"), "viscosity": matching(_QUANTITY)}


def form_of(kind: str, choices: Sequence[str] = ()) -> Schema:
    """Return the form of a value of some kind: a dimension, or one of the kinds of `keys.Key` and of the registry's fields.

    Where it is no word, `choices` are words that may stand in its place.
    """
    if kind == "word":
        return one_word(choices)
    form = _FORMS.get(kind) or (matching(_QUANTITY) if kind in DIMENSIONS else _FORMS[kind])
    return either([form, one_word(choices)]) if choices else form
