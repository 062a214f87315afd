"""HTML made of pieces that escape whatever they are given: no text of a user ever stands in the page as it came.

    tag("p", "Tank ", strong("left"), class_="note")     tables(...)     both(0.142, "length")

Everything that is not `Markup` is text: cleaned of control signs, escaped, and runs written from right to left are set apart
(`<bdi>`), so that they do not turn the figures beside them round. Nothing here knows of water.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from hydro.report.terminal.layout import clean

Content = object
"""What may stand in an element: `Markup` as it is, everything else as text."""
VOID = frozenset({"meta", "br", "hr", "col", "img"})
_LEFTWARD = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\U00010800-\U00010fff\U0001e800-\U0001efff]")
_COMMAND = re.compile("`([^`]+)`")
SHAPES = {"holds": "●", "tight": "▲", "unsure": "◆", "fails": "■"}
"""A shape for each verdict, beside its word: colour is never all that tells them apart."""


@dataclass(frozen=True, slots=True)
class PageSection:
    """A part of the page: `anchor` for links to it, `title` as its heading (h2, set by the frame), `body` below that.

    Headings inside the body begin at h3 (`subheading`).
    """

    anchor: str
    title: str
    body: Markup


def escaped(value: Content) -> Markup:
    """Return a value as text of the page: `Markup` as it is, else cleaned, escaped, right-to-left runs set apart.

    >>> escaped("a < b")
    Markup('a &lt; b')
    """
    if isinstance(value, Markup):
        return value
    cleaned = clean_inside(str(value))
    return _set_apart(cleaned) if _LEFTWARD.search(cleaned) else Markup(_COMMAND.sub(r"<code>\1</code>", str(escape(cleaned))))


def clean_inside(value: str) -> str:
    """Return text as `clean` does, with a blank kept at either end where there was one: it may stand beside other text."""
    inner = clean(value)
    if not inner:
        return " " if value else ""
    return f"{' ' if value[:1].isspace() else ''}{inner}{' ' if value[-1:].isspace() else ''}"


def _set_apart(value: str) -> Markup:
    """Return text with each run from its first to its last right-to-left sign inside `<bdi>`."""
    strong = [k for k, sign in enumerate(value) if unicodedata.bidirectional(sign) in ("R", "AL")]
    if not strong:
        return escape(value)
    runs = [[strong[0], strong[0]]]
    for k in strong[1:]:
        # signs that have no direction of their own stay within a run; a left-to-right letter ends it
        if any(unicodedata.bidirectional(sign) == "L" for sign in value[runs[-1][1] + 1:k]):
            runs.append([k, k])
        else:
            runs[-1][1] = k
    made, done = Markup(""), 0
    for first, last in runs:
        made += escape(value[done:first]) + tag("bdi", Markup(escape(value[first:last + 1])))
        done = last + 1
    return made + escape(value[done:])


def join(parts: Iterable[Content], between: str = "") -> Markup:
    """Return contents one after the other."""
    return Markup(escape(between)).join(escaped(part) for part in parts)


def tag(name: str, /, *content: Content, **attributes: object) -> Markup:
    """Return an element. Attributes: `class_` is 'class', '_' inside a name is '-'; None leaves one out, True has no value.

    >>> tag("td", "1 < 2", class_="figure", data_height_mm=3)
    Markup('<td class="figure" data-height-mm="3">1 &lt; 2</td>')
    """
    written = "".join(_attribute(key, value) for key, value in attributes.items() if value is not None and value is not False)
    if name in VOID:
        return Markup(f"<{name}{written}>")
    return Markup(f"<{name}{written}>") + join(content) + Markup(f"</{name}>")


def _attribute(key: str, value: object) -> str:
    name = key.rstrip("_").replace("_", "-")
    return f" {name}" if value is True else f' {name}="{escape(value)}"'


def subheading(words: Content, level: int = 3) -> Markup:
    """Return a heading inside a section."""
    return tag(f"h{level}", words, dir="auto")


def page_paragraph(*content: Content, class_: str | None = None) -> Markup:
    """Return a paragraph."""
    return tag("p", *content, dir="auto", class_=class_)


def items(entries: Iterable[Content], ordered: bool = False, class_: str | None = None) -> Markup:
    """Return a list; nothing where there are no entries."""
    made = [tag("li", entry, dir="auto") for entry in entries]
    return tag("ol" if ordered else "ul", *made, class_=class_) if made else Markup("")


def strong(*content: Content) -> Markup:
    """Return words that matter."""
    return tag("strong", *content)


def verdict_mark(verdict: str, word: str = "") -> Markup:
    """Return a verdict with its shape and its word, of comfort a word of its own."""
    shape = tag("span", SHAPES.get(verdict, ""), aria_hidden="true", class_="shape")
    return tag("span", shape, " ", word or verdict, class_=f"verdict {verdict.replace(' ', '-')}")


def scroll(content: Markup, label: str) -> Markup:
    """Return something wide in a box of its own that scrolls, by the keyboard too: the page itself never gets wider."""
    return tag("div", content, class_="scroll", tabindex="0", role="region", aria_label=clean(label))


def heads(widths: Mapping[str, float]) -> list[Markup]:
    """Return heads of columns that keep the room their figures want, in letters' heights: a narrow screen scrolls the table."""
    return [tag("span", words, style=f"display:inline-block;min-width:{width:g}em") for words, width in widths.items()]


def page_table(caption: Content, head: Sequence[Content], rows: Iterable[Sequence[Content]], words: Iterable[int] = (0,),
               class_: str | None = None) -> Markup:
    """Return a table in a box that scrolls. The first cell of each row is its heading.

    Columns numbered in `words` hold words and stand to the left, all others are figures. ValueError where a row has not as
    many cells as the head.
    """
    wordy = set(words)

    def class_of(column: int) -> str | None:
        return None if column in wordy else "figure"

    top = tag("tr", *(tag("th", cell, scope="col", class_=class_of(k)) for k, cell in enumerate(head)))
    body = []
    for row in rows:
        if len(row) != len(head):
            raise ValueError(f"a row of {len(row)} cells under a head of {len(head)}")
        body.append(tag("tr", tag("th", row[0], scope="row", dir="auto", class_=class_of(0)),
                        *(tag("td", cell, dir="auto", class_=class_of(k)) for k, cell in enumerate(row[1:], 1))))
    made = tag("table", tag("caption", caption, dir="auto"), tag("thead", top), tag("tbody", *body), class_=class_)
    return scroll(made, caption.striptags() if isinstance(caption, Markup) else str(caption))


def page_figure(drawing: Markup, caption: Content, class_: str | None = None) -> Markup:
    """Return a drawing with its caption in a box that scrolls.

    An `<svg>` has `role="img"` and, as its first children, a `<title>` and a `<desc>` that say what is to be seen.
    """
    label = caption.striptags() if isinstance(caption, Markup) else str(caption)
    return tag("figure", scroll(drawing, label), tag("figcaption", caption, dir="auto"), class_=class_)
