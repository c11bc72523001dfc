"""Build hook: compile the sampler's walk where a C compiler is at hand; without one the numpy walk serves."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

# Compiled and linked apart: a linker told of -ffast-math makes the whole process treat the smallest numbers as 0.
COMPILE = ["-O3", "-ffast-math", "-fPIC", "-c"]


class CompileWalk(BuildHookInterface):  # type: ignore[type-arg]
    """Compiles `_chord.c` beside itself as `_chord.so`."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Compile before the package is put together (wheel and editable alike)."""
        here = Path(self.root) / "src" / "batchwright" / "original" / "sampling"
        compiler = os.environ.get("CC") or shutil.which("cc") or shutil.which("gcc") or shutil.which("clang")
        target = here / "_chord.so"
        if compiler is None or os.environ.get("BATCHWRIGHT_PLAIN"):
            target.unlink(missing_ok=True)
            return
        for extra in (["-march=native"], []):
            if _built(compiler, extra, here / "_chord.c", target):
                build_data["pure_python"] = False
                build_data["infer_tag"] = True
                build_data.setdefault("artifacts", []).append("src/batchwright/original/sampling/_chord.so")
                return
        target.unlink(missing_ok=True)


def _built(compiler: str, extra: list[str], source: Path, target: Path) -> bool:
    """Compile and link; say whether it went well."""
    with TemporaryDirectory() as folder:
        compiled = str(Path(folder) / "_chord.o")
        steps = ([*COMPILE, *extra, "-o", compiled, str(source)], ["-shared", "-o", str(target), compiled, "-lm"])
        return all(subprocess.run([compiler, *step], check=False).returncode == 0 for step in steps)
