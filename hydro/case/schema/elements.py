"""Elements in the JSON Schema: one line of text that starts with the element's word, or a mapping with its fields."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from hydro.case.schema.values import EMPTY, Schema, any_case, either, form_of, matching
from hydro.case.syntax.items import LIKE, every_field, kinds_of_families
from hydro.elements.registry import Kind

Fields = dict[str, Schema]


def fields_of(kinds: Iterable[Kind]) -> Fields:
    """Return the form of every field of some kinds by name."""
    found: dict[str, list[Schema]] = {}
    for kind in kinds:
        for name, field in every_field(kind).items():
            form = form_of(field.dimension, field.choices)
            if form not in found.setdefault(name, []):
                found[name].append(form)
    return {name: either(forms) for name, forms in found.items()}


def mapping(properties: Mapping[str, Schema], required: Iterable[str] = ()) -> Schema:
    """Return the form of a mapping with these keys and no others."""
    must = [*required]
    return {"type": "object", "properties": {**properties}, "additionalProperties": False} | ({"required": must} if must else {})


def behind(kind: Kind) -> Schema:
    """Return the form of what stands behind an element's word where that is a key of a section ('siphon break')."""
    return either([EMPTY, mapping(fields_of([kind]), [field.name for field in kind.fields if field.required])])


def element(families: tuple[str, ...], beside: Fields, part: bool) -> Schema:
    """Return the form of an element of some families; `beside` are keys that its mapping may have besides its own.

    `part`: of an entry that repeats another one, where fields may stand without the word.
    """
    kinds = kinds_of_families(families)
    words = "|".join(any_case(word) for word in sorted(kinds, key=len, reverse=True))
    text = matching(rf"^([0-9]+\s*[x×]\s+)?({LIKE}\s+)?({words})(\s|$)")
    every = fields_of(kinds.values())
    if part:
        return either([text, mapping(dict.fromkeys(kinds, EMPTY | {"type": [*EMPTY["type"], "object"]}) | every | beside)])
    like = mapping({LIKE: matching(rf"^({words})(\s|$)")} | every | beside, [LIKE])
    return either([text, *(_by_word(word, kind, beside) for word, kind in kinds.items()), like])


def _by_word(word: str, kind: Kind, beside: Fields) -> Schema:
    """Return the form of a mapping in which the word is a key: behind it values in their order, or fields by name."""
    fields = fields_of([kind])
    inner = mapping({name: form for name, form in fields.items() if name != word})
    others = {name: form for name, form in (fields | beside).items() if name != word}
    schema = mapping({word: either([EMPTY, inner])} | others, [word])
    told = [field.name for field in kind.fields if field.required and field.name != word]
    rules = [{"anyOf": [{"required": [name]}, {"properties": {word: {"type": "object", "required": [name]}}},
                        *([{"properties": {word: {"type": ["string", "number"]}}}] if name in kind.positional else [])]}
             for name in told]
    return schema | ({"allOf": rules} if rules else {})
