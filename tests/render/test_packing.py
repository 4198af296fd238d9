import base64
import uuid

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from render.map_places import numbers_in

from roadwatch.render.packing import pack_codes, pack_numbers, steps_between, text_columns


@pytest.mark.parametrize(
    ("number", "raw"),
    [
        # Protocol Buffers' encoding guide: 0, -1, 1, -2 fold to 0, 1, 2, 3; 150 as an unsigned varint is 96 01.
        (0, b"\x00"),
        (-1, b"\x01"),
        (1, b"\x02"),
        (-2, b"\x03"),
        (75, b"\x96\x01"),
    ],
)
def test_numbers_are_written_as_the_published_examples(number, raw):
    assert base64.b64decode(pack_numbers(np.array([number]))) == raw


@given(st.lists(st.integers(-(2**40), 2**40)))
def test_numbers_read_back(numbers):
    assert numbers_in(pack_numbers(np.array(numbers, dtype=np.int64))) == numbers


def test_small_steps_take_one_byte():
    assert len(base64.b64decode(pack_numbers(np.array([63, -64] * 50)))) == 100
    assert len(base64.b64decode(pack_numbers(np.array([64, -65] * 50)))) == 200


def test_steps_count_from_the_place_before():
    points = np.array([[-82.0, 29.0], [-82.00001, 29.00002], [-81.5, 29.0]])
    assert steps_between(points).tolist() == [-8_200_000, 2_900_000, -1, 2, 50_001, -2]


@pytest.mark.parametrize(
    ("codes", "packed"),
    [
        ([4, 4, 4], 5),
        ([-1, -1], 0),
        ([0, 1, 2], ""),
        ([], ""),
        ([1, 0], "1" + base64.b64encode(b"\x02\x01").decode()),
        ([-1, 300], "2" + base64.b64encode(b"\x00\x00\x2d\x01").decode()),
        ([70_000, -1], "4" + base64.b64encode(b"\x71\x11\x01\x00\x00\x00\x00\x00").decode()),
    ],
)
def test_codes_are_as_short_as_they_go(codes, packed):
    assert pack_codes(np.array(codes, dtype=np.int64)) == packed


@pytest.mark.parametrize("n", [254, 255, 256, 65_534, 65_535, 65_536])
def test_codes_keep_their_number_at_the_edges_of_a_byte(n):
    codes = np.arange(n)[::-1]
    packed = pack_codes(codes)
    width = int(packed[0])
    raw = base64.b64decode(packed[1:])
    assert [int.from_bytes(raw[:width], "little"), int.from_bytes(raw[-width:], "little")] == [n, 1]
    assert len(raw) == n * width


def test_texts_are_told_once_in_the_order_in_which_they_come():
    table = pd.DataFrame({"a": ["x", None, "y", "x"], "n": [1.0, 2.0, np.nan, 1.0], "blank": [None] * 4})
    columns = text_columns(table, {"n": "Number", "a": "Letter", "blank": "Blank", "missing": "Missing"})
    assert [(one["key"], one["label"], one["texts"]) for one in columns] == [
        ("n", "Number", ["1", "2"]),
        ("a", "Letter", ["x", "y"]),
    ]
    raw = [base64.b64decode(one["codes"][1:]) for one in columns]
    assert raw == [b"\x01\x02\x00\x01", b"\x01\x00\x02\x01"]


def test_values_that_read_alike_share_their_text():
    table = pd.DataFrame({"id_confidence": [0.8, 0.8000001, "certain"]})
    assert text_columns(table, {"id_confidence": "Sureness"})[0]["texts"] == ["80 %", "certain"]


def test_uuids_are_their_sixteen_bytes():
    rng = np.random.default_rng(8)
    made = [uuid.UUID(bytes=rng.bytes(16), version=4) for _ in range(5)]
    column = text_columns(pd.DataFrame({"record_id": list(map(str, made))}), {"record_id": "Record"})[0]
    assert base64.b64decode(column["uuids"]) == b"".join(one.bytes for one in made)
    assert "texts" not in column


@pytest.mark.parametrize("other", ["R1", "6F9619FF-8B86-D011-B42D-00C04FC964FF", "6f9619ff8b86d011b42d00c04fc964ff"])
def test_names_that_are_not_all_uuids_stay_as_they_were_written(other):
    table = pd.DataFrame({"record_id": ["6f9619ff-8b86-d011-b42d-00c04fc964ff", other]})
    assert text_columns(table, {"record_id": "Record"})[0]["texts"] == table["record_id"].tolist()
