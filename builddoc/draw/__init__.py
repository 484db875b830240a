"""Drawings of solved circuits. Only this room knows Graphviz.

    placed = layout(circuit, results, units=circuit.units, findings=findings, cache_dir=folder)
    drawings = [draw_state(placed, s, prefix) for s in range(results.size)]

`flow_diagram` does both for one state. drawing.css in this folder holds all colours; `legend` explains them.
"""

from .explain import legend
from .flow import Drawing, FlowLayout, draw_state, flow_diagram, layout

__all__ = ["Drawing", "FlowLayout", "draw_state", "flow_diagram", "layout", "legend"]
