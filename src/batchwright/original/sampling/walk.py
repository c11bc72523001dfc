"""The compiled walk along chords (`_chord.c`), where the machine that installed Batchwright has a C compiler."""

from __future__ import annotations

import ctypes
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from batchwright.original.sampling.ground import Ground

LIBRARY = Path(__file__).with_name("_chord.so")
MOST = {"leaves": 640, "parts": 24, "panel": 96}  # what the compiled walk holds room for
OUTSIDE = -1e300  # what the library returns for minus infinity
_DOUBLES = ctypes.POINTER(ctypes.c_double)
_INTS = ctypes.POINTER(ctypes.c_int)
_COUNTS = ("n", "m", "k", "g", "c", "soft")
_ARRAYS = (
    ("part", _INTS), ("mu", _DOUBLES), ("isd", _DOUBLES), ("nu", None), ("ninv", None),
    ("a", _DOUBLES), ("b", _DOUBLES),
    ("lo", _DOUBLES), ("hi", _DOUBLES), ("rowparts", _INTS), ("mac", _INTS), ("macfactor", _DOUBLES),
    ("isenergy", _INTS), ("G", _DOUBLES), ("h", _DOUBLES), ("Cx", _DOUBLES), ("ch", _DOUBLES), ("w", _DOUBLES),
    ("lmax", _DOUBLES), ("p0", _DOUBLES), ("lm", _DOUBLES), ("ls", _DOUBLES), ("uw", _DOUBLES), ("lnorm", _DOUBLES),
)  # fmt: skip


class _Task(ctypes.Structure):
    _fields_ = [(name, ctypes.c_int) for name in _COUNTS] + [(name, kind or ctypes.c_double) for name, kind in _ARRAYS]


@cache
def library() -> Any:
    """Return the compiled library, or None where none was built."""
    if not LIBRARY.exists():
        return None
    try:
        found = ctypes.CDLL(str(LIBRARY))
    except OSError:
        return None
    found.chord_density.restype = ctypes.c_double
    found.chord_density.argtypes = [ctypes.POINTER(_Task), _DOUBLES]
    found.chord_walk.restype = ctypes.c_long
    found.chord_walk.argtypes = [ctypes.POINTER(_Task), _DOUBLES, _DOUBLES, ctypes.c_int, ctypes.c_int, ctypes.c_int,
                                 ctypes.c_uint64, _DOUBLES, _DOUBLES]  # fmt: skip
    return found


class CompiledWalk:
    """The ground handed to the compiled library; keeps the arrays alive that it points to."""

    chains = 4

    def __init__(self, ground: Ground) -> None:
        self.ground = ground
        self._kept: dict[str, NDArray[Any]] = {}
        values: dict[str, Any] = {name: getattr(ground, name) for name in _COUNTS}
        for name, kind in _ARRAYS:
            if kind is None:
                values[name] = getattr(ground, name)
                continue
            dtype = np.int32 if kind is _INTS else np.float64
            array = np.ascontiguousarray(getattr(ground, name), dtype=dtype)
            if array.size == 0:
                array = np.zeros(1, dtype=dtype)
            self._kept[name] = array
            values[name] = array.ctypes.data_as(kind)
        self._task = _Task(**values)

    def density(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the log density (c,) of points (c, n + m)."""
        call, held = library().chord_density, np.ascontiguousarray(points)
        found = np.array([call(ctypes.byref(self._task), row.ctypes.data_as(_DOUBLES)) for row in held])
        return np.where(found > OUTSIDE, found, -np.inf)

    def walk(
        self, points: NDArray[np.float64], directions: NDArray[np.float64], steps: int, thin: int, seed: int
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Walk every point (c, n + m); return where they end and the kept states (c, steps / thin, n + m)."""
        r = self.ground
        ends, ways = np.array(points, order="C"), np.ascontiguousarray(directions)
        kept = np.empty((len(ends), steps // thin, r.n + r.m))
        scratch = np.empty(len(ways) * (2 * r.k + r.g) + r.g + 1)
        for chain in range(len(ends)):
            end, out = (array[chain].ctypes.data_as(_DOUBLES) for array in (ends, kept))
            way, work = (array.ctypes.data_as(_DOUBLES) for array in (ways, scratch))
            start = (seed + 7919 * chain) % 2**64
            library().chord_walk(ctypes.byref(self._task), end, way, len(ways), steps, thin, start, work, out)
        return ends, kept
