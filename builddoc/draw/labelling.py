"""Words beside lines, each where nothing else is; what finds no place gets a letter and stands in a list below."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from .tracing import Edge

Box = tuple[float, float, float, float]
CELL = 8.0
BEYOND = 4.0  # u by which words may make a drawing wider


def overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


@dataclass(slots=True)
class Wish:
    """sizes: (width, height) in u in order of preference. edges: the line's own, most telling first."""

    name: str
    sizes: list[tuple[float, float]]
    edges: list[Edge]


@dataclass(frozen=True, slots=True)
class Put:
    """choice: number of the size that fitted; -1 = none did, box is that of the letter (None where not even that). end:
    it stands at the left of its line, so that its rows end there."""

    choice: int
    box: Box | None
    end: bool = False


class Paper:
    """What is taken, in cells of 8u."""

    def __init__(self, left: float = float("-inf"), right: float = float("inf"), beyond: float = BEYOND) -> None:
        """left, right: of the drawing; words beyond make it wider, by `beyond` u at most."""
        self.left, self.right, self.beyond = left, right, beyond
        self.cells: dict[tuple[int, int], list[tuple[Box, str]]] = defaultdict(list)

    def take(self, box: Box, owner: str = "") -> None:
        for cell in self._cells(box):
            self.cells[cell].append((box, owner))

    def free(self, box: Box, owner: str = "\0") -> bool:
        """Nothing there, apart from what belongs to `owner`."""
        for cell in self._cells(box):
            for other, name in self.cells.get(cell, ()):
                if name != owner and overlap(box, other):
                    return False
        return True

    @staticmethod
    def _cells(box: Box) -> Iterable[tuple[int, int]]:
        for i in range(int(box[0] // CELL), int(box[2] // CELL) + 1):
            for j in range(int(box[1] // CELL), int(box[3] // CELL) + 1):
                yield i, j


def lay(paper: Paper, wishes: list[Wish], tag: tuple[float, float] = (1.5, 1.3)) -> dict[str, Put]:
    """Places for all wishes, wide ones first. tag: size of the letter that stands for a label without a place."""
    found: dict[str, Put] = {}
    for wish in sorted(wishes, key=lambda w: (-w.sizes[0][0] * w.sizes[0][1], w.name)):
        for choice, size in enumerate(wish.sizes):
            place = _first_free(paper, wish.edges, *size)
            if place:
                found[wish.name] = Put(choice, *place)
                break
        else:
            aside = _on_line(paper, wish, *tag) or (_first_free(paper, wish.edges, *tag) or (None,))[0]
            found[wish.name] = Put(-1, aside)
        box = found[wish.name].box
        if box:
            paper.take(box, f"label of {wish.name}")
    return found


def _first_free(paper: Paper, edges: list[Edge], w: float, h: float) -> tuple[Box, bool] | None:
    best: tuple[float, Box, bool] | None = None
    for rank, edge in enumerate(edges):
        for cost, box, end in _candidates(edge, w, h):
            if box[0] < paper.left - paper.beyond or box[2] > paper.right + paper.beyond:
                continue
            cost += 0.2 * min(rank, 5) + 0.3 * max(paper.left - box[0], box[2] - paper.right, 0.0)
            if (best is None or cost < best[0]) and paper.free(box):
                best = (cost, box, end)
    return best[1:] if best else None


def _candidates(edge: Edge, w: float, h: float) -> Iterable[tuple[float, Box, bool]]:
    """Above or below a horizontal piece, right or left of an upright one; a smaller cost is a better place."""
    (x1, y1), (x2, y2) = edge
    length = abs(x1 - x2) + abs(y1 - y2)
    short = 0.0 if length >= 3 else 1.0
    if y1 == y2:
        low, high = min(x1, x2), max(x1, x2)
        places = {(low + high - w) / 2: 0.0, low + 0.4: 0.1, high - 0.4 - w: 0.1}
        step = 1.5
        x = low + 0.4
        while x + w < high:
            places.setdefault(x, 0.2)
            x += step
        for x, extra in places.items():
            wide = 0.0 if x >= low and x + w <= high else 0.8
            yield extra + wide + short, (x, y1 - h - 0.3, x + w, y1 - 0.3), False
            yield extra + wide + short + 0.3, (x, y1 + 0.3, x + w, y1 + 0.3 + h), False
        return
    low, high = min(y1, y2), max(y1, y2)
    places = {(low + high - h) / 2: 0.0, low + 0.3: 0.1, high - 0.3 - h: 0.1}
    y = low + 0.3
    while y + h < high:
        places.setdefault(y, 0.2)
        y += 1.0
    for y, extra in places.items():
        tall = 0.0 if y >= low and y + h <= high else 0.5
        yield 0.2 + extra + tall + short, (x1 + 0.45, y, x1 + 0.45 + w, y + h), False
        yield 0.4 + extra + tall + short, (x1 - 0.45 - w, y, x1 - 0.45, y + h), True
        # Past a number that sits on the line.
        yield 1.2 + extra + tall + short, (x1 + 1.3, y, x1 + 1.3 + w, y + h), False
        yield 1.4 + extra + tall + short, (x1 - 1.3 - w, y, x1 - 1.3, y + h), True


def _on_line(paper: Paper, wish: Wish, w: float, h: float) -> Box | None:
    """On the line itself, where only it runs."""
    for (x1, y1), (x2, y2) in wish.edges:
        steps = max(int(max(abs(x1 - x2), abs(y1 - y2)) / 0.8), 2)
        for n in sorted(range(1, steps), key=lambda n: abs(n - steps / 2)):
            x, y = x1 + (x2 - x1) * n / steps, y1 + (y2 - y1) * n / steps
            box = (x - w / 2, y - h / 2, x + w / 2, y + h / 2)
            if paper.free(box, wish.name):
                return box
    return None


def on_line(paper: Paper, name: str, edges: list[Edge], w: float, h: float) -> Box | None:
    """A free place on one of a line's own edges."""
    return _on_line(paper, Wish(name, [(w, h)], edges), w, h)
