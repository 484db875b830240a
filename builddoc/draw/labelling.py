"""Words beside lines, each where nothing else is; what finds no place gets a letter and stands in a list below."""

from __future__ import annotations

from collections import defaultdict
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
        left, top, right, bottom = box
        taken = (box, owner)
        down = range(int(top // CELL), int(bottom // CELL) + 1)
        for i in range(int(left // CELL), int(right // CELL) + 1):
            for j in down:
                self.cells[i, j].append(taken)

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

    def within(self, box: Box) -> list[Box]:
        """What is taken in a box, some of it more than once."""
        left, top, right, bottom = box
        found: list[Box] = []
        down = range(int(top // CELL), int(bottom // CELL) + 1)
        for i in range(int(left // CELL), int(right // CELL) + 1):
            for j in down:
                cell = self.cells.get((i, j))
                if cell:
                    found += [b for b, _ in cell if b[0] < right and left < b[2] and b[1] < bottom and top < b[3]]
        return found


def lay(paper: Paper, wishes: list[Wish], tag: tuple[float, float] = (1.5, 1.3)) -> dict[str, Put]:
    """Places for all wishes, wide ones first. tag: size of the letter that stands for a label without a place."""
    found: dict[str, Put] = {}
    for wish in sorted(wishes, key=lambda w: (_room(w), w.name)):
        beside = _Beside(paper, wish.edges, [*wish.sizes, tag])
        for choice, size in enumerate(wish.sizes):
            place = beside.first_free(*size)
            if place:
                found[wish.name] = Put(choice, *place)
                break
        else:
            aside = _on_line(paper, wish, *tag) or (beside.first_free(*tag) or (None,))[0]
            found[wish.name] = Put(-1, aside)
        box = found[wish.name].box
        if box:
            paper.take(box, f"label of {wish.name}")
    return found


def _room(wish: Wish) -> float:
    """Places there may be, in a way: length of its line over the area of its words."""
    length = sum([abs(x1 - x2) + abs(y1 - y2) for (x1, y1), (x2, y2) in wish.edges])
    return length / (wish.sizes[0][0] * wish.sizes[0][1])


class _Beside:
    """Places for words of some sizes beside the edges of one line: above or below a horizontal piece, right or left of
    an upright one. What is taken there is looked up once for all sizes."""

    def __init__(self, paper: Paper, edges: list[Edge], sizes: list[tuple[float, float]]):
        self.paper, self.edges = paper, edges
        self.widest, self.highest = max(w for w, _ in sizes), max(h for _, h in sizes)
        self.near: dict[tuple[int, int], list[Box]] = {}

    def _taken(self, number: int, side: int) -> list[Box]:
        """What lies at a side of an edge: 0 above or right of it, 1 below or left."""
        (x1, y1), (x2, y2) = self.edges[number]
        w, h = self.widest, self.highest
        if y1 == y2:
            low, high = _reach(x1, x2, w)
            box = (low, y1 + 0.3, high, y1 + 0.3 + h) if side else (low, y1 - h - 0.3, high, y1 - 0.3)
        else:
            low, high = _reach(y1, y2, h)
            box = (x1 - 1.3 - w, low, x1 - 0.45, high) if side else (x1 + 0.45, low, x1 + 1.3 + w, high)
        found = self.near[number, side] = self.paper.within(box)
        return found

    def first_free(self, w: float, h: float) -> tuple[Box, bool] | None:
        """(place, whether the words end at the line): that of least cost, of several the first."""
        best: tuple[Box, bool] | None = None
        least = float("inf")
        left, right = self.paper.left, self.paper.right
        leftmost, rightmost = left - self.paper.beyond, right + self.paper.beyond
        for rank, edge in enumerate(self.edges):
            later = 0.2 * min(rank, 5)
            if later >= least:
                break
            (x1, y1), (x2, y2) = edge
            level = y1 == y2
            low, high = (x1, x2) if level else (y1, y2)
            if low > high:
                low, high = high, low
            short = 0.0 if high - low >= 3 else 1.0
            if short + later >= least:
                continue
            places = _along(low, high, w, 1.5, 0.4) if level else _along(low, high, h, 1.0, 0.3)
            sides = _above_below(y1, h) if level else _right_left(x1, w)
            size, beyond = (w, 0.8) if level else (h, 0.5)
            for at, extra in places:
                if extra + short + later >= least:
                    break  # the places to come cost more
                out = 0.0 if at >= low and at + size <= high else beyond
                for first, last, side, near, far, end in sides:
                    cost = first + extra + out + short + last + later
                    if cost >= least:
                        break  # the other sides cost more
                    box = (at, near, at + w, far) if level else (near, at, far, at + h)
                    x, y, until, bottom = box
                    if x < leftmost or until > rightmost:
                        continue
                    if x < left or until > right:
                        cost += 0.3 * max(left - x, until - right)
                        if cost >= least:
                            continue
                    taken = self.near.get((rank, side))
                    if taken is None:
                        taken = self._taken(rank, side)
                    for a, b, c, d in taken:
                        if a < until and x < c and b < bottom and y < d:
                            break
                    else:
                        best, least = (box, end), cost
        return best


Side = tuple[float, float, int, float, float, bool]


def _above_below(y: float, h: float) -> tuple[Side, ...]:
    """Of a horizontal edge, the better one first: (cost, more cost, 0 or 1, its borders, whether words end at it)."""
    return (0.0, 0.0, 0, y - h - 0.3, y - 0.3, False), (0.0, 0.3, 1, y + 0.3, y + 0.3 + h, False)


def _right_left(x: float, w: float) -> tuple[Side, ...]:
    """Of an upright edge; close to it, and past a number that sits on the line."""
    return (
        (0.2, 0.0, 0, x + 0.45, x + 0.45 + w, False), (0.4, 0.0, 1, x - 0.45 - w, x - 0.45, True),
        (1.2, 0.0, 0, x + 1.3, x + 1.3 + w, False), (1.4, 0.0, 1, x - 1.3 - w, x - 1.3, True),
    )  # fmt: skip


def _along(low: float, high: float, size: float, step: float, air: float) -> list[tuple[float, float]]:
    """Where words of a size may begin along an edge from low to high, and what each place costs, the cheap ones first:
    in the middle, at the ends, then in steps."""
    middle, ends = (low + high - size) / 2, (low + air, high - air - size)
    places = [(middle, 0.1 if middle in ends else 0.0), (ends[0], 0.1), (ends[1], 0.1)]
    at = ends[0] + step
    while at + size < high:
        places.append((at, 0.2))
        at += step
    return places


def _reach(a: float, b: float, size: float) -> tuple[float, float]:
    """From where to where words of a size or less may lie along an edge from a to b."""
    low, high = (a, b) if a < b else (b, a)
    return min((low + high - size) / 2, high - size - 0.4, low), max((low + high + size) / 2, low + size + 0.4, high)


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
