"""One thread for the linear algebra library while a network is solved.

The systems are small (30 to 200 unknowns): a second thread never makes them faster, and on a busy machine the threads
wait for each other. Measured with two other processes on two cores: a chain of 100 elements takes 0.3-1.5 s with two
threads, 0.05 s with one; 8 states of 30 parts take the same time either way. An environment variable would have to be
set before numpy is first imported, which a library cannot know; `threadpoolctl` sets the number at run time and
restores it afterwards, for every BLAS that numpy and scipy are built with.
"""

from __future__ import annotations

import sys
from contextlib import AbstractContextManager
from functools import lru_cache
from typing import Any


def single_thread() -> AbstractContextManager[Any]:
    """A context with one BLAS thread."""
    limiter: AbstractContextManager[Any] = _controller("scipy.linalg" in sys.modules).limit(limits=1, user_api="blas")
    return limiter


@lru_cache(maxsize=2)
def _controller(with_scipy: bool) -> Any:  # scipy brings a library of its own: look again once it is loaded
    from threadpoolctl import ThreadpoolController

    return ThreadpoolController()
