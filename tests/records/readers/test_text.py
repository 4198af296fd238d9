"""Encodings: each is found and named."""

import pytest

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers.text import decode_text

TEXT = "observer;notes\nZoë;à côté de l'étang\n"


@pytest.mark.parametrize(
    ("encoding", "said"),
    [
        ("utf-8", "UTF-8"),
        ("utf-8-sig", "UTF-8 with a byte-order mark"),
        ("utf-16", "UTF-16"),
        ("utf-16-le", "UTF-16 without a byte-order mark"),
        ("utf-16-be", "UTF-16 without a byte-order mark"),
        ("cp1252", "Windows code page 1252"),
    ],
)
def test_the_same_text_comes_out_of_every_encoding(encoding, said):
    decoded = decode_text(TEXT.encode(encoding), source="a.csv")
    assert decoded.text == TEXT
    assert decoded.encoding.startswith(said)


def test_a_big_endian_mark_is_understood():
    assert decode_text(b"\xfe\xff" + TEXT.encode("utf-16-be"), source="a.csv").text == TEXT


def test_an_emoji_in_utf8_survives():
    assert decode_text("notes\n🐢\n".encode(), source="a.csv").text == "notes\n🐢\n"


def test_a_byte_order_mark_over_broken_characters_is_refused_with_the_place():
    with pytest.raises(UnfitFileError, match="the mark of UTF-8 with a byte-order mark but broken characters after it"):
        decode_text(b"\xef\xbb\xbftaxa\xff\xfe", source="a.csv")


@pytest.mark.parametrize("body", [bytes(range(1, 32)) * 4, b"\x81\x8d\x8f taxon"])
def test_bytes_that_are_no_text_are_refused(body):
    with pytest.raises(UnfitFileError, match="bytes that are not text"):
        decode_text(body, source="a.csv")


@pytest.mark.parametrize("body", [b" \n\t\n", b"\x00\x00", b"\xef\xbb\xbf\r\n"])
def test_a_file_of_blanks_is_refused(body):
    with pytest.raises(UnfitFileError, match="found only blanks"):
        decode_text(body, source="a.csv")
