"""Figures and claims in prose for any Python-Markdown host: code spans that begin with `figure:` or `claim:`.

    markdown.markdown(text, extensions=["pymdownx.superfences", "builddoc.inline"], extension_configs=…)

Where no builddoc runs, they stay legible as code.
"""

from __future__ import annotations

import logging
import re
import xml.etree.ElementTree as etree
from typing import TYPE_CHECKING, Any

from markdown import Markdown
from markdown.extensions import Extension
from markdown.inlinepatterns import InlineProcessor
from markdown.util import AtomicString

from .history.claims import SPAN, Answer, Span, answer, find_spans, tidy
from .history.journal import complaint

if TYPE_CHECKING:
    from .fence import Fence, Page

log = logging.getLogger("builddoc")
PRIORITY = 195  # before code spans, which have 190


class InlineExtension(Extension):
    """fence: the one that formats the circuits of the same pages; left out, the common one of `builddoc.fence`."""

    def __init__(self, fence: Fence | None = None, **kwargs: Any):
        self._fence = fence
        super().__init__(**kwargs)

    def extendMarkdown(self, md: Markdown) -> None:
        from . import fence

        md.inlinePatterns.register(_Spans(self._fence or fence.common(), md), "builddoc", PRIORITY)


class _Spans(InlineProcessor):
    def __init__(self, fence: Fence, md: Markdown):
        super().__init__(SPAN.pattern, md)
        self._fence = fence

    def handleMatch(self, m: re.Match[str], data: str) -> tuple[etree.Element | str | None, int | None, int | None]:
        kind, words = m["kind"], tidy(m["words"])
        try:
            element = self._element(kind, words)
        except Exception as error:  # a fault of ours must not pass unseen, nor take the page down
            log.debug("fault in a figure or claim", exc_info=True)
            element = _html(Answer(kind, None, words, f"builddoc itself failed on it ({type(error).__name__})"))
            self._fence.report(_fault(error, words))
        return element, m.start(0), m.end(0)

    def _element(self, kind: str, words: str) -> etree.Element:
        from .fence import page_of

        page = page_of(self.md)
        said = answer(kind, words, self._fence.journal(page, self.md))
        for span in _places(page, kind, words):
            message = complaint(span, said, page.path)
            if message is not None:
                self._fence.report(message)
        return _html(said)


def _fault(error: Exception, words: str) -> Any:
    from .page.rendering import fault

    message = fault(error)
    return type(message)(message.code, f"{message.text}: {words}", None, message.hint, "warning")


def _places(page: Page, kind: str, words: str) -> list[Span]:
    """Wherever the page says this; line 0 where it is not known."""
    found = [s for s in find_spans(page.source) if (s.kind, s.words) == (kind, words)] if page.source else []
    return found or [Span(kind, words, 0, 0)]


def _html(said: Answer) -> etree.Element:
    """A figure; a claim with a mark and the figure behind it; or in strong words that it is false or has no answer."""
    if said.holds is None:
        element = etree.Element("strong", {"class": "bd-claim bd-false", "title": said.hint})
        element.text = AtomicString(f"NO ANSWER: {said.kind}: {said.text} ({said.detail})")
    elif said.kind == "figure":
        element = etree.Element("span", {"class": "bd-value", "title": said.detail})
        element.text = AtomicString(said.text)
    elif said.holds:
        element = etree.Element("span", {"class": "bd-claim", "title": "checked when this page was built"})
        element.text = AtomicString(f"{said.text} ✓ ({said.detail})")
    else:
        element = etree.Element("strong", {"class": "bd-claim bd-false"})
        element.text = AtomicString(f"FALSE: {said.text} – it is {said.detail}")
    return element


def makeExtension(**kwargs: Any) -> InlineExtension:
    """What Python-Markdown calls for the extension's name."""
    return InlineExtension(**kwargs)
