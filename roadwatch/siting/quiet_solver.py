"""Keep a compiled solver's own lines off standard output, where they would spoil a result that is read by programs."""

from __future__ import annotations

import contextlib
import ctypes
import os
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

STANDARD_OUTPUT = 1


@contextlib.contextmanager
def quiet_output() -> Iterator[None]:
    """
    Send what compiled code prints meanwhile nowhere; what Python prints is left alone where it has its own stream.

    HiGHS 1.x prints a line of its own each time it repairs a solution, whatever it is asked.
    """
    try:
        kept = os.dup(STANDARD_OUTPUT)
    except OSError:  # no standard output: nothing to keep clean
        yield
        return
    _flush()
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, STANDARD_OUTPUT)
    os.close(nowhere)
    try:
        yield
    finally:
        _flush()
        os.dup2(kept, STANDARD_OUTPUT)
        os.close(kept)


def _flush() -> None:
    """Empty the buffers of the C library, which outlast a change of the descriptor."""
    with contextlib.suppress(OSError, AttributeError, TypeError):
        ctypes.CDLL(None).fflush(None)
