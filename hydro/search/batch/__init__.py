"""Thousands of designs of one topology at once: numbers that differ are arrays, what is asked of each stays the same.

    solve.py        how each design runs: modes enumerated outside the solver, as for one loop
    newton.py       the solver's steps, asked only of the designs that still need them
    subset.py       some designs out of a record of arrays, again and again
    power_cut.py    what comes down in each when the pump stops
    evaluate.py     everything that one design's checks ask, read off the arrays

One tank on one sump with one pump whose curve does not droop, up to four drains that could siphon: other builds are found one
by one. The laws and the solver are the same as for a single loop; a test holds both ways to each other.
"""
