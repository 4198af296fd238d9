"""The words of marked-up text; nothing of it is kept that a page would run."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roadwatch.records.readers.plain_text import is_markup, text_of_markup


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("<b>box turtle</b><br/>dead", "box turtle dead"),
        ("<table><tr><td>taxon</td><td>slider</td></tr></table>", "taxon slider"),
        ("fresh &amp; flat &#233;", "fresh & flat é"),
        ("<style>p {x}</style><p onclick='x()'>dead</p><script>alert('x')</script>", "dead"),
        ("<img src='http://example.org/x.png'>", None),
        ("<!-- hidden -->seen", "seen"),
        ("<![if !lists]><b>dead</b><![endif]>", "dead"),
        ("<b>dead</b> <![Cn[ x", "dead <![Cn[ x"),
        ("<b>dead</b> <![ 9]]>", "dead <![ 9]]>"),
    ],
)
def test_words_are_taken_out_of_marked_up_text(written, words):
    assert is_markup(written)
    assert text_of_markup(written) == words


@pytest.mark.parametrize("written", ["scute < 3 and > 2", "R&D", "a <3 b", "plain"])
def test_signs_that_people_write_are_no_markup(written):
    assert not is_markup(written)


def test_a_text_beyond_the_limit_stays_as_written():
    assert not is_markup("<b>" * 7_000)


@settings(max_examples=50, deadline=None)
@given(st.text(alphabet="<>/!-&;#ab[]'\" =", max_size=200))
def test_no_text_brings_a_traceback(text):
    words = text_of_markup(text)
    assert words is None or words == " ".join(words.split())
