"""From which signal word on a finding counts as a failure: shared by the terminal and the plugin."""

from __future__ import annotations

# Worst first. "error" = the text could not be understood or the program failed; findings alone never count.
LEVELS = ("error", "danger", "warning", "caution", "notice", "not-checked")


def counts(signal: str, fail_on: str) -> bool:
    """True if a finding with this signal word (or NOT CHECKED) is at or above the level `fail_on`."""
    return LEVELS.index(signal.lower().replace(" ", "-")) <= LEVELS.index(fail_on)
