"""Automated access check with axe-core (WCAG 2.1 A and AA) of what this project puts into a page: figures and words of
every page, both themes. The theme around them is its makers' work and is left out."""

from __future__ import annotations

import json
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe

pytestmark = pytest.mark.browser
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]
OPTIONS = {"runOnly": {"type": "tag", "values": TAGS}, "resultTypes": ["violations"]}
CONTEXT = {"include": ["article"], "exclude": [".highlight"]}  # colours of quoted code are the theme's
OPEN_ALL = "document.querySelectorAll('details').forEach(d => d.open = true)"
# Of rows and entries made alike, of the same elements with the same classes and attributes, one is enough: the
# check takes many seconds on a page with thousands of cells.
ONE_OF_EACH = """() => {
  const seen = new Set(), form = e => e.tagName + [...e.attributes].map(
    a => a.name === 'id' || a.name === 'href' || a.name.startsWith('data-') ? a.name : a.name + '=' + a.value);
  document.querySelectorAll('article tbody tr, article li').forEach(e => {
    const own = [e, ...e.querySelectorAll('*')].map(form).join(' ') + (e.innerText ? '' : ' empty');
    if (seen.has(own)) e.remove(); else seen.add(own); });
  return seen.size; }"""


def violations(page: Any) -> list[str]:
    """`rule: element` of each fault inside the article."""
    found = Axe().run(page, context=CONTEXT, options=OPTIONS).response["violations"]
    return [f"{v['id']}: {json.dumps(node['target'])} {node['html'][:120]}" for v in found for node in v["nodes"]]


# One page of each sort.
LIGHT = [
    "", "shop-press/rebuilt/", "bandsaw-mill/before-and-after/", "bandsaw-mill/measured/", "shop-press/sheets/",
    "first-build-page/", "reference/kinds/flow-divider/", "reference/symbols/", "reference/standards/",
]  # fmt: skip
DARK = ["tipping-trailer/as-found/", "bandsaw-mill/measured/", "reference/symbols/"]


@pytest.mark.parametrize(("name", "scheme"), [*((n, "light") for n in LIGHT), *((n, "dark") for n in DARK)])
def test_no_barrier_that_a_machine_can_find(visit: Any, address: str, name: str, scheme: str) -> None:
    page = visit(address + name, scheme=scheme).page
    page.evaluate(OPEN_ALL)
    page.evaluate(ONE_OF_EACH)
    assert violations(page) == []


def test_the_check_itself_finds_a_barrier(visit: Any, address: str) -> None:
    page = visit(address).page
    page.evaluate("document.querySelector('article').innerHTML += '<img src=\"data:,\">'")
    assert any(text.startswith("image-alt") for text in violations(page))
