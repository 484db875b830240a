"""The MkDocs plugin: events and options, nothing else. The work is done by `fence` and `page`."""

from __future__ import annotations

import hashlib
import json
import logging
import posixpath
import re
import threading
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any, Literal

from mkdocs.config import config_options as opt
from mkdocs.config.base import Config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.plugins import BasePlugin, event_priority, get_plugin_logger
from mkdocs.structure.files import File, Files
from mkdocs.structure.pages import Page
from mkdocs.utils import get_relative_url

from .ahead import render_ahead
from .blocks import find_blocks
from .cache import Cache
from .fence import NAMING, Fence, NamingFence, Spot, fence, page_of_file, readings_on, registry_of, shown
from .fence import Page as PageOfText
from .history.machines import index_markdown, machine_markdown, revisions_in_order, stem
from .history.registry import Entry, Registry
from .levels import LEVELS, counts
from .page.draft import Draft, Site, rule_path
from .page.rendering import LATE_END, Options, Rendered, data_link, figure, load_all, script, stylesheet

if TYPE_CHECKING:
    from .draw.engine import EngineName

log = get_plugin_logger(__name__)
SUPERFENCES = "pymdownx.superfences"
INLINE = "builddoc.inline"
_ENGINES: dict[str, EngineName] = {"internal": "internal", "system": "system"}
_LATE = re.compile(rf"<!--builddoc (bd-[a-z0-9_.-]+)-->.*?{LATE_END}", re.DOTALL)


class BuilddocConfig(Config):
    cache = opt.Type(bool, default=True)
    """Keep rendered circuits between builds."""

    cache_dir = opt.Type(str, default=".cache/plugin/builddoc")
    """Where they are kept, relative to mkdocs.yml."""

    fail_on = opt.Choice(LEVELS, default="error")
    """From which signal word on a finding is a warning of the build, so that `--strict` fails."""

    graphviz = opt.Choice(tuple(_ENGINES), default="internal")
    """The drawing engine inside the package, or the machine's own Graphviz."""

    downloads = opt.Type(bool, default=True)
    """Write the downloads beside the page; otherwise the page carries them itself."""

    reference = opt.Optional(opt.Type(str))
    """Path of a page, below the docs folder, that is filled with the reference of the circuit language. Beside it, in
    folders of their own, lie a page for each kind of part (kinds/) and for each rule (rules/)."""

    machines = opt.Optional(opt.Type(str))
    """Path of a page, below the docs folder, that is filled with the index of machines; each machine has a page in the
    folder of that name, as machines/bandsaw-mill.md."""


class BuilddocPlugin(BasePlugin[BuilddocConfig]):
    def __init__(self) -> None:
        self._cache: Cache | None = None
        self._server: Any = None
        self._watched: set[str] = set()
        self._files: Files | None = None
        self._begin()

    def _begin(self) -> None:
        """State of one build."""
        self._late: dict[str, tuple[Spot, Draft]] = {}
        self._anchors: dict[str, set[str]] = {}
        self._seen: dict[tuple[str, str], set[int]] = {}  # (page, word of the fence) -> numbers of blocks
        self._benches: set[str] = set()  # pages of the reference: their circuits are nobody's machines

    # ---- events
    def on_startup(self, *, command: Literal["build", "gh-deploy", "serve"], dirty: bool) -> None:
        """Its presence alone makes MkDocs keep this object, and with it the cache, over the rebuilds of `serve`."""

    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        self._begin()
        folder = Path(config.config_file_path).parent / self.config.cache_dir if self.config.cache else None
        if self._cache is None or self._cache.folder != folder:
            self._cache = Cache(folder)
        self._fence = Fence(
            self._cache,
            log,
            Options(engine=_ENGINES[self.config.graphviz]),
            late=self._set_aside,
            seen=self._note,
            loud=lambda finding: not finding.accepted and counts(finding.signal, self.config.fail_on),
        )
        if SUPERFENCES not in config.markdown_extensions:
            config.markdown_extensions.append(SUPERFENCES)
        settings = config.mdx_configs.setdefault(SUPERFENCES, {})
        self._naming = [NamingFence(word, self._fence) for word in NAMING]
        own = [fence(self._fence), *(fence(naming, naming.word) for naming in self._naming)]
        fences = [f for f in settings.get("custom_fences", []) if f.get("name") not in [f["name"] for f in own]]
        settings["custom_fences"] = [*fences, *own]
        if INLINE not in config.markdown_extensions:
            config.markdown_extensions.append(INLINE)
        config.mdx_configs[INLINE] = {"fence": self._fence}
        self._assets = {_asset("css", stylesheet()): stylesheet(), _asset("js", script()): script()}
        for name in self._assets:
            (config.extra_css if name.endswith(".css") else config.extra_javascript).append(name)
        return config

    def on_files(self, files: Files, *, config: MkDocsConfig) -> Files:
        self._files, self._mkdocs = files, config
        for name, text in self._assets.items():
            files.append(File.generated(config, name, content=text))
        if self.config.reference:
            self._add_reference(files, config, self.config.reference)
        self._solve_ahead(files)
        if self.config.machines:
            self._add_machines(files, config, self.config.machines)
        return files

    def on_page_content(self, html: str, *, page: Page, config: MkDocsConfig, files: Files) -> str:
        name = page.file.src_uri
        if page.present_anchor_ids is not None:
            # MkDocs looks for anchors in what Markdown makes, not in what a fence returns.
            page.present_anchor_ids |= self._anchors.get(name, set())
        self._check_all_rendered(page)
        return html

    @event_priority(100)  # before plugins that shrink or collect finished pages
    def on_post_page(self, output: str, *, page: Page, config: MkDocsConfig) -> str:
        """Figures go in last: no search index or other plugin has to read through them."""
        if "<!--builddoc " not in output:
            return output
        return _LATE.sub(lambda match: self._figure(match, page.url), output)

    def on_post_build(self, *, config: MkDocsConfig) -> None:
        if self._cache is not None:
            self._cache.evict()

    def on_serve(self, server: Any, *, config: MkDocsConfig, builder: Any) -> Any:
        self._server = server
        watched, self._watched = self._watched, set()
        for path in watched:
            self._watch(path)
        # The first save should not wait for the solver to load.
        threading.Thread(target=load_all, daemon=True).start()
        return server

    # ---- what the fence asks for
    def _set_aside(self, spot: Spot, made: Draft) -> str:
        """Keep a figure for later, and have its downloads written with the site."""
        self._late[spot.prefix] = (spot, made)
        if self.config.downloads and self._files is not None:
            for name, text in made.files.items():
                uri = _download(spot, name)
                if uri not in self._files.src_uris:
                    self._files.append(File.generated(self._mkdocs, uri, content=text))
        return f"<!--builddoc {spot.prefix}-->"

    def _figure(self, match: re.Match[str], url: str) -> str:
        """The figure that was set aside, as it stands on the page at `url` (its own, or one with an excerpt of it)."""
        if match[1] not in self._late:
            return match[0]
        spot, made = self._late[match[1]]
        files = self._files if self.config.downloads else None

        def link(name: str, text: str) -> str:
            file = files.src_uris.get(_download(spot, name)) if files is not None else None
            return get_relative_url(file.url, url) if file is not None else data_link(name, text)

        return figure(made, spot.prefix, link, self._site(spot, url))

    def _site(self, spot: Spot, url: str) -> Site:
        """Addresses of the site's own things, as seen from the page at `url`."""

        def address(uri: str) -> str:
            file = self._files.src_uris.get(uri) if self._files else None
            return get_relative_url(file.url, url) if file is not None else ""

        def rule_page(rule: str) -> str:
            return address(self._beside_reference(rule_path(rule))) if self.config.reference else ""

        def image(path: str) -> str:
            uri = posixpath.normpath(posixpath.join(posixpath.dirname(spot.page.name), path))
            if not address(uri):
                log.warning(f"{spot.path}:{spot.line}: picture '{path}' lies outside the docs folder [image-outside]")
            return address(uri) or path

        def row(page: str, number: int, name: str) -> str:
            prefix = Spot(PageOfText(page), number).prefix
            return f"{address(page)}#{prefix}-{name}" if name else f"{address(page)}#{prefix}"

        return Site(rule_page, image, row)

    def _note(self, spot: Spot, rendered: Rendered, included: list[Path]) -> None:
        name = spot.page.name
        self._anchors.setdefault(name, set()).update(rendered.ids)
        self._seen.setdefault((name, spot.word), set()).add(spot.number if spot.known else 0)
        for path in included:
            self._watch(str(path.resolve()))

    # ---- details
    def _solve_ahead(self, files: Files) -> None:
        """A page may refer to a circuit on another one: all are known before the first is solved."""
        assert self._cache is not None
        pages = [page_of_file(file) for file in files.documentation_pages()]
        written = [page for page in pages if "circuit" in page.source and page.name not in self._benches]
        entries = [e for page in written for e in registry_of(page).entries()]
        self._fence.registry = Registry(entries, taken=[taken for page in pages for taken in readings_on(page)])
        if self._cache.folder is None:
            return
        fences = (self._fence, *self._naming)
        jobs = {job.key: job for own in fences for page in pages for job in own.missing(page)}
        used = render_ahead(list(jobs.values()), self._cache.folder, self._fence.options)
        if used:
            log.info(f"{len(jobs)} blocks solved by {used} processes")

    def _watch(self, path: str) -> None:
        """An included circuit file, so that saving it rebuilds the site (below the docs folder MkDocs does so)."""
        if path in self._watched or not Path(path).is_file():
            return
        self._watched.add(path)
        if self._server is not None:
            self._server.watch(path)

    def _check_all_rendered(self, page: Page) -> None:
        """A block whose fence is not closed or whose header the host does not understand is shown as plain text and
        would be missed without a word."""
        try:
            source = page.file.content_string
        except Exception:  # no text of its own (a page that another plugin makes)
            return
        for word in (Fence.word, *NAMING):
            seen = self._seen.get((page.file.src_uri, word), set())
            if word not in source or 0 in seen:  # 0: another plugin changed the text, numbers say nothing
                continue
            for block in find_blocks(source, word):
                if block.number not in seen:
                    self._say_not_rendered(page, word, block.line, block.closed)

    def _say_not_rendered(self, page: Page, word: str, line: int, closed: bool) -> None:
        place = f"{shown(page.file.abs_src_path or page.file.src_uri)}:{line}"
        if closed:
            log.warning(f"{place}:1: this {word} block was not read: write the fence as ```{word} alone [fence-form]")
        else:
            log.warning(f"{place}:1: this {word} block is not closed: add a line of ``` below it [fence-open]")

    def _add_machines(self, files: Files, config: MkDocsConfig, name: str) -> None:
        registry = self._fence.registry
        known = {
            machine: [self._fence.revised(e, self._taken_on(e)) for e in revisions_in_order(registry, machine)]
            for machine in registry.machines()
        }
        pages = {name: index_markdown(known.items(), name)}
        for machine, revisions in known.items():
            page = f"{name.removesuffix('.md')}/{stem(machine)}.md"
            pages[page] = machine_markdown(machine, revisions, page)
        for page, text in pages.items():
            self._refuse_existing(files, config, "machines", page)
            files.append(File.generated(config, page, content=text))

    def _taken_on(self, entry: Entry) -> list[tuple[str, str]]:
        taken = self._fence.registry.taken(entry.head.machine, entry.head.revision)
        return [(block.head.date, block.page) for block in taken]

    def _refuse_existing(self, files: Files, config: MkDocsConfig, option: str, name: str) -> None:
        if files.get_file_from_path(name) is not None:
            raise PluginError(f"builddoc: option '{option}': {name} exists already in {config.docs_dir}")

    def _add_reference(self, files: Files, config: MkDocsConfig, name: str) -> None:
        """The page `name` and, beside it, a page for each kind of part and for each rule."""
        assert self._cache is not None
        for path, text in json.loads(self._cache.text("reference", _reference)).items():
            uri = name if path == "index.md" else self._beside_reference(path)
            self._refuse_existing(files, config, "reference", uri)
            self._benches.add(uri)
            files.append(File.generated(config, uri, content=text))

    def _beside_reference(self, path: str) -> str:
        return str(PurePosixPath(self.config.reference or "").parent / path)


def _download(spot: Spot, name: str) -> str:
    """Where a download lies on the site: in the folder of its page's name."""
    return f"{spot.page.name.removesuffix('.md')}/{spot.stem}-{name}"


def _reference() -> str:
    from .language.reference import reference_pages

    return json.dumps(reference_pages())


def _asset(kind: str, text: str) -> str:
    """Path with a content hash: a browser never shows a page with yesterday's style."""
    return f"assets/builddoc/builddoc.{hashlib.sha256(text.encode()).hexdigest()[:8]}.{kind}"


logging.getLogger("builddoc").addHandler(logging.NullHandler())
