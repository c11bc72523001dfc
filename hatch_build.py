"""Build hook: compile the sampler's walk where a C compiler is at hand; without one the numpy walk serves."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

FLAGS = ["-O3", "-ffast-math", "-shared", "-fPIC"]


class CompileWalk(BuildHookInterface):  # type: ignore[type-arg]
    """Compiles `_chord.c` beside itself as `_chord.so`."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Compile before the package is put together (wheel and editable alike)."""
        here = Path(self.root) / "src" / "batchwright" / "original"
        compiler = os.environ.get("CC") or shutil.which("cc") or shutil.which("gcc") or shutil.which("clang")
        target = here / "_chord.so"
        if compiler is None or os.environ.get("BATCHWRIGHT_PLAIN"):
            target.unlink(missing_ok=True)
            return
        for extra in (["-march=native"], []):
            done = subprocess.run(
                [compiler, *FLAGS, *extra, "-o", str(target), str(here / "_chord.c"), "-lm"], check=False
            )
            if done.returncode == 0:
                build_data["pure_python"] = False
                build_data["infer_tag"] = True
                build_data.setdefault("artifacts", []).append("src/batchwright/original/_chord.so")
                return
        target.unlink(missing_ok=True)
