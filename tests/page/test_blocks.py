"""Finding circuit blocks in Markdown: the same text, and the place, that a Markdown host would hand over."""

from __future__ import annotations

from typing import Any

import markdown
import pytest
from builddoc.blocks import find_blocks

PAGES = {
    "plain": "# A\n\n```circuit\nmachine: a\nparts: {}\n```\n",
    "tildes": "~~~~ circuit\nmachine: a\n~~~\nstill\n~~~~\n",
    "braces": "``` {.circuit }\nmachine: a\n```\n",
    "list": "1. step\n\n    ```circuit\n    machine: a\n      deep: 1\n    ```\n",
    "quote": "> said\n>\n> ```circuit\n> machine: a\n> ```\n",
    "two": "```circuit\na: 1\n```\n\ntext\n\n```circuit\nb: 2\n\nc: 3\n```\n",
    "tabs": "```circuit\nparts:\n\tx: 1\n```\n",
    "windows": "```circuit\r\nmachine: a\r\nb: 1\r\n```\r\n",
    "front matter": "---\ntitle: x\n---\n\n```circuit\nmachine: a\n```\n",
    "admonition": '!!! note "x"\n\n    ```circuit\n    machine: a\n    ```\n',
}


def through_markdown(text: str) -> list[str]:
    """What pymdownx.superfences hands to a formatter."""
    got: list[str] = []

    def take(source: str, *args: Any, **kwargs: Any) -> str:
        got.append(source)
        return "<div></div>"

    fence = {"name": "circuit", "class": "c", "format": take}
    markdown.markdown(
        text.replace("\r\n", "\n"),
        extensions=["admonition", "pymdownx.superfences"],
        extension_configs={"pymdownx.superfences": {"custom_fences": [fence]}},
    )
    return got


@pytest.mark.parametrize("name", PAGES)
def test_same_text_as_the_host(name: str) -> None:
    found = [block.text.rstrip() for block in find_blocks(PAGES[name])]
    assert found == [text.rstrip() for text in through_markdown(PAGES[name])]
    assert found


@pytest.mark.parametrize("name", PAGES)
def test_place_points_at_the_text(name: str) -> None:
    lines = PAGES[name].replace("\r\n", "\n").split("\n")
    for block in find_blocks(PAGES[name]):
        first = block.text.split("\n")[0]
        assert lines[block.line - 1][block.column - 1 :].rstrip() == first.rstrip()


def test_numbers_count_circuits_only() -> None:
    text = "```python\nx\n```\n" + PAGES["two"]
    assert [(b.number, b.line) for b in find_blocks(text)] == [(1, 5), (2, 11)]


def test_a_block_shown_inside_another_fence_is_text() -> None:
    text = "````markdown\n```circuit\nmachine: a\n```\n````\n"
    assert find_blocks(text) == []
    assert through_markdown(text) == []


def test_open_fence_is_reported_with_its_line() -> None:
    (block,) = find_blocks("# A\n\n```circuit\nmachine: a\n")
    assert (block.closed, block.line) == (False, 3)
    assert through_markdown("# A\n\n```circuit\nmachine: a\n") == []


def test_other_languages_are_left_alone() -> None:
    assert find_blocks("```circuits\na\n```\n\n```\ncircuit\n```\n") == []
