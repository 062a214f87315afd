"""The benchmarks run, once and small; how long they take is printed, never asserted."""

import compare


def test_the_benchmarks_run():
    """On a few builds and designs the library solves whatever a root finder solves, and arrays give what floats give."""
    ratio, _, solved, missed, *_, difference = compare.main(["--builds", "8", "--designs", "30"])
    assert ratio > 0.0
    assert missed == 0
    assert solved["library"] == 8
    assert difference < 1e-9
