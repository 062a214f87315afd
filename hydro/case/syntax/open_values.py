"""Where a case file leaves a value open: '?' on the level of its text, before anything reads it as YAML.

    lip: ? 12 .. 18 cm below tank rim             a range, in steps that a tape shows; 'by 1 cm' sets the step
    pipe ? 40 PN10 or 50 PN10 104 cm              a list; 'pipe ?(40 PN10 or 50 PN10) 104 cm' where its end is in doubt
    pipe ? PN10 104 cm                            every size of a series
    pipe ?bore 104 cm                             the same value wherever the name stands; its candidates at one of these places,
                                                  or in a section 'open: {bore: 40 PN10 or 50 PN10}'
    - ?2 .. 4 x standpipe: {...}                  so many of them

What stands behind an open value up to a comma or a bracket stays where it is ('below tank rim'). Titles and notes are left alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from hydro.case.keys.whole_file import PROSE
from hydro.catalog import all_sizes

SECTION = "open"
NUMBER = r"(?:[0-9]+[ -][0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:[.,][0-9]+)?|\.[0-9]+)"
UNIT = r"(?:(?:US|imp)\s+)?(?![x×]\s|x$|by\b|to\b|or\b|above\b|below\b|open\b)[A-Za-zµ°%\"'²³/]+[²³0-9]?"
RANGE = re.compile(rf"(?P<low>{NUMBER})\s*(?P<unit_low>{UNIT})?\s*(?:\.\.+|…)\s*(?P<high>{NUMBER})\s*(?P<unit>{UNIT})?"
                   rf"(?:\s+by\s+(?P<step>{NUMBER})\s*(?P<unit_step>{UNIT})?)?")
_BY = re.compile(rf"\s+by\s+(?P<step>{NUMBER})\s*(?P<unit_step>{UNIT})?\s*$")
_MARK = re.compile(r"(?:(?<=[\s\[{(,:\"'])|^)\?(?!\s*[\[{])(?=$|[\s\w(,\]}\"'])")
_NAME = re.compile(r"[A-Za-z][\w-]*")
_TOP = re.compile(r"(?P<key>[A-Za-z][^:#\[{]*?)\s*:(?:\s|$)")


@dataclass(frozen=True, slots=True)
class OpenPlace:
    """A place in a text: `start` to `end` is replaced by a candidate's words, `tail` is what follows them there.

    `before` is what stands before it in its value ('gate valve'), `key` the word before the last colon; `name` is '' for a value
    of its own; `said` are the candidates as written, '' for none. `after` is put behind a candidate where a step stood last.
    """

    start: int
    end: int
    line: int
    key: str
    before: str
    name: str
    said: str
    tail: str
    after: str = ""

    @property
    def shown(self) -> str:
        """What stands there, in the file's own words."""
        mark = " ".join(f"?{self.name} {self.said}".split())
        return " ".join(f"{self.before} {mark} {self.tail}".split())


def open_places(text: str) -> list[OpenPlace]:
    """Return every open place of a text, in order; what stands in the section 'open' is none."""
    found: list[OpenPlace] = []
    for number, start, line in value_lines(text):
        at = 0
        for mark in _MARK.finditer(line):
            if mark.start() >= at:
                place = _place(line, mark.start(), start, number)
                found.append(place)
                at = place.end - start
    return found


def value_lines(text: str) -> Iterator[tuple[int, int, str]]:
    """Yield number, place in the text and content without comment of the lines that may leave a value open."""
    start, skipping = 0, False
    for number, line in enumerate(text.splitlines(keepends=True), 1):
        top = _TOP.match(line)
        if top or line[:1] in "-[{":
            skipping = top is not None and top["key"].strip() in (*PROSE, SECTION)
        if not skipping:
            yield number, start, without_comment(line.rstrip("\r\n"))
        start += len(line)


def without_comment(line: str) -> str:
    """Return a line up to its comment, which is no part of a quoted text."""
    quote = ""
    for k, sign in enumerate(line):
        if quote:
            quote = "" if sign == quote else quote
        elif sign in "\"'" and (k == 0 or line[k - 1] in " \t[{,:("):
            quote = sign
        elif sign == "#" and (k == 0 or line[k - 1] in " \t"):
            return line[:k]
    return line


def _place(line: str, mark: int, start: int, number: int) -> OpenPlace:
    stop = _end_of_value(line, mark)
    value = line[mark + 1:stop].rstrip()
    name = _NAME.match(value)
    if name and series_at(value):
        name = None
    begun = name.end() if name else 0
    said, taken = _said(value[begun:])
    key, before = _before(line[:mark])
    tail = value[begun + taken:]
    if said and (by := _BY.search(tail)) and ".." in said:
        tail = tail[:by.start()]
        return OpenPlace(start + mark, start + mark + 1 + len(value), number, key, before, name[0] if name else "", said + by[0],
                         tail, tail)
    return OpenPlace(start + mark, start + mark + 1 + begun + taken, number, key, before, name[0] if name else "", said, tail)


def _end_of_value(line: str, mark: int) -> int:
    """Return where the value with an open place ends: at a comma, a bracket, a colon, the quote it stands in, the line's end."""
    quote, depth = line[mark - 1] if mark and line[mark - 1] in "\"'" else "", 0
    for k in range(mark + 1, len(line)):
        sign, after = line[k], line[k + 1:k + 2]
        depth += (sign == "(") - (sign == ")")
        if sign == quote or sign in "]}" or depth < 0:
            return k
        if (sign == "," and not after.isdigit()) or (sign == ":" and after in ("", " ")):
            return k
    return len(line)


def _said(rest: str) -> tuple[str, int]:
    """Return the candidates at the start of what stands behind the mark, and how much of it they take."""
    blank = len(rest) - len(rest.lstrip())
    body = rest[blank:]
    if body.startswith("("):
        end = body.find(")")
        return (body[1:end], blank + end + 1) if end > 0 else (body[1:], len(rest))
    if match := RANGE.match(body):
        return match[0].strip(), blank + len(match[0].rstrip())
    if " or " in f"{body} ":
        return _listed(body, blank)
    if series := series_at(body):
        return series, blank + len(series)
    return "", 0


def _listed(body: str, blank: int) -> tuple[str, int]:
    """Return a list and its length: the last candidate has as many words as the first, the rest follows the open value."""
    *first, last = re.split(r"\s+or(?:\s+|$)", body)
    words = last.split()
    count = len(first[0].split())
    keep = " ".join(words[:count])
    left = " ".join(words[count:])
    end = len(body) - (len(left) + 1 if left else 0)
    while left and not body[:end].rstrip().endswith(words[count - 1]):
        end -= 1
    return " or ".join([*first, keep]), blank + len(body[:end].rstrip())


def series_at(body: str) -> str:
    """Return the series of sizes that a text starts with ('PN10', 'sch 40'), '' where it starts with none."""
    known = sorted({size.series for size in all_sizes()}, key=len, reverse=True)
    for series in known:
        if re.match(re.escape(series) + r"(?![\w])", body, re.IGNORECASE):
            return body[:len(series)]
    return ""


def _before(line: str) -> tuple[str, str]:
    """Return the key that an open place stands behind, and what stands before it in its value."""
    value = re.split(r"[\[{,]\s|[\[{]|:\s+|^\s*-\s|,\s*", line)[-1]
    keys = re.findall(r"([A-Za-z][A-Za-z0-9 -]*):\s", line)
    return (keys[-1] if keys else ""), value.strip(" \"'-")
