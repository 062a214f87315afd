"""Drawings to scale as SVG, made by plain rules: the same scene gives the same drawing, to the last sign.

`scene` holds what is drawn, `layout` says where vessels and pipes stand, `scale` turns heights into paper, `placing` keeps label
boxes apart, `lettering` knows how wide a text may get, `svg` writes, `side` draws a side view. Paper is measured in millimetres.
"""
