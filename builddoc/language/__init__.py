"""Text of a circuit -> plain data, with every error at its line and column. See `read`."""

from .read import Reading, read

__all__ = ["Reading", "read"]
