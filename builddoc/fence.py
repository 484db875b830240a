"""The ```circuit fence for any Python-Markdown host that has pymdownx.superfences.

Without a plugin, name `builddoc.fence.formatter` (and `validator`, `reset`) under `custom_fences`, or use `FENCE`:

    markdown.markdown(text, extensions=["pymdownx.superfences"],
                      extension_configs={"pymdownx.superfences": {"custom_fences": [builddoc.fence.FENCE]}})
"""

from __future__ import annotations

import hashlib
import logging
import os
import re
import threading
import weakref
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from .ahead import Job
from .blocks import Block, find_blocks
from .cache import Cache, key_of
from .history.facts import Facts
from .history.journal import PageJournal
from .history.machines import Revised
from .history.registry import Entry, Registry, head_of
from .messages import Message
from .near import nearest
from .page.draft import Draft, Noted
from .page.rendering import MAKERS, NAMING, Options, Rendered, fault, finish
from .pipeline import included_files
from .sources import Source

log = logging.getLogger("builddoc")
_NO_ID = re.compile(r"[^A-Za-z0-9_.]+")


@dataclass(frozen=True, slots=True)
class Page:
    """The page that a Markdown run is for. name: path below the docs folder ("" = unknown). path: as a user would type
    it. source: its text as on disk. host: the host's own object, for those who know it."""

    name: str = ""
    path: str = ""
    source: str = ""
    host: Any = None


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a block stands: in its page, with number, line and column."""

    page: Page
    number: int
    line: int = 1
    column: int = 1
    known: bool = True
    word: str = "circuit"

    @property
    def prefix(self) -> str:
        """Start of the block's ids, unique on the site."""
        stem = self.page.name.removesuffix(".md").removesuffix("/index")
        name = _NO_ID.sub("-", stem.replace("/", ".")).strip("-").lower() or "page"
        if (name != stem.replace("/", ".") and stem) or "." in stem:
            name += "-" + hashlib.sha256(stem.encode()).hexdigest()[:4]  # two such pages could come out equal
        return f"bd-{name}-{self.number}" if self.word == "circuit" else f"bd-{name}-{self.word}-{self.number}"

    @property
    def stem(self) -> str:
        """Start of the names of the block's downloads."""
        return self.word if self.number == 1 else f"{self.word}-{self.number}"

    @property
    def path(self) -> str:
        """As printed in messages."""
        if self.known or not self.page.path:
            return self.page.path
        return f"{self.page.path} ({self.word} block {self.number}, its own line)"


class Fence:
    """Formats circuit blocks; one per build or server. Safe to use from several threads.

    cache: rendered circuits. log: gets errors as warnings (a host's strict mode counts those). link: (spot, name,
    text) -> address of a download. late: (spot, draft) -> mark that stands for a figure which the host puts in when the
    page is done.
    """

    word = "circuit"  # the fence's name

    def __init__(
        self,
        cache: Cache | None = None,
        log: logging.Logger | logging.LoggerAdapter[Any] = log,
        options: Options | None = None,
        link: Callable[[Spot, str, str], str] | None = None,
        late: Callable[[Spot, Draft], str] | None = None,
        seen: Callable[[Spot, Rendered, list[Path]], None] | None = None,
        loud: Callable[[Noted], bool] = lambda finding: False,
    ):
        self.cache = cache if cache is not None else Cache()
        self.log, self.options, self.link, self.late = log, options or Options(), link, late
        self.seen, self.loud = seen, loud
        self.registry = Registry()  # of the site: a host that knows all pages sets it
        self._counts: weakref.WeakKeyDictionary[Any, dict[str, int]] = weakref.WeakKeyDictionary()
        self._before: weakref.WeakKeyDictionary[Any, list[Source]] = weakref.WeakKeyDictionary()
        self._said: set[str] = set()
        self._lock = threading.Lock()

    def _site(self) -> Registry:
        """Circuits of the whole site, where the host knows them."""
        return self.registry

    def _key(self, text: str, path: str, registry: Registry) -> tuple[str, list[Path], tuple[Entry, ...]]:
        """Name in the cache, the files that the text depends on, and the revisions."""
        included, bases = needs(text, path, registry)
        # Where a file is included, the answer depends on where it is looked for.
        return key_of(text, included, self.options, bases), included, bases

    # ---- what superfences calls
    def validator(
        self, language: str, inputs: dict[str, Any], options: dict[str, Any], attrs: dict[str, Any], md: Any
    ) -> bool:
        """Every header is taken: an option that we do not know is reported by `format`, not handed to a code block."""
        options.update(inputs)
        return True

    def format(
        self, source: str, language: str, class_name: str, options: dict[str, Any], md: Any, **kwargs: Any
    ) -> str:
        """HTML of one block. Never raises: the host would swallow it and show plain code as if all were well."""
        try:
            spot = self._spot(source, md)
        except Exception:
            self.log.debug("page of a circuit block not found", exc_info=True)
            spot = Spot(Page(), 1, known=False, word=self.word)
        try:
            return self._format(source, options, spot, self._known_with(spot.page, md, source))
        except Exception as error:
            self.log.debug("fault in a circuit block", exc_info=True)
            rendered = finish(
                Draft(messages=(fault(error),), text=source), spot.path, spot.line, spot.column, prefix=spot.prefix
            )
            self._report(rendered.messages, ())
            return rendered.html

    def reset(self, md: Any) -> None:
        with self._lock:
            self._counts.pop(md, None)
            self._before.pop(md, None)

    def known_to(self, page: Page, md: Any = None, source: str = "") -> Registry:
        """The circuits that a text on `page` may refer to: the page's own, then the site's. Where the host does not
        tell the page, the blocks that came before (source: one that comes now)."""
        if page.source:
            return registry_of(page, self.registry)
        with self._lock:
            before = self._before.setdefault(md, []) if md is not None else []
            if source:
                before.append(Source(source, page.path or f"(circuit block {len(before) + 1}, its own line)"))
            return Registry.of(before, page.name, self.registry)

    def _known_with(self, page: Page, md: Any, source: str) -> Registry:
        """`known_to`, the block itself included."""
        return self.known_to(page, md, source)

    def journal(self, page: Page, md: Any = None) -> PageJournal:
        """What figures and claims on `page` may ask."""
        registry = self.known_to(page, md)

        def facts_of(entry: Entry) -> Facts | None:
            text, path = (entry.block, entry.block_path) if entry.block else (entry.text, entry.path)
            data = self.made(text, path, registry)[0].facts
            return Facts.from_data(data) if data else None

        return PageJournal(registry, facts_of)

    def revised(self, entry: Entry, readings: Sequence[tuple[str, str]] = ()) -> Revised:
        """A revision with what its circuit says of it. readings: (date, page) of what was measured on it."""
        text, path = (entry.block, entry.block_path) if entry.block else (entry.text, entry.path)
        made, _ = self.made(text, path, self.registry)
        if not made.facts:
            return Revised(entry, readings=readings)
        return Revised(entry, Facts.from_data(made.facts).changes, made.findings, readings)

    def report(self, message: Message) -> None:
        """Say something about a page, once."""
        self._report((message,), ())

    def made(self, text: str, path: str, registry: Registry) -> tuple[Draft, list[Path]]:
        """The draft of a circuit's text, kept or made now, and the files that it depends on."""
        key, included, entries = self._key(text, path, registry)
        made = self.cache.get(key)
        if made is None:
            made = MAKERS[self.word](text, path, self.options, self.cache.folder, entries)
            if not any(m.code == "fault" for m in made.messages):
                self.cache.put(key, made)
        return made, included

    def missing(self, page: Page) -> list[Job]:
        """What of a page's blocks is not in the cache yet."""
        if self.word not in page.source:
            return []
        registry = registry_of(page, self._site())
        jobs = []
        for block in find_blocks(page.source, self.word):
            key, _, entries = self._key(block.text, page.path, registry)
            if block.closed and not self.cache.has(key):
                jobs.append(Job(key, block.text, page.path, entries, self.word))
        return jobs

    # ---- the work
    def _format(self, source: str, options: dict[str, Any], spot: Spot, registry: Registry) -> str:
        made, included = self.made(source, spot.page.path, registry)
        link = self.link
        rendered = finish(
            made,
            spot.path,
            spot.line,
            spot.column,
            prefix=spot.prefix,
            statement=self.word == "circuit" and spot.number == 1,
            link=None if link is None else lambda name, text: link(spot, name, text),
            late=self.late(spot, made) if self.late and made.html else "",
        )
        unknown = tuple(
            Message("fence-option", f"the {self.word} fence takes no option '{name}'", level="warning")
            for name in options
        )
        self._report((*rendered.messages, *unknown), rendered.findings)
        if self.seen:
            self.seen(spot, rendered, included)
        return rendered.html

    def _report(self, messages: Iterable[Message], findings: Iterable[Noted]) -> None:
        """Each thing once, however often the block is rendered (excerpts, archives)."""
        for message in messages:
            self._say(logging.INFO if message.level == "note" else logging.WARNING, str(message))
        for finding in findings:
            if self.loud(finding):
                self._say(logging.WARNING, str(finding))

    def _say(self, level: int, text: str) -> None:
        with self._lock:
            if text in self._said:
                return
            self._said.add(text)
        # As the message itself, not as an argument: hosts drop messages whose pattern they have seen.
        self.log.log(level, text)

    def _spot(self, source: str, md: Any) -> Spot:
        page = page_of(md)
        matches = [b for b in find_blocks(page.source, self.word) if _same(b, source)] if page.source else []
        with self._lock:
            counts = self._counts.setdefault(md, {})
            counts[source] = counts.get(source, 0) + 1
            counts[""] = counts.get("", 0) + 1
            nth, running = counts[source], counts[""]
        if matches:
            # Modulo: an excerpt is rendered again and again by the same Markdown object, without a reset.
            block = matches[(nth - 1) % len(matches)]
            return Spot(page, block.number, block.line, block.column, word=self.word)
        return Spot(page, running, known=not page.source, word=self.word)


class NamingFence(Fence):
    """Formats blocks that name circuits: those of NAMING. circuits: the fence of these; all is shared with it."""

    def __init__(self, word: str, circuits: Fence):
        of = circuits
        super().__init__(of.cache, of.log, of.options, of.link, of.late, of.seen, of.loud)
        self.word = word
        self._circuits = circuits

    def _known_with(self, page: Page, md: Any, source: str) -> Registry:
        return self._circuits.known_to(page, md)

    def _site(self) -> Registry:
        return self._circuits.registry

    def _key(self, text: str, path: str, registry: Registry) -> tuple[str, list[Path], tuple[Entry, ...]]:
        entries, files = named(text, registry, self.word)
        files += pictures(text, path) if self.word == "photos" else []
        return key_of(f"{self.word}\n{text}", files, self.options, entries), files, entries


_IMAGE = re.compile(r"^image[ ]*:[ ]*(?P<name>[^#\n]+)", re.MULTILINE)
_MACHINE = re.compile(r"^machine[ ]*:[ ]*(?P<name>[^#\n]+)", re.MULTILINE)


def named(text: str, registry: Registry, word: str) -> tuple[tuple[Entry, ...], list[Path]]:
    """All revisions of the machine that a block's text names, with what they depend on. More than those that it is
    about: a message about a wrong name lists the others; of a machine that there is not, those of the one with the
    nearest name. For readings also the other readings of the revision."""
    match = _MACHINE.search(text)
    machine = match["name"].strip().strip("\"'") if match else ""
    if not registry.revisions(machine):
        machine = nearest(machine, registry.machines()) or ""
    entries: list[Entry] = []
    files: list[Path] = []
    for revision in registry.revisions(machine):
        for entry in registry.find(machine, revision):
            entries.append(entry)
            files += [file for file in included_files(entry.text, entry.path) if file not in files]
    if word == "readings":
        entries += [e for e in registry.taken(machine, head_of(text).revision) if e.text.rstrip() != text.rstrip()]
    return tuple(entries), files


def pictures(text: str, path: str) -> list[Path]:
    """The picture that a photos block names, found without reading the block."""
    match = _IMAGE.search(text)
    return [Path(path).parent / match["name"].strip().strip("\"'")] if match else []


def registry_of(page: Page, outer: Registry | None = None) -> Registry:
    """The circuits on a page, then those of `outer`."""
    sources = [Source(b.text, page.path, b.line, b.column, b.number) for b in find_blocks(page.source) if b.closed]
    return Registry.of(sources, page.name, outer, readings_on(page))


def readings_on(page: Page) -> list[Entry]:
    """The readings blocks of a page. Their lines are left out: what is kept must not depend on the text above them."""
    blocks = find_blocks(page.source, "readings") if "readings" in page.source else []
    return [Entry(b.text, page.path, page=page.name, head=head_of(b.text), measured=True) for b in blocks if b.closed]


def needs(text: str, path: str, registry: Registry) -> tuple[list[Path], tuple[Entry, ...]]:
    """What a circuit's text depends on: files, and earlier revisions (whose files are among them)."""
    bases = registry.closure(text, path)
    files = included_files(text, path)
    for base in bases:
        files += [file for file in included_files(base.text, base.path) if file not in files]
    return files, bases


def _same(block: Block, source: str) -> bool:
    return block.closed and block.text.rstrip() == source.rstrip()


def page_of(md: Any) -> Page:
    """The page that `md` is converting, as far as the host tells: MkDocs and its kin (pages and blog excerpts) keep
    it in a tree processor, the successor in a preprocessor; no other host says."""
    if md is not None and "relpath" in md.treeprocessors and hasattr(md.treeprocessors["relpath"], "file"):
        return page_of_file(md.treeprocessors["relpath"].file)
    if md is not None and "rendering_context" in md.preprocessors:
        page = getattr(md.preprocessors["rendering_context"], "page", None)
        path = str(getattr(page, "path", "") or "")
        if path:
            return Page(path, path, _read(path), page)
    return Page()


def page_of_file(file: Any) -> Page:
    """A page from MkDocs' file object."""
    path = getattr(file, "abs_src_path", None)
    return Page(file.src_uri, shown(path) if path else file.src_uri, _source(file), file)


def shown(path: str) -> str:
    """Relative to where the command was started, if it lies below: that is what an editor's terminal can open."""
    here = os.path.relpath(path)
    return path if here.startswith("..") else here


def _source(file: Any) -> str:
    try:
        return str(file.content_string)
    except Exception:  # a generated page without text, a file that vanished: the place stays unknown
        return ""


def _read(path: str) -> str:
    try:
        return Path(path).read_text("utf-8-sig")
    except (OSError, ValueError):
        return ""


_fence = Fence()


def common() -> Fence:
    """The fence of hosts where no plugin sets one up."""
    return _fence


def formatter(source: str, language: str, class_name: str, options: dict[str, Any], md: Any, **kwargs: Any) -> str:
    """`format` of a custom fence, for hosts where no plugin sets one up."""
    return _fence.format(source, language, class_name, options, md, **kwargs)


def validator(language: str, inputs: dict[str, Any], options: dict[str, Any], attrs: dict[str, Any], md: Any) -> bool:
    return _fence.validator(language, inputs, options, attrs, md)


def reset(md: Any) -> None:
    _fence.reset(md)


def fence(of: Fence, name: str = "circuit") -> dict[str, Any]:
    """Entry for `custom_fences` of pymdownx.superfences."""
    return {"name": name, "class": "bd-block", "format": of.format, "validator": of.validator, "reset": of.reset}


FENCE = fence(_fence)
FENCES = [FENCE, *(fence(NamingFence(word, _fence), word) for word in NAMING)]
