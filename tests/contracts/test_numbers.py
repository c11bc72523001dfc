"""Loading the program changes nothing in how the whole process reckons."""

from __future__ import annotations

import subprocess
import sys


def test_the_smallest_numbers_stay() -> None:
    """A library linked for fast arithmetic would make every subnormal number of the process 0."""
    program = (
        "from batchwright.actions.original import decode_file\n"
        "decode_file('Ingredients: sugar, wheat flour, palm oil, salt')\n"
        "print(5e-324 * 1.0 > 0)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "True"
