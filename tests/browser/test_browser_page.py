"""The page as a browser shows and prints it."""

import io
from functools import cache
from pathlib import Path

import pytest

from hydro import assess, load, loads
from hydro.report.html import html

CASES = Path(__file__).resolve().parents[2] / "cases"
NAME = "a drain whose name goes on and on " * 9
BROKEN = "<script>window.ran = true</script>"
HOSTILE = f"""
title: "{BROKEN} {'wide' * 60} מיכל הדגים"
tank: {{inside: 120 x 50 x 50 cm, bottom: 90 cm above ground}}
sump: {{inside: 80 x 40 x 40 cm, bottom: at ground, chambers: [{{name: pump, line: 20 cm above sump bottom}}]}}
drains:
  - {{name: "{NAME.strip()}", inlet: {{standpipe: 60 mm, lip: 8 cm below tank rim}}, line: [pipe 63 PN10 1 m],
      into: {{chamber: pump, end: 30 cm above sump bottom}}}}
  - {{name: "{BROKEN}{'y' * 200}", inlet: {{standpipe: 60 mm, lip: 6 cm below tank rim}}, line: [pipe 63 PN10 1 m],
      into: {{chamber: pump, end: 30 cm above sump bottom}}}}
pump: {{curve: [0 L/h = 3 m, 3000 L/h = 2.2 m, 6000 L/h = 0 m]}}
returns: [{{name: "מים", line: [hose 32 mm 1.5 m], end: 10 cm below tank rim}}]
"""
PAGES = (*sorted(path.stem for path in CASES.glob("*.yaml")), "hostile")
OVERLAPS = """
const bad = [];
document.querySelectorAll('svg.side-view').forEach((svg, number) => {
  const boxes = [...svg.querySelectorAll('g.label rect.box')].map(box => box.getBoundingClientRect());
  boxes.forEach((a, i) => boxes.slice(i + 1).forEach((b, j) => {
    if (Math.min(a.right, b.right) - Math.max(a.left, b.left) > 0.5
        && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 0.5)
      bad.push([number, i, i + 1 + j]);
  }));
});
return bad;"""
TEXT_OUTSIDE = """
const bad = [];
document.querySelectorAll('svg.side-view g.label').forEach(group => {
  const box = group.querySelector('rect.box').getBoundingClientRect();
  group.querySelectorAll('text').forEach(text => {
    const own = text.getBoundingClientRect();
    if (own.left < box.left - 1 || own.right > box.right + 1 || own.top < box.top - 1.5 || own.bottom > box.bottom + 1.5)
      bad.push(text.textContent);
  });
});
return bad;"""
HEIGHTS = """
return [...document.querySelectorAll('svg.side-view')].map(svg => {
  const frame = svg.getBoundingClientRect(), scale = frame.height / svg.viewBox.baseVal.height;
  const lines = [...svg.querySelectorAll('line[data-height-mm]')];
  return {ratio: +svg.dataset.ratio, ground: +svg.dataset.ground, lines: lines.map(line => {
    const own = line.getBoundingClientRect();
    return [line.dataset.what || '', +line.dataset.heightMm, ((own.top + own.bottom) / 2 - frame.top) / scale];
  })};
});"""
WIDTHS = "return [...document.querySelectorAll('svg.side-view')].map(one => one.getBoundingClientRect().width);"
CONTRAST = """
const channel = v => { v /= 255; return v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; };
const light = c => 0.2126 * channel(c[0]) + 0.7152 * channel(c[1]) + 0.0722 * channel(c[2]);
const parsed = text => (text.match(/[\\d.]+/g) || []).map(Number);
const bad = [];
const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
while (walker.nextNode()) {
  const holder = walker.currentNode.parentElement;
  if (!walker.currentNode.textContent.trim() || ['TITLE', 'DESC', 'STYLE'].includes(holder.tagName.toUpperCase())) continue;
  const drawn = holder.closest('svg') !== null;
  if (drawn && !holder.closest('svg.side-view')) continue;
  const ink = parsed(drawn ? getComputedStyle(holder).fill : getComputedStyle(holder).color);
  let paper = [255, 255, 255];
  for (let up = holder; up; up = up.parentElement) {
    const behind = parsed(getComputedStyle(up).backgroundColor);
    if (behind.length === 3 || behind[3] > 0) { paper = behind; break; }
  }
  if (drawn) paper = [207, 228, 244];
  const [a, b] = [light(ink), light(paper)].sort((x, y) => y - x);
  if ((a + 0.05) / (b + 0.05) < 4.5) bad.push([walker.currentNode.textContent.trim().slice(0, 40), ink, paper]);
}
return bad;"""


@cache
def written(name, folder):
    """Return the file of a page."""
    build = loads(HOSTILE) if name == "hostile" else load(CASES / f"{name}.yaml")
    file = folder / f"{name}.html"
    file.write_text(html(assess(build)), encoding="utf-8")
    return file


@pytest.fixture(scope="session")
def folder(tmp_path_factory):
    """Return the folder the pages are written to."""
    return tmp_path_factory.mktemp("pages")


@pytest.fixture(params=PAGES)
def file(request, folder, browser):
    """Return the file of a page, for each of them."""
    return written(request.param, folder)


@pytest.mark.parametrize("width", [360, 1280])
def test_nothing_is_wider_than_the_window(browser, file, width):
    """At 360 and 1280 px the document is no wider than the window, whatever names stand in it."""
    browser.open(file, width)
    assert browser.ask("return document.documentElement.scrollWidth") <= width
    assert browser.ask("return document.body.scrollWidth") <= width


def test_no_error_and_no_request(browser, file):
    """The console stays empty and only the file itself is asked for."""
    browser.open(file, 1280)
    assert browser.complaints() == []
    assert {address for address in browser.requests() if not address.startswith("data:")} == {file.as_uri()}
    assert browser.ask("return performance.getEntriesByType('resource').filter(one => !one.name.startsWith('data:')).length") == 0


def test_user_text_does_not_run(browser, folder):
    """A script in a title or a name stays text."""
    browser.open(written("hostile", folder), 1280)
    assert browser.ask("return window.ran === undefined")
    assert browser.ask("return document.scripts.length") == 0
    assert BROKEN in browser.ask("return document.querySelector('h1').textContent")


@pytest.mark.parametrize("width", [360, 1280])
def test_no_label_lies_over_another(browser, file, width):
    """By the boxes that the browser measures, no two labels of a drawing overlap, and no text leaves its box."""
    browser.open(file, width)
    assert browser.ask(OVERLAPS) == []
    assert browser.ask(TEXT_OUTSIDE) == []


def test_drawn_heights_are_the_models(browser, file):
    """Measured in the browser, every line stands at its height to 0.5 mm on the paper's scale, one tenth of a pixel allowed."""
    browser.open(file, 1280)
    drawings = browser.ask(HEIGHTS)
    assert drawings
    for drawing in drawings:
        assert len(drawing["lines"]) >= 4
        for what, height, y in drawing["lines"]:
            allowed = 0.5 + 0.1 * 25.4 / 96 * drawing["ratio"]
            assert abs((drawing["ground"] - y) * drawing["ratio"] - height) < allowed, what


def test_text_can_be_read(browser, file):
    """All text stands out from what is behind it by 4.5 to 1 at the least, in drawings against water as well."""
    browser.open(file, 1280)
    assert browser.ask(CONTRAST) == []


def test_nothing_is_wider_than_the_paper(browser, file):
    """Laid out for print at 180 mm (680 px), nothing is wider: a browser would shrink the page, and the scales with it."""
    browser.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        browser.open(file, 681)
        assert browser.ask("return document.documentElement.scrollWidth") <= 681
        widths = browser.ask(WIDTHS)
    finally:
        browser.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert widths
    assert all(abs(width - 180 * 96 / 25.4) < 0.5 for width in widths)


@pytest.mark.parametrize(("paper", "size"), [("A4", (8.27, 11.69)), ("US Letter", (8.5, 11.0))])
def test_page_prints_on_its_paper(browser, folder, paper, size):
    """Printed, the page keeps to the paper's size, and the drawing's last label is on it."""
    pypdf = pytest.importorskip("pypdf")
    browser.open(written("worked-loop", folder), 1280)
    read = pypdf.PdfReader(io.BytesIO(browser.printed(*size)))
    assert 3 <= len(read.pages) <= 40
    for sheet in read.pages:
        assert abs(float(sheet.mediabox.width) / 72 - size[0]) < 0.02
    words = " ".join("".join(sheet.extract_text() for sheet in read.pages).split())
    assert "intake of the pump" in words
    assert "Local codes" in words
