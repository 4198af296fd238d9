"""Bytes become text: byte-order marks, UTF-8, UTF-16, then the Western code page, each said in a note."""

from __future__ import annotations

from dataclasses import dataclass

from roadwatch.records.readers.wording import unfit

_BOMS: tuple[tuple[bytes, str, str], ...] = (
    (b"\xef\xbb\xbf", "utf-8-sig", "UTF-8 with a byte-order mark"),
    (b"\xff\xfe", "utf-16", "UTF-16"),
    (b"\xfe\xff", "utf-16", "UTF-16"),
)
_ODD_CONTROLS = {code: None for code in range(32) if code not in (0, 9, 10, 11, 12, 13, 26, 27)}
_LARGEST_SHARE_OF_CONTROLS = 0.001
"""A convention of our own (no source): more control characters than this is not text."""


@dataclass(frozen=True)
class DecodedText:
    """The text of a file and the name of the encoding it was read by."""

    text: str
    encoding: str


def decode_text(body: bytes, *, source: str) -> DecodedText:
    """
    Decode the bytes of a text file.

    Raises
    ------
    UnfitFileError
        The bytes are no text in UTF-8, UTF-16 or code page 1252.
    """
    decoded = _by_mark(body, source=source) or _without_mark(body, source=source)
    n_controls = len(decoded.text) - len(decoded.text.translate(_ODD_CONTROLS))
    if n_controls > max(2, _LARGEST_SHARE_OF_CONTROLS * len(decoded.text)):
        raise _not_text(source, "bytes that are not text")
    if not decoded.text.strip("\x00\x1a \t\r\n\f\ufeff"):
        raise unfit(source, found="only blanks", expected="a table with a header", cure="export or copy the file again")
    return decoded


def _by_mark(body: bytes, *, source: str) -> DecodedText | None:
    for mark, codec, name in _BOMS:
        if body.startswith(mark):
            try:
                return DecodedText(body.decode(codec), name)
            except UnicodeDecodeError as error:
                raise _not_text(source, f"the mark of {name} but broken characters after it") from error
    return None


def _without_mark(body: bytes, *, source: str) -> DecodedText:
    for codec, name in (
        *_unmarked_utf16(body),
        ("utf-8", "UTF-8"),
        ("cp1252", "Windows code page 1252, because it is not valid UTF-8; look at accented letters"),
    ):
        try:
            return DecodedText(body.decode(codec), name)
        except UnicodeDecodeError:
            continue
    raise _not_text(source, "bytes that are not text")


def _unmarked_utf16(body: bytes) -> tuple[tuple[str, str], ...]:
    """Latin text in UTF-16 has a zero as every second byte."""
    sample = body[:2000]
    half = len(sample) // 2
    if half and sample[1::2].count(0) > 0.8 * half:
        return (("utf-16-le", "UTF-16 without a byte-order mark"),)
    if half and sample[0::2].count(0) > 0.8 * half:
        return (("utf-16-be", "UTF-16 without a byte-order mark"),)
    return ()


def _not_text(source: str, found: str) -> Exception:
    return unfit(source, found=found, expected="text in UTF-8, UTF-16 or code page 1252", cure="save it as CSV (UTF-8)")
