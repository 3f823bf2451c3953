"""docs/formats.md says of each built-in format what its importer says."""

import re
from importlib import import_module

import pytest
from _oracles import ROOT, absent

from ohmtrail.importers._registry import BUILT_IN

PAGE = ROOT / "docs" / "formats.md"
IMPORTERS = [import_module(module).IMPORTER for module in BUILT_IN]


def _sections():
    if not PAGE.is_file():
        absent("no docs/formats.md beside the tests")
    pieces = re.split(r"^## (.*)\n", PAGE.read_text("utf-8"), flags=re.M)
    return dict(zip(pieces[1::2], pieces[2::2], strict=True))


def test_every_format_has_a_section_and_no_other_has():
    titles = list(_sections())[1:]  # the first is about all of them
    assert titles == [importer.title for importer in IMPORTERS]


@pytest.mark.parametrize("importer", IMPORTERS, ids=lambda one: one.name)
def test_a_section_says_what_the_importer_says(importer):
    words = " ".join(_sections()[importer.title].split())
    suffixes = " ".join(f"`{suffix}`" for suffix in importer.suffixes)
    assert words.startswith(
        f"- `{importer.name}`: {suffixes} - Defined by: {importer.standard}. "
        f"- Cannot tell: {'; '.join(importer.cannot_tell)}. Decided: - "
    )
