"""Help answers at once: no heavy library is imported before a command runs."""

import json
import subprocess
import sys

from roadwatch.cli import COMMANDS

HEAVY = {"pandas", "geopandas", "numpy", "scipy", "folium", "shapely", "pyproj", "pyogrio"}


def modules_after(code: str) -> set[str]:
    program = f"{code}\nimport sys, json\nprint(json.dumps(sorted(m.split('.')[0] for m in sys.modules)))"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    return set(json.loads(done.stdout.splitlines()[-1]))


def test_loading_every_command_imports_nothing_heavy():
    loads = "\n".join(f"load({name!r})" for name in COMMANDS)
    assert not HEAVY & modules_after(f"from roadwatch.cli import load\n{loads}")


def test_the_check_itself_would_see_a_heavy_library():
    assert "pandas" in modules_after("import pandas")
