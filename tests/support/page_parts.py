"""Pages taken apart for tests: tags in order, drawings as trees, the boxes of their labels."""

import re
import xml.etree.ElementTree as ET
from functools import cache
from html.parser import HTMLParser

import pytest
from report_cases import CASES, studied

from hydro.report.html import html
from hydro.report.html.side_view import side_view_section

WHOLE = list(CASES)
"""The cases that leave no value open."""
every_case = pytest.mark.parametrize("path", WHOLE, ids=lambda path: path.stem)
DEMO = next(path for path in WHOLE if path.stem == "demo")

VOID = {"meta", "link", "br", "hr", "img", "col"}
SVG = "{http://www.w3.org/2000/svg}"


@cache
def page(path, system=None):
    """Return the page of a case file."""
    return html(studied(path), system)


def plain(text):
    """Return text with every kind of blank as one, and without the signs that set a name apart."""
    return " ".join(text.replace("\u2068", "").replace("\u2069", "").split())


@cache
def side_views(path, system="metric"):
    """Return the drawings of a case file as trees, of the section that holds them."""
    return drawings(str(side_view_section(studied(path), system).body))


class Tags(HTMLParser):
    """Reads a page: every tag with its attributes and parents, its text, and what was closed wrongly."""

    def __init__(self, source):
        super().__init__(convert_charrefs=True)
        self.tags, self.stack, self.wrong, self.texts = [], [], [], []
        self.feed(source)
        self.close()

    def handle_starttag(self, tag, attrs):
        """Note a tag that opens."""
        self.tags.append((tag, dict(attrs), tuple(self.stack)))
        if tag not in VOID:
            self.stack.append(tag)

    def handle_startendtag(self, tag, attrs):
        """Note a tag that closes itself."""
        self.tags.append((tag, dict(attrs), tuple(self.stack)))

    def handle_endtag(self, tag):
        """Note a tag that closes."""
        if not self.stack or self.stack.pop() != tag:
            self.wrong.append(tag)

    def handle_data(self, data):
        """Keep text outside the style sheet."""
        if "style" not in self.stack:
            self.texts.append(data)

    def all(self, *names):
        """Return the attributes of all tags of these names."""
        return [attrs for tag, attrs, _ in self.tags if tag in names]

    @property
    def words(self):
        """All text, blanks made alike."""
        return plain("".join(self.texts))


def drawings(source):
    """Return the side views of a page as trees."""
    return [ET.fromstring(found) for found in re.findall(r"<svg[^>]*class=\"side-view\".*?</svg>", source, re.S)]


def heights(tree):
    """Return (kind, what, vessel, height in mm as written, y in mm as drawn) of every line with a height, labels left out."""
    lines = [line for line in tree.iter(f"{SVG}line") if line.get("data-height-mm") is not None]
    return [(line.get("data-kind"), line.get("data-what"), line.get("data-vessel"), float(line.get("data-height-mm")),
             (float(line.get("y1")), float(line.get("y2")))) for line in lines]


def boxes(tree):
    """Return the label boxes of a drawing: left, top, right, bottom in mm."""
    found = []
    for group in tree.iter(f"{SVG}g"):
        if (group.get("class") or "").startswith("label "):
            box = next(one for one in group.iter(f"{SVG}rect") if one.get("class") == "box")
            x, y, width, height = (float(box.get(name)) for name in ("x", "y", "width", "height"))
            found.append((x, y, x + width, y + height))
    return found


def overlap(one, other):
    """Whether two boxes share more than a hair."""
    return min(one[2], other[2]) - max(one[0], other[0]) > 1e-3 and min(one[3], other[3]) - max(one[1], other[1]) > 1e-3
