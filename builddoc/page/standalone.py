"""A drawing as a file of its own: the page's colours are not there, so its style goes with it."""

from __future__ import annotations

from .draft import PREFIX

_NAMESPACE = 'xmlns="http://www.w3.org/2000/svg"'


def standalone_svg(svg: str) -> str:
    """The inline drawing with namespace, style (black on white) and ids of its own."""
    from .rendering import drawing_style

    head, mark, rest = svg.replace(PREFIX, "bd").partition(">")
    if _NAMESPACE not in head:
        head = head.replace("<svg", f"<svg {_NAMESPACE}", 1)
    style = f"<style>svg{{background:#fff;color:#1d1f23;font-family:sans-serif}}{drawing_style()}</style>"
    return f"{head}{mark}{style}{rest}\n"
