"""Finding and changing a place in a circuit's tree by a dotted path whose names may hold spaces and dots."""

from __future__ import annotations

from collections.abc import Iterator

from ..language.yamltext import Group, Node, Sequence, Text
from ..messages import Place

NAMED = ("parts", "lines", "states", "ties")  # sections whose entries have names of the writer's own
Path = tuple[str | int, ...]


def paths(node: Node, words: str) -> Iterator[Path]:
    """Every way to read `words` as a path below `node` to something that is there. A list's entry is named by its
    text."""
    if isinstance(node, Group):
        for key, inner in node.values.items():
            if words == key:
                yield (key,)
            elif words.startswith(f"{key}."):
                for rest in paths(inner, words[len(key) + 1 :]):
                    yield (key, *rest)
    elif isinstance(node, Sequence):
        for index, item in enumerate(node.items):
            if isinstance(item, Text) and item.value == words:
                yield (index,)


def new_leaves(node: Node, words: str) -> Iterator[Path]:
    """Every way to read `words` as a key that is not there yet, in a group that is."""
    if isinstance(node, Group):
        for key, inner in node.values.items():
            if words.startswith(f"{key}."):
                rest = words[len(key) + 1 :]
                known = inner.values if isinstance(inner, Group) else {}
                if (isinstance(inner, Group) or (isinstance(inner, Text) and inner.nothing)) and rest not in known:
                    yield (key, rest)
                for further in new_leaves(inner, rest):
                    yield (key, *further)


def get(node: Node, path: Path) -> Node:
    """What stands at a path that exists."""
    for step in path:
        if isinstance(node, Group):
            node = node.values[str(step)]
        elif isinstance(node, Sequence):
            node = node.items[int(step)]
    return node


def put(node: Node, path: Path, value: Node, key_place: Place) -> Node:
    """The tree with `value` at `path`; groups on the way are made where there are none."""
    if not path:
        return value
    step, rest = path[0], path[1:]
    if isinstance(node, Sequence) and isinstance(step, int):
        items = [*node.items]
        items[step] = put(items[step], rest, value, key_place)
        return Sequence(tuple(items), node.place)
    group = node if isinstance(node, Group) else Group({}, {}, node.place)
    key = str(step)
    inner = group.values.get(key, Group({}, {}, key_place))
    # An entry that was there keeps the place where it was first named.
    keys = {**group.keys, key: group.keys.get(key, key_place) if rest else key_place}
    return Group(keys, {**group.values, key: put(inner, rest, value, key_place)}, group.place)


def drop(node: Node, path: Path) -> Node:
    """The tree without what stands at a path that exists."""
    step, rest = path[0], path[1:]
    if isinstance(node, Sequence):
        index = int(step)
        items = [*node.items]
        items[index : index + 1] = [drop(items[index], rest)] if rest else []
        return Sequence(tuple(items), node.place)
    assert isinstance(node, Group)
    key = str(step)
    if not rest:
        return node.without(key)
    return Group(node.keys, {**node.values, key: drop(node.values[key], rest)}, node.place)
