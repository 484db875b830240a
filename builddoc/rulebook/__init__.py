"""What a rule is, for readers: harm, criterion, remedy, source, severity, and circuits that it is tried on."""

from .cases import Outcome, every_rule, outcomes
from .pages import rules_pages
from .text import SEVERITY, explained, tallied

__all__ = ["SEVERITY", "Outcome", "every_rule", "explained", "outcomes", "rules_pages", "tallied"]
