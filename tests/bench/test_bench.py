"""The benchmarks run, once and small; how long they take is printed, never asserted."""

import compare
import designs
import large


def test_the_benchmarks_run():
    """On a few builds and designs the library solves whatever a root finder solves, and arrays give what floats give."""
    ratio, _, solved, missed, *_, difference = compare.main(["--builds", "8", "--designs", "30"])
    assert ratio > 0.0
    assert missed == 0
    assert solved["library"] == 8
    assert difference < 1e-9


def test_the_benchmark_of_large_systems_runs():
    """Sixty tanks on one header are solved by the sparse back end, all open and with a tenth of them shut."""
    rows = large.main(["--sizes", "60"])
    assert len(rows) == 2
    for found in rows.values():
        assert found["solved"]
        assert found["answer"].merit < 1e-16


def test_the_benchmark_of_many_designs_runs():
    """Sixty designs of the demo are solved or named as arrays, and the float solver solves each that it is given alone."""
    (ran, _), solver, finder, solved, _ = designs.main(["--designs", "60", "--alone", "5", "--repeats", "1"])
    assert len(ran.kinds) == 60
    assert set(ran.kinds.tolist()) <= set(designs.NAMES)
    assert (ran.kinds == designs.STEADY).sum() > 50
    assert solved["library"] == 5
    assert solver > 0.0
    assert finder > 0.0
