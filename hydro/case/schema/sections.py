"""The sections of a case file in the JSON Schema, each out of its keys in the table."""

from __future__ import annotations

from itertools import combinations

from hydro.case.keys import ENTRY, SECTIONS, Key
from hydro.case.keys.vessels import SHAPES
from hydro.case.schema.elements import behind, element, fields_of, mapping
from hydro.case.schema.values import Schema, either, form_of
from hydro.case.sections.settings import known_defaults
from hydro.case.syntax.items import kinds_of_families
from hydro.case.syntax.open_values import SECTION as OPEN
from hydro.elements.registry import Kind, load_all

_TIMES = r"^(\?.*|[0-9]+)\s*[x×]\s"
_NOT_ALONE = {"tank": tuple(name for name, key in SECTIONS["tank"].keys.items() if key.only_several), "sump": ENTRY,
              "pump": ("same as", "except"), "box": ("same as", "in")}
"""Keys of an entry of a list that a section by itself does not have."""


def case_schema() -> Schema:
    """Return the JSON Schema of a case file, draft 2020-12, as plain data."""
    load_all()
    defs: dict[str, Schema] = {}
    for name in SECTIONS:
        if name != "file":
            defs[name] = _section(name, False)
            defs[f"{name}-changes"] = _section(name, True)
            defs[f"{name}-entry"] = _entry(name)
    defs |= {f"{name}-alone": _section(name, False, without) for name, without in _NOT_ALONE.items()}
    defs |= _elements()
    whole = _section("file", False)
    whole["properties"][OPEN] = {"type": "object", "description": "candidates of open values by name; for 'sumpwright size'"}
    schema = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "case file of sumpwright", **whole}
    return schema | {"$defs": {name: defs[name] for name in _reached(schema, defs)}}


def _reached(schema: object, defs: dict[str, Schema]) -> list[str]:
    """Return the names of the definitions that a schema refers to, directly or through others, in the order of `defs`."""
    reached: set[str] = set()
    waiting = [schema]
    while waiting:
        one = waiting.pop()
        if isinstance(one, dict):
            name = str(one.get("$ref", "")).removeprefix("#/$defs/")
            if name in defs and name not in reached:
                reached.add(name)
                waiting.append(defs[name])
            waiting += one.values()
        elif isinstance(one, list):
            waiting += one
    return [name for name in defs if name in reached]


def _ref(name: str, part: bool = False) -> Schema:
    return {"$ref": f"#/$defs/{name}{'-changes' * part}"}


def _elements() -> dict[str, Schema]:
    """Return the forms of the elements that the keys ask for, by their families."""
    defs: dict[str, Schema] = {}
    for key in (key for section in SECTIONS.values() for key in section.keys.values() if key.families):
        # Keys of the section beside an element stand in the same mapping: where a plate is, and how high.
        keys = SECTIONS[key.section].keys if key.section else {}
        beside = {word: _described(word, one, key.section, False) for word, one in keys.items()}
        for part in (False, True):
            defs["-or-".join(key.families) + "-changes" * part] = element(key.families, beside, part)
    return defs


def _section(name: str, part: bool, without: tuple[str, ...] = ()) -> Schema:
    """Return the form of a section's mapping; `part`: what an entry may state that repeats another one."""
    section = SECTIONS[name]
    keys = {word: key for word, key in section.keys.items() if word not in without}
    kinds = kinds_of_families(section.families)
    properties = {word: _shape(word, kind) if kind.family == "vessel" else behind(kind) for word, kind in kinds.items()}
    properties |= {word: _described(word, key, name, part) for word, key in keys.items()}
    schema = mapping(properties)
    if "except" in keys:
        schema["patternProperties"] = {_TIMES: {"type": "null"}}
    if part:
        return schema
    shapes = [word for word, kind in kinds.items() if kind.family == "vessel"]
    rules: list[Schema] = [{"oneOf": [{"required": [word]} for word in shapes]}] if shapes else []
    rules += [{"anyOf": [{"required": [word]}, {"required": [key.unless]}]} for word, key in keys.items() if key.unless]
    rules += [{"anyOf": [{"required": [word]} for word in section.least_one]}] if section.least_one else []
    rules += [{"not": {"required": [*pair]}} for pair in combinations(section.most_one, 2)]
    schema["required"] = [word for word, key in keys.items() if key.required and not key.unless]
    if shapes:
        schema["dependentRequired"] = {word: ["bucket fill"] for word in ("plan", "height")}
    return schema | ({"allOf": rules} if rules else {})


def _entry(name: str) -> Schema:
    """Return the form of an entry of a list, one that repeats another one included."""
    return {"if": {"type": "object", "required": ["same as"]}, "then": _ref(name, True), "else": _ref(name)}


def _shape(word: str, kind: Kind) -> Schema:
    if word in SHAPES:
        return _described(word, SHAPES[word], "", False)
    return mapping(fields_of([kind]), [field.name for field in kind.fields if field.required])


def _described(word: str, key: Key, section: str, part: bool) -> Schema:
    told = key.written or key.several or key.example
    return _value(word, key, section, part) | ({"description": told} if told else {})


def _value(word: str, key: Key, section: str, part: bool) -> Schema:
    """Return the form of what stands behind a key."""
    if key.kind == "except":
        return {"type": "object", "propertyNames": {"pattern": "^[0-9]"}, "additionalProperties": _ref(section, True)}
    if key.kind == "defaults":
        return mapping({name: form_of(default.dimension) for name, default in known_defaults().items()})
    kinds = kinds_of_families(key.families)
    if word in kinds:
        return behind(kinds[word])
    forms = [form_of(key.kind, key.choices)] if key.kind else []
    if key.families:
        forms.append(_ref("-or-".join(key.families), part))
    elif key.section and key.listed:
        return _entries(key.section, part)
    elif key.section:
        forms.append(_ref(key.section + "-alone" * (key.section in _NOT_ALONE and not part), part))
    if key.listed:
        # One alone needs no brackets; where the name of a file may stand instead, any text does.
        alone: list[Schema] = [{"type": "string"}] if key.kind == "point" else forms
        forms = [{"type": "array", "items": either(forms)}, *alone]
    return either(forms)


def _entries(name: str, part: bool) -> Schema:
    """Return the form of a list of entries: each a mapping, or a name with its mapping behind it; or all of them by name."""
    one = _ref(name, part) if part else _ref(f"{name}-entry")
    section = SECTIONS[name]
    names = [*(word for word, key in section.keys.items() if not key.may_name), *kinds_of_families(section.families)]
    named = {"type": "object", "minProperties": 1, "propertyNames": {"not": {"enum": names}}, "additionalProperties": one}
    return {"anyOf": [{"type": "array", "minItems": 1, "items": {"anyOf": [one, named | {"maxProperties": 1}]}}, named, one]}
