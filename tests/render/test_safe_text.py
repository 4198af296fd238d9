import html
import json
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markupsafe import Markup

from roadwatch.render.safe_text import data_block, fill, joined, plain, safe_html


def read_block(block):
    return json.loads(re.fullmatch(r'<script type="application/json" id="d">(.*)</script>', block, flags=re.DOTALL)[1])


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        (None, ""),
        (float("nan"), ""),
        (7, "7"),
        ("a\x00b", "a\ufffdb"),
        ("a\x85b", "a\ufffdb"),
        ("\u202egpj.exe", "\ufffdgpj.exe"),  # would turn the order of the letters after it
        ("half \ud83d pair", "half \ufffd pair"),
        ("line\r\nline\rline\ttab", "line\nline\nline\ttab"),
        ("🐢 Schildkröte", "🐢 Schildkröte"),
    ],
)
def test_text_is_made_showable(text, shown):
    assert plain(text) == shown


def test_the_five_characters_of_html_are_escaped():
    # HTML Living Standard 13.2.5: & < > and both quotes are what can leave text or a quoted attribute.
    assert safe_html("&<>\"'") == "&amp;&lt;&gt;&#34;&#39;"


@given(st.text())
def test_escaped_html_reads_back_as_the_text(text):
    # html.unescape of the standard library is the outside judge.
    escaped = safe_html(text)
    assert not set(str(escaped)) & set("<>\"'")
    assert html.unescape(str(escaped)) == plain(text)


def test_html_of_our_own_is_not_escaped_twice():
    assert safe_html(fill("<b>{x}</b>", x="<")) == "<b>&lt;</b>"


def test_a_template_is_never_filled_with_the_text_of_a_text():
    assert fill("{a}{b}", a="{b}", b="<x>") == "{b}&lt;x&gt;"


def test_pieces_are_joined_and_stray_text_among_them_is_escaped():
    assert joined([Markup("<i>"), "<i>"]) == "<i>\n&lt;i&gt;"


@given(st.recursive(st.none() | st.booleans() | st.integers() | st.text(), st.lists))
def test_a_data_block_reads_back_and_cannot_end_early(data):
    block = str(data_block(data, element_id="d"))
    body = block.removeprefix('<script type="application/json" id="d">').removesuffix("</script>")
    assert not set(body) & set("<>&\u2028\u2029")

    def shown(value):
        return (
            [shown(item) for item in value]
            if isinstance(value, list)
            else plain(value)
            if isinstance(value, str)
            else value
        )

    assert read_block(block) == shown(data)


def test_a_data_block_escapes_keys_too():
    assert read_block(str(data_block({"</script>": 1}, element_id="d"))) == {"</script>": 1}
    assert str(data_block({"</script>": 1}, element_id="d")).count("</script>") == 1


def test_a_number_that_is_none_is_refused_in_data():
    with pytest.raises(ValueError, match="Out of range float values"):
        data_block([float("nan")], element_id="d")
