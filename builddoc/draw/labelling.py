"""Words beside lines, each where nothing else is; what finds no place gets a letter and stands in a list below."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from .tracing import Edge

Box = tuple[float, float, float, float]
CELL = 8.0
BEYOND = 4.0  # u by which words may make a drawing wider


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
        self.last: Box = (float("inf"), float("inf"), float("-inf"), float("-inf"))
        self.whose = ""

    def take(self, box: Box, owner: str = "") -> None:
        for i in range(int(box[0] // CELL), int(box[2] // CELL) + 1):
            for j in range(int(box[1] // CELL), int(box[3] // CELL) + 1):
                self.cells[i, j].append((box, owner))

    def free(self, box: Box, owner: str = "\0") -> bool:
        """Nothing there, apart from what belongs to `owner`."""
        left, top, right, bottom = box
        a, b, c, d = self.last  # what was in the way of one place is often in that of the next
        if a < right and left < c and b < bottom and top < d and self.whose != owner:
            return False
        for i in range(int(left // CELL), int(right // CELL) + 1):
            for j in range(int(top // CELL), int(bottom // CELL) + 1):
                for (a, b, c, d), name in self.cells.get((i, j), ()):
                    if a < right and left < c and b < bottom and top < d and name != owner:
                        self.last, self.whose = (a, b, c, d), name
                        return False
        return True


def lay(paper: Paper, wishes: list[Wish], tag: tuple[float, float] = (1.5, 1.3)) -> dict[str, Put]:
    """Places for all wishes, wide ones first. tag: size of the letter that stands for a label without a place."""
    found: dict[str, Put] = {}
    for wish in sorted(wishes, key=lambda w: (_room(w), w.name)):
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


def _room(wish: Wish) -> float:
    """Places there may be, in a way: length of its line over the area of its words."""
    length = sum(abs(x1 - x2) + abs(y1 - y2) for (x1, y1), (x2, y2) in wish.edges)
    return length / (wish.sizes[0][0] * wish.sizes[0][1])


def _first_free(paper: Paper, edges: list[Edge], w: float, h: float) -> tuple[Box, bool] | None:
    best: tuple[Box, bool] | None = None
    least = float("inf")
    left, right = paper.left, paper.right
    for rank, edge in enumerate(edges):
        later = 0.2 * min(rank, 5)
        if later >= least:
            break
        for cost, box, end in _candidates(edge, w, h):
            cost += later
            if cost >= least or box[0] < left - paper.beyond or box[2] > right + paper.beyond:
                continue
            if box[0] < left or box[2] > right:
                cost += 0.3 * max(left - box[0], box[2] - right)
            if cost < least and paper.free(box):
                best, least = (box, end), cost
    return best


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


def beside(paper: Paper, spot: tuple[float, float], w: float, h: float) -> Box:
    """A free place for a number near a joint, the nearest one; upper left of it if there is none."""
    x, y = spot
    boxes: list[tuple[float, Box]] = []
    for step in range(8):
        near = 0.4 + 0.5 * step
        for left in (x - near - w, x - w / 2, x + near):
            for top in (y - near - h, y - h / 2, y + near):
                away = max(left - x, x - left - w, 0.0) + max(top - y, y - top - h, 0.0)
                boxes.append((away, (left, top, left + w, top + h)))
    return next((box for _, box in sorted(boxes) if paper.free(box)), boxes[0][1])
