"""Every example in a docstring runs."""

import doctest
import importlib
import pkgutil

import pytest

import ohmtrail.cli
import ohmtrail.importers
import ohmtrail.netanalysis

# Not ohmtrail.__path__: in a checkout the sub-packages are not inside it.
NAMES = sorted(
    info.name
    for package in (ohmtrail.cli, ohmtrail.importers, ohmtrail.netanalysis)
    for info in pkgutil.walk_packages(package.__path__, f"{package.__name__}.")
)


def test_names_are_complete():
    assert "ohmtrail.importers._errors" in NAMES
    assert "ohmtrail.netanalysis.recognise" in NAMES


@pytest.mark.parametrize("name", NAMES)
def test_doctest(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0
