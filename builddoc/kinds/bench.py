"""The circuit in which a kind shows on its page what it does. Parts and lines that many need are named by one word."""

from __future__ import annotations

from string import Template
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .base import Kind

SUPPLY = """tank: {kind: reservoir, volume: 30 L, cooling area: 0.7 m2}
  pump: {kind: pump, displacement: 8 cc/rev, speed: 2400 rpm, volumetric efficiency: 94 %, rating: 250 bar}
  block: {kind: tee, rating: 250 bar}
  relief: {kind: relief valve, setting: 150 bar, override: 3 bar at 40 L/min, rating: 250 bar}"""
"""Parts that `$supply` stands for: 18 L/min at 150 bar, offered at `block.branch`."""
FEED = """suction: {route: tank > pump.inlet, direct: yes}
  outlet: {route: pump.outlet > block.run a, direct: yes}
  relief seat: {route: block.run b > relief.inlet, direct: yes}
  relief home: {route: relief.outlet > tank, direct: yes}"""
"""Their lines, that `$feed` stands for."""
HIDDEN = "cautions, findings, ratings, heat, parts, assumptions, downloads"


def benches(kind: Kind[Any]) -> dict[str, str]:
    """All circuits of its page by what they show, "" first: YAML, invented data, oil at 40 degC."""
    return {title: _whole(kind, title, text) for title, text in {"": kind.demo, **kind.more}.items()}


def bench(kind: Kind[Any]) -> str:
    """The first of them."""
    return benches(kind)[""]


def _whole(kind: Kind[Any], title: str, text: str) -> str:
    body = Template(text.strip()).substitute(supply=SUPPLY, feed=FEED)
    name = f"{kind.name} on the bench, {title}" if title else f"{kind.name} on the bench"
    head = f'machine: "{name}"\noil: {{grade: ISO VG 46, temperature: 40 °C}}'
    return f"{head}\n{body}\nfaults: no\nshow: {{hide: [{HIDDEN}]}}\n"
