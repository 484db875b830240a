"""A picture with numbered call-outs as HTML, and a list that gives each its pressure and rating."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import imagesize

from ..language.talk import suggestion
from ..messages import Message
from .draft import PREFIX, Draft, image_mark, message_to_block, row_mark
from .environment import fill
from .figure import Anchors, right_aligned
from .named import named_circuit
from .rows import merged_report, rows_html

if TYPE_CHECKING:
    from ..history.registry import Entry
    from ..language.photos import Photos
    from ..pipeline import Solved

PICTURES = {".png", ".jpg", ".jpeg", ".webp", ".gif", ".svg", ".avif"}


def photos_draft(text: str, path: str, entries: Sequence[Entry]) -> Draft:
    """The block as a draft, as `rendering.draft` gives one. path: of its page; the picture is looked for beside it.
    entries: all revisions of its machine."""
    from ..language.photos import read_photos

    wanted, messages = read_photos(text, path)
    solved = None
    if wanted is not None:
        solved, trouble = named_circuit(wanted.machine, wanted.revision, wanted.places["machine"], path, entries)
        messages += [m for m in (trouble, _no_picture(wanted, path)) if m is not None]
        messages += _unknown(wanted, solved) if solved is not None else []
    said = tuple(message_to_block(m, path) for m in messages)
    if wanted is None or solved is None or any(m.level == "error" for m in said):
        return Draft(messages=said, text=text)
    html, ids = _figure(wanted, solved, path, entries)
    digest = fill("words.html", text=f"{wanted.title or wanted.machine}: {wanted.alt}")
    return Draft(html=html, digest=f"<p>{digest}</p>", ids=ids, messages=said, text=text)


def picture_of(image: str, path: str) -> Path:
    """The file of a picture that a page names."""
    return Path(path).parent / image


def _no_picture(wanted: Photos, path: str) -> Message | None:
    """What is wrong with the picture's name."""
    file, place = picture_of(wanted.image, path), wanted.places["image"]
    if "://" in wanted.image or wanted.image.startswith(("/", "data:")):
        hint = "put the picture beside the page and give its path from there"
        return Message("image-foreign", f"'{wanted.image}' is not a file of this site", place, hint)
    if file.suffix.lower() not in PICTURES:
        return Message("image-form", f"'{wanted.image}' is no picture", place, "one of: " + ", ".join(sorted(PICTURES)))
    if file.is_file():
        return None
    beside = file.parent.iterdir() if file.parent.is_dir() else ()
    stem = wanted.image.rpartition("/")[0]
    known = sorted(f"{stem}/{f.name}".lstrip("/") for f in beside if f.suffix.lower() in PICTURES)
    hint = suggestion(wanted.image, known, "pictures there") if known else "its path counts from the page's own folder"
    return Message("image-missing", f"there is no picture '{wanted.image}'", place, hint)


def _unknown(wanted: Photos, solved: Solved) -> list[Message]:
    """Call-outs and states that the circuit does not have."""
    from ..report.called import names, subject

    assert solved.case is not None
    found = []
    for one in wanted.call_outs:
        if not subject(one.shows, solved.case):
            what = f"there is no part or line '{one.shows}'"
            hint = suggestion(one.shows, names(solved.case), "there is")
            found.append(Message("shows-unknown", what, one.place, hint))
    states = list(solved.case.results.states)
    if wanted.state and wanted.state not in states:
        what = f"there is no state '{wanted.state}'"
        hint = suggestion(wanted.state, states, "states")
        found.append(Message("state-unknown", what, wanted.places["state"], hint))
    return found


def _figure(wanted: Photos, solved: Solved, path: str, entries: Sequence[Entry]) -> tuple[str, tuple[str, ...]]:
    from ..report.called import Called, called_by_state, called_table, look_alikes, subject

    assert solved.case is not None and solved.circuit is not None and solved.report is not None
    case, circuit = solved.case, solved.circuit
    called = [Called(one.shows, one.note) for one in wanted.call_outs]
    shown = solved.report.shown_state
    state = wanted.state or (shown if shown in circuit.states else next(iter(circuit.states)))
    listed, every = called_table(case, called, state), called_by_state(case, called)
    width, height = imagesize.get(str(picture_of(wanted.image, path)))
    numbers = range(1, len(called) + 1)
    ids = {(listed.key, n - 1): f"{PREFIX}-c{n}" for n in numbers}
    at = next((e for e in entries if e.head.revision == circuit.revision and e.page), None)
    rows = _rows_on_page(solved)

    def lead(name: str) -> str:
        return row_mark(at.page, at.number, rows.get(name, "")) if at else ""

    html = fill(
        "photos.html",
        p=PREFIX,
        wanted=wanted,
        circuit=circuit,
        state=state,
        title=wanted.title or f"{circuit.title or circuit.machine}, revision {circuit.revision}",
        src=image_mark(wanted.image),
        size=(int(width), int(height)) if width > 0 and height > 0 else None,
        marks=[(n, one, subject(one.shows, case)) for n, one in zip(numbers, wanted.call_outs, strict=True)],
        alike=look_alikes(case, called),
        listed=listed,
        listed_right=right_aligned(listed),
        listed_rows=rows_html(listed, right_aligned(listed), ids, lead=lead),
        every=every,
        every_right=right_aligned(every),
        every_rows=rows_html(every, right_aligned(every), {}),
    )
    return html, tuple(f"c{n}" for n in numbers)


def _rows_on_page(solved: Solved) -> dict[str, str]:
    """Part or line -> anchor (without prefix) of its row in the figure of the circuit itself."""
    assert solved.report is not None
    report = merged_report(solved.report)
    anchors = Anchors("", report)
    found: dict[str, str] = {}
    for key in ("lines", "parts"):
        for table in report.tables:
            if table.key != key or key in report.hidden:
                continue
            for n, row in enumerate(table.rows):
                if (key, n) in anchors.rows:
                    found.setdefault(row[0].subject, anchors.rows[key, n].removeprefix("-"))
    return found
