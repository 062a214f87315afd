"""Numbers as a builder has them, and the arithmetic the laws are written in: floats and arrays, units, tape marks, CSV, water.

Nothing here knows of tanks or pipes.
"""
