"""Drawings of solved circuits. Only this room knows Graphviz.

    sheet = circuit_layout(circuit, results, units=circuit.units, findings=findings, cache_dir=folder)
    drawings = [draw_circuit(sheet, s, prefix) for s in range(results.size)]

draws the circuit in symbols of the trade. `layout` and `draw_state` do the same as a plain flow diagram of named boxes.
`detail(sheet, s, prefix)` draws only what carries oil in a state, for small screens.
drawing.css in this folder holds all colours; `circuit_legend` and `legend` explain them.
"""

from .circuit_svg import draw_circuit
from .details import Detail, detail
from .explain import circuit_legend, legend
from .flow import Drawing, FlowLayout, draw_state, flow_diagram, layout
from .sheet import Sheet, circuit_layout

__all__ = [
    "Detail", "Drawing", "FlowLayout", "Sheet", "circuit_layout", "circuit_legend", "detail", "draw_circuit",
    "draw_state", "flow_diagram", "layout", "legend",
]  # fmt: skip
