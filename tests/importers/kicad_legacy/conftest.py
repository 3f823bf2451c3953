"""A project to draw in."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from _drawn import Project


@pytest.fixture
def project(tmp_path):
    return Project(tmp_path)
