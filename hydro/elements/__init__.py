"""The elements: one file each, and an element's equation stands nowhere else.

Every element that carries a flow between two waters answers `residual(q, up, down) -> r, r_q, r_up, r_down`: r in metres of
head, r_q < 0, r_up >= 0, r_down <= 0 (see DEVELOPERS.md, 'The element contract'). Parts of a line answer `loss(q)`, inlets
`needed(q)`, a pump `lift(q)`, passages `flow(up, down)`, water bodies `stored(level)`.
"""
