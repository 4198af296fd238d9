"""The faults a user can meet, each with its exit code and a message that names the cure."""

from __future__ import annotations


class RoadwatchError(Exception):
    """
    A fault told in one line: where, what was found, what is expected, what to do.

    Parameters
    ----------
    message
        The whole line, such as ``crossings.csv, line 3: latitude 'N45.1' is not a number; write decimal degrees``.
    """

    exit_code = 1


class UsageError(RoadwatchError):
    """The command was called wrongly, or a file that it names does not exist."""

    exit_code = 2


class UnfitFileError(RoadwatchError):
    """A file or layer cannot be used: empty, cut short, of the wrong kind, or without a reference system."""

    exit_code = 4


class NotEnoughDataError(RoadwatchError):
    """The question cannot be answered from what the season holds; the message says what is missing."""

    exit_code = 5


SOME_ROWS_HELD_BACK = 3
"""Exit code when the good rows were stored and others were held back with their reasons."""
