"""Lines that compiled code prints by itself stay off standard output."""

import ctypes
import subprocess
import sys

import pytest

from roadwatch.siting.quiet_solver import quiet_output

PRINTS = """
import ctypes
from roadwatch.siting.quiet_solver import quiet_output
libc = ctypes.CDLL(None)
libc.printf(b"before\\n")
with quiet_output():
    libc.printf(b"noise of a solver\\n")
libc.printf(b"after\\n")
libc.fflush(None)
"""


def test_what_a_compiled_solver_prints_is_dropped_and_the_rest_kept():
    done = subprocess.run([sys.executable, "-c", PRINTS], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["before", "after"]


def test_a_fault_inside_passes_through_and_output_comes_back(capfd):
    with pytest.raises(ValueError, match="as it was"), quiet_output():
        raise ValueError("as it was")
    ctypes.CDLL(None).printf(b"heard\n")
    ctypes.CDLL(None).fflush(None)
    assert capfd.readouterr().out == "heard\n"


def test_without_standard_output_the_work_is_still_done():
    code = "import os\nos.close(1)\nfrom roadwatch.siting.quiet_solver import quiet_output\n"
    code += "with quiet_output():\n    done = 1\nimport sys\nsys.stderr.write(str(done))\n"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stderr == "1"
