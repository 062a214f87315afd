"""From text to items: inlets, parts of a line, barriers, siphon breaks, each as the element registry describes it.

One line: the element's word, then its values in order ('ribbed hose 38 mm about 160 cm', 'gate valve 40 % open',
'2 x elbow 90'). A mapping: the word is a key whose value holds the values in order, the other keys are its fields or
its defaults by name ({elbow up: 43 mm, lip: 15 cm below tank rim}). No element is known here by name.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from hydro.case.syntax.positional import split_values
from hydro.case.syntax.reading import UNREAD, UNREAD_HEIGHT, Reading
from hydro.case.syntax.values import parse
from hydro.case.syntax.yaml_nodes import Node, Text, YamlList, YamlMapping
from hydro.description.build import Item, Value
from hydro.elements import registry
from hydro.elements.registry import Field, Kind
from hydro.quantities.parsing import UnitProblem, nearest

_TIMES = re.compile(r"(?P<count>[0-9]{1,3})\s*[x×]\s+(?P<rest>.+)")
MOST_TWINS = 50
LIKE = "like"
"""In front of a part that nobody knows: 'like elbow', or {like: elbow, size: 28 mm}."""
_NOUNS = {"inlet": "an inlet", "part": "a part of a line", "barrier": "the end of a chamber",
          "vessel": "the shape of a vessel", "break": "a siphon break", "edge": "an edge that a box is filled over"}


@dataclass(slots=True)
class Labels:
    """Hands out the labels of one owner's items, each once: 'drain left: elbow 90', then 'drain left: elbow 90 (2)'."""

    owner: str
    used: dict[str, int]

    @staticmethod
    def of(owner: str) -> Labels:
        """Start the labels of an owner."""
        return Labels(owner, {})

    def next(self, word: str) -> str:
        """Return the label of the next item of this word."""
        self.used[word] = self.used.get(word, 0) + 1
        count = self.used[word]
        return f"{self.owner}: {word}" + (f" ({count})" if count > 1 else "")


def kinds_of_families(families: tuple[str, ...]) -> dict[str, Kind]:
    """Return the kinds of some families by every word they answer to."""
    return {word: kind for name in families for word, kind in registry.KINDS.items() if kind.family == name}


def split_word(text: str, kinds: Mapping[str, Kind]) -> tuple[Kind, str] | None:
    """Return the kind whose word the text starts with, the longest if several, and the rest of the text."""
    folded = text.casefold()
    for word in sorted(kinds, key=len, reverse=True):
        if folded == word.casefold() or folded.startswith(word.casefold() + " "):
            return kinds[word], text[len(word):].strip()
    return None


def named_kind(key: str, kinds: Mapping[str, Kind]) -> Kind | None:
    """Return the kind that a key of a mapping names, None where it is no element's word."""
    folded = key.casefold()
    return next((kind for word, kind in kinds.items() if word.casefold() == folded), None)


def words_of(kinds: Mapping[str, Kind]) -> str:
    """Return the words of some kinds for a message, one for each kind."""
    return ", ".join(dict.fromkeys(kind.word for kind in kinds.values()))


def every_field(kind: Kind) -> dict[str, Field]:
    """Return the fields of a kind and its defaults, which may be written behind it as well."""
    fields = {field.name: field for field in kind.fields}
    return fields | {default.name: Field(default.name, default.dimension) for default in kind.defaults
                     if default.name not in fields}


def read_items(reading: Reading, node: Node, families: tuple[str, ...], labels: Labels,
               value_names: str = "") -> list[Item]:
    """Return the items that one entry stands for: one, several for '2 x elbow 90', none where it cannot be read.

    The values are named after the item ('drain left: pipe: length'), or after `value_names` ('drain left: lip').
    """
    kinds = kinds_of_families(families)
    text, entries, line = _taken_apart(reading, node, kinds, labels.owner, families)
    if text is None:
        return []
    shown = _shown(text, entries)
    match = _TIMES.fullmatch(text)
    count, text = (int(match["count"]), match["rest"]) if match else (1, text)
    text = text.removeprefix(f"{LIKE} ")
    if not 1 <= count <= MOST_TWINS:
        reading.complain(line, labels.owner, f"'{count} x'", f"a number of twins from 1 to {MOST_TWINS}")
        return []
    found = split_word(text, kinds)
    if found is None:
        reading.complain(line, labels.owner, *_unknown(text, kinds, families))
        return []
    kind, rest = found
    if kind.family == "break" and len(families) > 1:
        return _marker(reading, kind, bool(rest or entries), line, labels)
    items = []
    for twin in range(count):
        label = labels.next(kind.word)
        quiet = replace(reading, complaints=[]) if twin else reading
        values = _values(quiet, kind, rest, entries, line, value_names or label)
        items.append(Item(kind.word, values, shown, label))
    return items


def _marker(reading: Reading, kind: Kind, more: bool, line: int, labels: Labels) -> list[Item]:
    """Return the mark in a line for where the siphon break is drilled; its values stand at the return itself."""
    if more:
        reading.complain(line, labels.owner, f"values behind '{kind.word}' in a line",
                         f"'{kind.word}' alone; its hole and height at the return itself")
    return [Item(kind.word, {}, kind.word, labels.next(kind.word))]


def read_line_parts(reading: Reading, node: Node | None, owner: str,
                    families: tuple[str, ...] = ("part",)) -> tuple[Item, ...]:
    """Return the parts of a line, in the order in which they stand."""
    labels = Labels.of(owner)
    nodes = reading.rows(node) if node is not None else ()
    return tuple(item for entry in nodes for item in read_items(reading, entry, families, labels))


def _taken_apart(reading: Reading, node: Node, kinds: Mapping[str, Kind], owner: str,
                 families: tuple[str, ...]) -> tuple[str | None, dict[str, Node], int]:
    """Return an entry's one-line text, its other keys, and its line; text None where that failed."""
    noun = " or ".join(_NOUNS.get(name, name) for name in families)
    if isinstance(node, Text):
        if node.text:
            return node.text, {}, node.line
        reading.complain(node.line, owner, "nothing is written", f"{noun}: {words_of(kinds)}")
        return None, {}, node.line
    if isinstance(node, YamlList):
        reading.complain(node.line, owner, "a list stands here", f"{noun} as text or as a mapping")
        return None, {}, node.line
    like = node.entries.get(LIKE)
    if isinstance(like, Text) and like.text:
        return f"{LIKE} {like.text}", {key: value for key, value in node.entries.items() if key != LIKE}, like.line
    words = _words_of(node, kinds)
    if len(words) != 1:
        found = f"no word for {noun} among '{', '.join(node.entries)}'"
        found = f"both '{words[0]}' and '{words[1]}'" if words else found
        reading.complain(node.line, owner, found, f"one of {words_of(kinds)}", *_near_key(node, kinds, words))
        return None, {}, node.line
    word = words[0]
    entries = {key: value for key, value in node.entries.items() if key != word}
    head = node.entries[word]
    if isinstance(head, YamlMapping):
        return word, {**head.entries, **entries}, node.lines[word]
    if isinstance(head, YamlList):
        reading.complain(head.line, f"{owner}: {word}", "a list stands here", "the values in one line")
        return None, {}, node.line
    return f"{word} {head.text}".strip(), entries, head.line


def _words_of(node: YamlMapping, kinds: Mapping[str, Kind]) -> list[str]:
    """Return the keys that name an element; only one where the others are its fields ('K' of a check valve)."""
    named = {key: kind for key in node.entries if (kind := named_kind(key, kinds)) is not None}
    for key, kind in named.items():
        if all(other == key or other in every_field(kind) for other in named):
            return [key]
    return list(named)


def _near_key(node: YamlMapping, kinds: Mapping[str, Kind], words: list[str]) -> Iterator[str]:
    near = [nearest(key, kinds) for key in node.entries]
    if not words:
        yield next((word for word in near if word), "")


def _unknown(text: str, kinds: Mapping[str, Kind], families: tuple[str, ...]) -> tuple[str, str, str]:
    """Say what is wrong with a text that starts with no word of the family."""
    noun = " or ".join(_NOUNS.get(name, name) for name in families)
    elsewhere = split_word(text, registry.KINDS)
    if elsewhere:
        kind = elsewhere[0]
        found = f"'{kind.word}' is {_NOUNS.get(kind.family, kind.family)}"
        return found, f"{noun}: {words_of(kinds)}", ""
    tokens = text.split()
    near = next(filter(None, (nearest(" ".join(tokens[:n]), kinds) for n in (3, 2, 1))), "")
    return f"'{text}' starts with no known word", f"{noun}: {words_of(kinds)}", near


def _values(reading: Reading, kind: Kind, rest: str, entries: dict[str, Node], line: int,
            owner: str) -> dict[str, Value]:
    """Return all values written behind one element's word, in one line or by name."""
    fields = every_field(kind)
    values: dict[str, Value] = {}
    try:
        for name, value in split_values(kind, fields, rest, reading.system, reading.many).items():
            values[name] = reading.named(value, f"{owner}: {name}", line)
    except UnitProblem as problem:
        reading.complain(line, owner, problem.found, problem.expected, problem.nearest)
        values.update(dict.fromkeys(kind.positional, UNREAD))
    unknown = [key for key in entries if key not in fields]
    for key, node in entries.items():
        if key in values:
            reading.complain(node.line, f"{owner}: {key}", "stands twice, behind the word and by name",
                             "one of the two")
        elif key in fields:
            values[key] = _by_name(reading, fields[key], node, f"{owner}: {key}")
    absent = [f.name for f in kind.fields if f.required and f.name not in values]
    for key in unknown:
        near = nearest(key, [name for name in fields if name not in values])
        absent = [name for name in absent if name != near]
        reading.complain(entries[key].line, f"{owner}: {key}", "unknown key", f"one of {', '.join(fields)}", near)
    for name in absent:
        reading.complain(line, owner, f"'{kind.word}' without '{name}'", _example(fields[name]))
    return values


def _example(field: Field) -> str:
    form = {"height": "LENGTH above or below a place", "height range": "HEIGHT .. HEIGHT", "word": "a word",
            "size": "a bore or a pipe size", "number": "a plain number"}
    text = form.get(field.dimension, f"a {field.dimension} with its unit")
    return f"'{field.name}: ...', {text}"


def _by_name(reading: Reading, field: Field, node: Node, name: str) -> Value:
    text = reading.text(node, name)
    value = reading.attempt(text.line, name, lambda: parse(field, text.text, reading.system, reading.many)) if text else None
    if value is None:
        return UNREAD_HEIGHT if field.dimension == "height" else UNREAD
    return reading.named(value, name, node.line)


def _shown(text: str, entries: Mapping[str, Node]) -> str:
    parts = [text, *(f"{key}: {node.text}" for key, node in entries.items() if isinstance(node, Text))]
    return ", ".join(parts)
