"""What is no case file at all, or no readable one, is refused in one clear line, quickly, whatever it holds."""

from __future__ import annotations

import random
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

from hydro.case import load, loads
from hydro.case.syntax import yaml_nodes
from hydro.errors import InputError

SOUND = (Path(__file__).parents[1] / "bad_input" / "sound.yaml").read_text(encoding="utf-8")
CASES = sorted(path for path in (Path(__file__).parents[2] / "cases").glob("*.yaml"))


def refusal(text: str) -> str:
    """Return the one complaint about a text."""
    with pytest.raises(InputError) as caught:
        loads(text, "my.yaml")
    line, = caught.value.complaints
    return str(line)


def refused_file(path: Path) -> str:
    """Return the one complaint about a file."""
    with pytest.raises(InputError) as caught:
        load(path)
    line, = caught.value.complaints
    return str(line)


def fate(text: str) -> list[str]:
    """Return the names of the drains of a text that is sound, else the complaints about it."""
    try:
        return [drain.name for drain in loads(text, "my.yaml").drains]
    except InputError as problem:
        return [str(complaint) for complaint in problem.complaints]


BOMB = "a: &a [x, x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{letter}: &{letter} [{', '.join([f'*{before}'] * 10)}]\n" for before, letter in zip("abcdefg", "bcdefgh", strict=True))

UNREADABLE = {
    "empty": ("", "the file is empty"),
    "only comments": ("# nothing\n\n", "the file is empty"),
    "a list": ("- tank\n- sump\n", "my.yaml:1: this is no list of keys with values"),
    "a sentence": ("a tank over a sump\n", "my.yaml:1: this is no list of keys with values"),
    "binary": ("title: a\0b\n", "the file is binary"),
    "control sign": ("title: x\ntank: a\x07\n", "my.yaml:2: a control character"),
    "tab": ("tank:\n\tinside: 1 x 1 x 1 m\n", "my.yaml:2: a tab at the start of the line; expected spaces"),
    "open bracket": ("title: x\ntank: {inside: 1 m\nsump: 3\n",
                     "my.yaml:2: a bracket opens in 'tank: {inside: 1 m' and is not closed"),
    "two colons": ("title: a: b\n", "my.yaml:1: 'title: a: b' has a colon too many"),
    "open quote": ("title: 'abc\n", "a closing quote"),
    "left open": ("title: x\ntank: {inside: ?}\n", "my.yaml:2: 'tank: {inside: ?}' leaves a value open"),
    "undefined alias": ("title: *x\n", "my.yaml:1: '*x' repeats something that is not defined"),
    "alias in itself": ("title: x\ntank: &x [*x]\n", "my.yaml:2: '*x' stands inside itself"),
    "multiplying aliases": (BOMB, "entries, repetitions counted"),
    "a long list": ("notes: [" + "a, " * 30_000 + "a]\n", "entries, repetitions counted"),
    "deep lists": ("notes: " + "[" * 400_000, "my.yaml:1: lists or mappings more than 20 deep"),
    "deep dashes": ("notes:\n " + "- " * 4000 + "x\n", "my.yaml:2: lists or mappings more than 20 deep"),
    "deep mappings": ("".join(" " * k + "a:\n" for k in range(60)), "more than 20 deep"),
    "a tag": ("title: !!python/object:os.system x\n", "my.yaml:1: the tag"),
    "two documents": ("title: x\n---\ntitle: y\n", "my.yaml:2: a second document starts here"),
    "a list for a key": ("? [a, b]\n: c\n", "my.yaml:1: a list or mapping stands where a key should"),
    "large": ("title: " + "x" * 1_100_000, "1.1 million letters"),
}


@pytest.mark.parametrize(("text", "expected"), UNREADABLE.values(), ids=UNREADABLE.keys())
@pytest.mark.parametrize("parser", [yaml_nodes._LOADER, yaml.BaseLoader], ids=["usual", "plain Python"])
def test_unreadable_text(text: str, expected: str, parser: object, monkeypatch: pytest.MonkeyPatch) -> None:
    """A text that is no case file is refused in one line, with either of the YAML parsers."""
    monkeypatch.setattr(yaml_nodes, "_LOADER", parser)
    assert expected in refusal(text)


def test_ten_megabytes(tmp_path: Path) -> None:
    """A file of 10 MB is refused by its size, before it is read."""
    path = tmp_path / "big.yaml"
    with path.open("wb") as file:
        file.truncate(10_000_000)
    assert "the file has more than 1 MB; expected a case file of at most 1 MB" in refused_file(path)


def test_no_file(tmp_path: Path) -> None:
    """A missing file and a folder are told apart."""
    assert "there is no such file" in refused_file(tmp_path / "none.yaml")
    assert "this is a folder" in refused_file(tmp_path)


def test_not_utf8(tmp_path: Path) -> None:
    """A byte that is not UTF-8 is told with its line."""
    path = tmp_path / "old.yaml"
    path.write_bytes("title: x\nnotes: Küche\n".encode("latin-1"))
    assert f"{path}:2: a byte that is not UTF-8 text" in refused_file(path)


def test_picture(tmp_path: Path) -> None:
    """A binary file is called one."""
    path = tmp_path / "plan.yaml"
    path.write_bytes(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR")
    assert "the file is binary" in refused_file(path)


def test_line_ends_and_mark(tmp_path: Path) -> None:
    """Windows line ends, old ones and a byte order mark change neither the build nor the lines of complaints."""
    plain = loads(SOUND, "my.yaml")
    for end in ("\r\n", "\r"):
        assert loads(SOUND.replace("\n", end), "my.yaml") == plain
        assert refusal(SOUND.replace("12 cm below", "12 below").replace("\n", end)).startswith("my.yaml:20: ")
    path = tmp_path / "my.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + SOUND.replace("\n", "\r\n").encode())
    assert load(path).drains == plain.drains


def test_tabs_inside_lines() -> None:
    """Tabs between words are as good as spaces."""
    assert loads(SOUND.replace("pipe 40 PN10 120 cm", "pipe\t40 PN10  \t120 cm"), "my.yaml") == loads(SOUND, "my.yaml")


def test_unicode_names_and_signs() -> None:
    """Names in any script and typographic signs (½, ″, ±, no-break space) are read."""
    build = loads(SOUND.replace("name: left", "name: Küche 左").replace("same as: left", "same as: Küche 左")
                  .replace("pipe 32 PN10 60 cm", "hose 1½″ 60\u00a0cm ± 5 mm"), "my.yaml")
    assert build.drains[1].name == "right"
    assert build.drains[0].inlet.label == "drain Küche 左: elbow up"
    size, length = (build.returns[0].line[0].values[name] for name in ("size", "length"))
    assert (size.middle, length.low, length.high) == pytest.approx((0.0381, 0.595, 0.605))  # 1.5 in at 25.4 mm


def test_words_of_yaml_1_1_stay_words() -> None:
    """What older YAML would turn into a truth, a number of base 60 or a date stays text."""
    build = loads(SOUND.replace("title: Test loop", "title: 12:30:45\nnotes: [on, 2020-01-01, 1_000, no]"), "my.yaml")
    assert build.title == "12:30:45"
    assert build.notes == ("on", "2020-01-01", "1_000", "no")


def test_alias_repeats_a_value() -> None:
    """A plain anchor and its alias are read as the text they stand for."""
    build = loads(SOUND.replace("[hose 32 mm 150 cm]", "&riser [hose 32 mm 150 cm]")
                  .replace("[pipe 32 PN10 60 cm]", "*riser"), "my.yaml")
    assert build.returns[0].line[0].values["length"].middle == 1.5


def test_damaged_files_never_crash() -> None:
    """Cases with letters, words and lines lost, doubled or changed at random (seed 7) are read or refused, never worse."""
    texts = [path.read_text(encoding="utf-8") for path in CASES]
    choose = random.Random(7)
    for _ in range(150):
        text = choose.choice(texts)
        for _ in range(choose.randint(1, 3)):
            start = choose.randrange(len(text))
            filling = choose.choice(["", choose.choice("{}[]:,'\"#&*!|>%@?- \n\t09.~x½"), choose.choice(text.split())])
            text = text[:start] + filling + text[start + choose.choice([0, 1, 12]):]
        told = fate(text)
        assert told
        assert not any("\n" in line for line in told)


def test_nothing_heavy_is_imported() -> None:
    """Reading every case imports neither scipy, numpy, pint nor fluids."""
    program = ("import sys, hydro.case\n"
               "for path in sys.argv[1:]: hydro.case.load(path)\n"
               "print([name for name in ('scipy', 'numpy', 'pint', 'fluids') if name in sys.modules])")
    done = subprocess.run([sys.executable, "-c", program, *map(str, CASES)], capture_output=True, text=True, check=True,
                          cwd=Path(__file__).parents[2])
    assert CASES
    assert done.stdout.strip() == "[]"
