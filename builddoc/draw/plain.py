"""Graphviz's `plain` output as rectangles and curves."""

from __future__ import annotations

from dataclasses import dataclass

from .curves import Point


@dataclass(frozen=True, slots=True)
class Rect:
    x: float
    y: float
    w: float
    h: float

    @property
    def cx(self) -> float:
        return self.x + self.w / 2


NOWHERE = Rect(0.0, 0.0, 0.0, 0.0)  # before anything is placed


class Plain:
    """Graphviz's `plain` output in px, y downwards."""

    def __init__(self, text: str):
        self.rects: dict[str, Rect] = {}
        self.edges: dict[tuple[str, str], list[list[Point]]] = {}
        self.width = self.height = 0.0
        for row in text.splitlines():
            word, _, rest = row.partition(" ")
            if word == "graph":
                _, w, h = (float(v) for v in rest.split())
                self.width, self.height = w * 72, h * 72
            elif word == "node":
                name, *numbers = rest.split(" ", 5)[:5]
                x, y, w, h = (float(v) * 72 for v in numbers)
                self.rects[name] = Rect(x - w / 2, self.height - y - h / 2, w, h)
            elif word == "edge":
                tail, head, count, *numbers = rest.split(" ")
                flat = [float(v) * 72 for v in numbers[: 2 * int(count)]]
                points = [(x, self.height - y) for x, y in zip(flat[::2], flat[1::2], strict=True)]
                self.edges.setdefault((tail, head), []).append(points)

    def move(self, dx: float, dy: float) -> None:
        self.rects = {name: Rect(r.x + dx, r.y + dy, r.w, r.h) for name, r in self.rects.items()}
        self.edges = {
            key: [[(x + dx, y + dy) for x, y in points] for points in found] for key, found in self.edges.items()
        }

    def take(self, tail: str, head: str) -> list[Point]:
        """Points of the next edge between two nodes, from tail to head."""
        return self.edges[tail, head].pop(0)
