"""The JSON Schema (draft 2020-12) of a case file, for editors that complete and check YAML by one.

It comes from the table of keys (`hydro.case.keys`) and the registry of elements, and says what can be seen in the text alone:
which keys there are, which must be there, which do not go together, the form of each value. Whether sizes, names and heights fit
each other only `sumpwright check` knows. A value with '?' is left open for `sumpwright size`, and passes everywhere.

    >>> case_schema()["properties"]["tank"]["$ref"]
    '#/$defs/tank-alone'
"""

from hydro.case.schema.sections import case_schema

__all__ = ["case_schema"]
