"""Chains of cubic Bezier curves as Graphviz gives them: written, lengthened, ended by an arrowhead."""

from __future__ import annotations

from math import hypot

Point = tuple[float, float]

HEAD = 9.0  # length of an arrowhead
HALF = 4.0  # half its width


def number(value: float) -> str:
    """A coordinate in at most one decimal."""
    text = f"{value:.1f}"
    return text[:-2] if text[-1] == "0" else text


def path(points: list[Point]) -> str:
    """Path data of a chain (1 + 3 n points)."""
    (x, y), *rest = points
    return f"M{number(x)} {number(y)}C" + " ".join(f"{number(a)} {number(b)}" for a, b in rest)


def lengthen(points: list[Point], dy: float) -> list[Point]:
    """The chain with a vertical piece of `dy` px (downwards positive) at its end."""
    x, y = points[-1]
    return [*points, (x, y + dy / 3), (x, y + 2 * dy / 3), (x, y + dy)]


def bend_end(points: list[Point], x: float) -> list[Point]:
    """The chain with its end moved sideways to `x`; straight where that leaves it (nearly) vertical."""
    (x0, y0), (_, y1) = points[0], points[-1]
    if abs(x0 - x) < 1.0:
        return [(x, y0), (x, y0 + (y1 - y0) / 3), (x, y0 + (y1 - y0) * 2 / 3), (x, y1)]
    *rest, before, _ = points
    return [*rest, (x, before[1]), (x, y1)]


def arrow(points: list[Point]) -> tuple[list[Point], str]:
    """The chain shortened a little at its end, and path data of an arrowhead whose tip is the old end."""
    tip = points[-1]
    _, base = _split(points[-4:], _parameter(points, HEAD))
    dx, dy = tip[0] - base[0], tip[1] - base[1]
    size = hypot(dx, dy) or 1.0
    dx, dy = dx / size, dy / size
    foot = tip[0] - HEAD * dx, tip[1] - HEAD * dy
    corners = (tip, (foot[0] - HALF * dy, foot[1] + HALF * dx), (foot[0] + HALF * dy, foot[1] - HALF * dx))
    head = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in corners) + "z"
    short, _ = _split(points[-4:], _parameter(points, HEAD * 0.7))
    return points[:-4] + short, head


def _split(points: list[Point], t: float) -> tuple[list[Point], Point]:
    """The part of a cubic before t, and its point at t (de Casteljau)."""
    a, b, c, d = points
    ab, bc, cd = _mix(a, b, t), _mix(b, c, t), _mix(c, d, t)
    abc, bcd = _mix(ab, bc, t), _mix(bc, cd, t)
    end = _mix(abc, bcd, t)
    return [a, ab, abc, end], end


def _mix(a: Point, b: Point, t: float) -> Point:
    return a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t


def _parameter(points: list[Point], length: float) -> float:
    """Parameter of the last cubic about `length` px before its end."""
    a, b, c, d = points[-4:]
    whole = hypot(b[0] - a[0], b[1] - a[1]) + hypot(c[0] - b[0], c[1] - b[1]) + hypot(d[0] - c[0], d[1] - c[1])
    return max(0.05, 1.0 - length / whole) if whole else 0.5
