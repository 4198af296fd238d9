"""Files made to hurt the machine are refused in one line, without filling the memory; a bench has the times."""

import re
import resource
from pathlib import Path

import pytest
from records.readers.hostile_files import FEATURES, HOSTILE

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers import limits, read_file
from roadwatch.records.readers.content import refuse_endless_line

MB = 1_000_000


@pytest.mark.parametrize("case", HOSTILE)
def test_a_file_made_to_hurt_is_refused_in_little_memory(make_file, case):
    name, make = HOSTILE[case]
    path = make_file(name, make())
    before_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(UnfitFileError, match=rf"^{re.escape(name)}.*: found .+, expected .+; .+") as refusal:
        read_file(path)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before_kb < 500_000
    assert "\n" not in str(refusal.value)


@pytest.fixture
def sparse(tmp_path):
    """A file of zeros that takes no space, with a beginning."""

    def make(name, beginning, n_bytes):
        path = tmp_path / name
        path.write_bytes(beginning)
        with path.open("r+b") as stream:
            stream.truncate(n_bytes)
        return path

    return make


def test_a_line_of_200_mb_is_refused_before_it_is_taken_into_memory(sparse):
    path = sparse("a.csv", b"taxon,count\n" + b"wood turtle," * 1000, 200 * MB)
    before_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(UnfitFileError, match=r"a.csv: found a line of more than 5000000 characters"):
        read_file(path)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before_kb < 50_000


@pytest.mark.parametrize(
    ("name", "beginning", "most"),
    [("a.geojson", FEATURES, "100 MB"), ("a.gpx", b"<gpx>", "50 MB"), ("a.kml", b"<kml>", "50 MB")],
)
def test_formats_taken_in_whole_have_a_size_that_is_named(sparse, name, beginning, most):
    with pytest.raises(UnfitFileError, match=f"{name}: found 200 MB, expected at most {most}"):
        read_file(sparse(name, beginning, 200 * MB))


@pytest.mark.parametrize("end", ["\n", "\r", "\r\n"])
def test_long_files_of_short_lines_are_no_long_lines(make_file, end):
    path = make_file("a.csv", f"a,b{end}" * 2_000_000)
    assert refuse_endless_line(path) is None


def test_a_long_track_as_text_is_no_endless_line(make_file):
    """200,000 points of 24 characters, the reason that the limit gives."""
    assert refuse_endless_line(make_file("a.csv", "-82.372512 29.651234, " * 200_000 + "\n")) is None


def test_every_limit_is_told_with_its_reason():
    source = Path(limits.__file__).read_text(encoding="utf-8")
    names = re.findall(r"^([A-Z][A-Z_]+) = ", source, flags=re.MULTILINE)
    assert len(names) > 20
    for name in names:
        assert re.search(rf'^{name} = .+\n"""', source, flags=re.MULTILINE), name
