"""Keep what a compiled solver prints out of the output of a command."""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager

_STDOUT, _STDERR = 1, 2


@contextmanager
def solver_chatter_to_stderr() -> Iterator[None]:
    """Send file descriptor 1 to 2 meanwhile.

    The MIP solver writes a debugging line to the C library's standard output now and then,
    past every Python stream; a JSON document on stdout must be that and nothing else.
    """
    libc = ctypes.CDLL(None)
    sys.stdout.flush()
    libc.fflush(None)
    held = os.dup(_STDOUT)
    os.dup2(_STDERR, _STDOUT)
    try:
        yield
    finally:
        # The C library may hold the line back until its buffer is full.
        libc.fflush(None)
        os.dup2(held, _STDOUT)
        os.close(held)
