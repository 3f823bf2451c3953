"""The bench lies beside the package, in ``benchmarks/``; it needs ngspice's library."""

import ctypes
import ctypes.util
import sys
from pathlib import Path

import pytest
from _oracles import absent

sys.path.append(str(Path(__file__).resolve().parents[2] / "benchmarks"))


@pytest.fixture(scope="session", autouse=True)
def ngspice():
    try:
        ctypes.CDLL(ctypes.util.find_library("ngspice") or "libngspice.so.0")
    except OSError:
        absent("no ngspice library (Debian: libngspice0)")
