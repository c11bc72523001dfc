"""Where a skip must be a failure, it is one."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

CONFTEST = Path(__file__).parents[1] / "conftest.py"
SKIPPING = {
    "in_a_test": "import pytest\ndef test_it():\n    pytest.skip('no oven')\n",
    "by_a_mark": "import pytest\n@pytest.mark.skip(reason='no oven')\ndef test_it():\n    pass\n",
    "whole_module": "import pytest\npytest.skip('no oven', allow_module_level=True)\n",
}


@pytest.mark.parametrize("strict", [True, False])
def test_skip(strict: bool, tmp_path: Path) -> None:
    (tmp_path / "conftest.py").write_text(CONFTEST.read_text())
    (tmp_path / "test_kept.py").write_text("def test_kept():\n    pass\n")
    for kind, text in SKIPPING.items():
        (tmp_path / f"test_{kind}.py").write_text(text)
    env = {**os.environ, "BATCHWRIGHT_SKIP_IS_FAILURE": "1" if strict else "0"}
    options = ["-q", "-r", "s", "-p", "no:cacheprovider", "--continue-on-collection-errors"]
    command = [sys.executable, "-m", "pytest", *options, str(tmp_path)]
    done = subprocess.run(command, env=env, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.stdout.count("no oven") >= len(SKIPPING)
    assert ("1 failed, 1 passed, 2 errors" if strict else "1 passed, 3 skipped") in done.stdout
    assert (done.returncode == 0) == (not strict), done.stdout
