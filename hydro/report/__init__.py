"""What a study says, for people and for programs. Nothing is solved here: what a report tells stands in the study.

`content` has the sentences and figures, `terminal`, `json` and `html` show them, `drawing` draws to scale. An assessment does as
well as a study; then whatever more is told is worked out for the one report. Text needs no pint, and nothing here needs scipy.
"""
