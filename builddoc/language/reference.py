"""The reference page of the language as Markdown, generated from the model, the units and the kinds."""

from __future__ import annotations

import typing
from collections.abc import Sequence
from importlib.resources import files
from string import Template

from .. import kinds
from ..declarations import AdapterFacts, JointFacts, LineFacts, MachineFacts, PartFacts
from ..history.facts import QUANTITIES
from ..kinds import fitting
from ..kinds.base import Kind, Parameters
from ..kinds.bench import benches
from ..quantities import show
from ..tolerances import RULES, SUCTION
from ..units import DIMENSIONS, UNITS
from . import assumptions
from .comparing import CompareText
from .describe import cell, inner_model, keys_table
from .lines import conduits
from .model import AcceptedText, ChangeText, CircuitText, FaultsText, LineText, OilText, ShowText, StateText, TieText
from .photos import CallOutText, PhotosText
from .readings import ReadingsText, ReadingText, TakenText
from .sheets import SheetText
from .yamltext import Group, read_yaml

_COMMON = tuple(info.alias or name for name, info in Parameters.model_fields.items())
_CONDUIT = ("rating", "roughness")  # told once, with the keys of every line
_RULES = (
    "## Rules\n\nWhat a circuit is checked for, with harm, criterion, remedy and source: [the rules](rules/index.md)."
)
_TABLES = (
    "## Tables\n\nSizes, ratings, losses and guides that are looked up by name, each with its source: "
    "[the tables](standards/index.md)."
)
_ASSUMED = f"Everything that is taken where you say nothing: [what is assumed]({assumptions.PATH})."
_SYMBOLS = "The symbols of all kinds on one page: [symbols](symbols.md)."
DECLARED = (MachineFacts, PartFacts, LineFacts, JointFacts, AdapterFacts)
_SECTIONS = ("Keys", "Ports and orders", "Equations", "Example")  # of a kind
_LETTERS = (
    "`dp`: pressure difference across a passage; `Q`: flow through it; `U`: what would flow if it were fully open; "
    "`drop` and `flow`: the two figures of a key such as `5 bar at 40 L/min`."
)
_GROUPS = ("energy", "valves", "actuators", "lines", "conditioning", "measuring")


def example() -> str:
    """The circuit printed on the reference page; a test reads it."""
    return (files(__package__) / "example.yml").read_text(encoding="utf-8")


def revision_example() -> str:
    """A later revision of `example`, printed on the reference page; a test reads it."""
    return (files(__package__) / "revision.yml").read_text(encoding="utf-8")


def reference_markdown() -> str:
    """Everything on one page, for the terminal. Deterministic: the same model gives the same text."""
    return _page("\n\n".join(text for text in _kinds() if text))


def reference_pages() -> dict[str, str]:
    """The same as pages of a site, by path: `index.md`, `symbols.md`, `assumptions.md`, `kinds/NAME.md` with a solved
    circuit for each kind, `rules/RULE.md` (with an index) for each rule that circuits are checked by, and `standards/`
    with tables."""
    from ..rulebook import rules_pages
    from ..standards.pages import standards_pages

    words = "\n\n".join([_SYMBOLS, *_kind_lists(), _ASSUMED, _RULES, _TABLES])
    pages = {"index.md": _page(words), "symbols.md": _symbols_page(), **rules_pages(), **standards_pages()}
    pages[assumptions.PATH] = assumptions.assumptions_page()
    for kind in kinds.registry().values():
        pages[_kind_path(kind)] = _kind_page(kind)
    return pages


def _page(kinds_text: str) -> str:
    template = Template((files(__package__) / "reference.md").read_text(encoding="utf-8"))
    return template.substitute(
        example=example().rstrip(),
        circuit=keys_table(CircuitText),
        oil=f"{_doc(OilText)}\n\n{keys_table(OilText)}",
        part=keys_table(Parameters),
        line=keys_table(LineText, ("direct",)),
        declare="\n\n".join(f"{_doc(m)}\n\n{keys_table(m)}" for m in DECLARED),
        conduits=_conduits(),
        fittings=f"{keys_table(fitting.FittingKeys)}\n\n{fitting.equations}",
        tie=f"{_doc(TieText)}\n\n{keys_table(TieText)}",
        state=f"{_doc(StateText)}\n\n{keys_table(StateText)}",
        faults=keys_table(FaultsText),
        accepted=f"{_doc(AcceptedText)}\n\n{keys_table(AcceptedText)}",
        show=keys_table(ShowText),
        quantities=_quantities(),
        compare=keys_table(CompareText),
        readings=keys_table(ReadingsText, tuple(info.alias or name for name, info in TakenText.model_fields.items())),
        reading=keys_table(ReadingText),
        tolerances=_tolerances(),
        sheet=keys_table(SheetText),
        photos=keys_table(PhotosText),
        call_out=keys_table(CallOutText),
        revision=revision_example().rstrip(),
        changes=f"{_doc(ChangeText)}\n\n{keys_table(ChangeText)}",
        dimensions=_dimensions(),
        units=_units(),
        kinds=kinds_text,
    )


def _doc(model: type) -> str:
    return " ".join((model.__doc__ or "").split())


def _dimensions() -> str:
    rows = ["| quantity | examples | printed in metric | printed in US units |", "|---|---|---|---|"]
    for dimension in DIMENSIONS.values():
        examples = ", ".join(f"`{e}`" for e in dimension.examples)
        printed = [", ".join(d.label for d in dimension.systems[s]) for s in ("metric", "US")]
        rows.append(f"| {dimension.name} | {cell(examples)} | {cell(printed[0])} | {cell(printed[1])} |")
    return "\n".join(rows)


def _quantities() -> str:
    """What figures and claims may ask."""
    rows = ["| quantity | of | what it is |", "|---|---|---|"]
    return "\n".join([*rows, *(f"| `{name}` | {of} | {cell(what)} |" for name, (of, what) in QUANTITIES.items())])


def _tolerances() -> str:
    """What a reading of each kind is worth beside its instrument."""
    rows = ["| reading of | share of the prediction | at least |", "|---|---|---|"]
    for dimension, (part, least) in RULES.items():
        share = show(part, "share") if part else "–"
        unit = {"temperature": "temperature difference"}.get(dimension, dimension)
        rows.append(f"| {dimension} | {share} | {show(least, unit) if least else '–'} |")
    part = RULES["pressure"][0]
    rows.append(f"| pressure below that of the air | {show(part, 'share')} | {show(SUCTION, 'pressure')} |")
    return "\n".join(rows)


def _units() -> str:
    return ", ".join(f"`{spellings.split(', ')[0]}`" for _, _, spellings in UNITS if spellings[0] != "(")


def _conduits() -> str:
    """What a line can be made of."""
    found: list[str] = []
    for key, conduit in conduits().items():
        found += [
            f"#### `{key}`",
            conduit.summary,
            keys_table(conduit.Params, _CONDUIT),
            conduit.equations,
            _yaml(conduit.example),
        ]
    return "\n\n".join(text for text in found if text)


def _yaml(text: str) -> str:
    return f"```yaml\n{text.strip()}\n```" if text.strip() else ""


def _groups() -> dict[str, list[Kind[Parameters]]]:
    every = list(kinds.registry().values())
    groups = dict.fromkeys([*_GROUPS, *(k.group for k in every)])
    return {group: [k for k in every if k.group == group] for group in groups if any(k.group == group for k in every)}


def _kinds() -> list[str]:
    found: list[str] = []
    for group, members in _groups().items():
        found.append(f"### {group.capitalize()}")
        for kind in members:
            found += [f"#### {kind.name}", *_kind(kind)]
    return found


def _kind_lists() -> list[str]:
    """One table for each group, with links to the kinds' own pages."""
    found: list[str] = []
    for group, members in _groups().items():
        rows = [f"| [{kind.name}]({_kind_path(kind)}) | {cell(kind.summary)} |" for kind in members]
        found += [f"### {group.capitalize()}", "\n".join(["| kind | what it is |", "|---|---|", *rows])]
    return found


def _symbols_page() -> str:
    """The contact sheet: every symbol in a cell beside its kind's name, by groups."""
    from ..draw.contact import NOTE, symbol_svg

    found = ["# Symbols", NOTE]
    for group, members in _groups().items():
        rows = [
            f'| <span class="bd-block bd-symbol">{symbol_svg(kind.name)}</span> '
            f"| [{kind.name}]({_kind_path(kind)}) | {cell(kind.summary)} |"
            for kind in members
        ]
        found += [f"## {group.capitalize()}", "\n".join(["| symbol | kind | what it is |", "|---|---|---|", *rows])]
    return "\n\n".join(found)


def _kind_path(kind: Kind[Parameters]) -> str:
    return f"kinds/{kind.name.replace(' ', '-')}.md"


def _kind_page(kind: Kind[Parameters]) -> str:
    from ..draw.contact import symbol_svg

    live = []
    for title, circuit in benches(kind).items():
        if title:
            live.append(f"### {title[0].upper()}{title[1:]}")
        live.append(f"```circuit\n{circuit}```\n")
    several = "Invented circuits" if kind.more else "An invented circuit"
    live.insert(0, f"## On the bench\n\n{several} round a part of this kind, solved when this site was built.")
    symbol = f'<div class="bd-block bd-symbol">{symbol_svg(kind.name)}</div>'
    heads = [f"## {name}" for name in _SECTIONS]
    return "\n\n".join(text for text in (f"# {kind.name.capitalize()}", symbol, *_kind(kind, heads), *live) if text)


def _kind(kind: Kind[Parameters], heads: Sequence[str] = ()) -> list[str]:
    """What there is to tell of a kind; `heads` over keys, ports, equations and example, else a word in bold."""
    keys, ports, equations, written = heads or [f"**{name}**" for name in _SECTIONS]
    also = f" Also written {', '.join(f'`{a}`' for a in kind.aliases)}." if kind.aliases else ""
    found = [kind.summary + also]
    if any((i.alias or n) not in _COMMON for n, i in kind.Params.model_fields.items()):
        found += [keys, keys_table(kind.Params, _COMMON)]
    for name, info in kind.Params.model_fields.items():
        if inner := inner_model(info.annotation):
            one = "each of the" if typing.get_origin(info.annotation) is dict else "the group"
            found += [f"Keys of {one} `{info.alias or name}`:", keys_table(inner)]
    params = example_params(kind)
    if params is not None and kind.ports(params):
        found += [ports, _ports(kind, params)]
    if params is not None:
        found.append(_controls(kind, params))
    letters = _LETTERS if heads and any(law in kind.equations for law in ("dp", "U(")) else ""
    found += [equations, letters, kind.equations.strip()]
    return [*found, written, _yaml(kind.example)]


def example_params(kind: Kind[Parameters]) -> Parameters | None:
    """The parameters of a kind's own example (the ports of some kinds depend on them)."""
    group, _ = read_yaml(kind.example)
    if not isinstance(group, Group):
        return None
    return kind.Params.model_validate(group.without("kind").plain())


def _ports(kind: Kind[Parameters], params: Parameters) -> str:
    rows = ["| port | also | what it is |", "|---|---|---|"]
    for port in kind.ports(params):
        may = "may stay open" if port.optional and not port.several else ""
        text = "; ".join(t for t in (port.doc, may) if t)
        rows.append(
            f"| `{port.name}` | {', '.join(f'`{a}`' for a in port.aliases) or '–'} | {cell(text) or port.role} |"
        )
    return "Ports (of the example):\n\n" + "\n".join(rows)


def _controls(kind: Kind[Parameters], params: Parameters) -> str:
    names = {"load": "under `loads:`", "stop": "under `at stop:` or `stopped:`", "speed": "under `speed:`",
             "position": "the part's name"}  # fmt: skip
    listed = [f"- {names.get(c.name, f'`{c.name}`')}: {c.doc}" for c in kind.controls(params)]
    return "A state may set:\n\n" + "\n".join(listed) if listed else ""
