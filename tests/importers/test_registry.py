"""Which importer takes a file, and one line for every file that none can take."""

import gzip
import os
import subprocess
import sys
from pathlib import Path

import pytest

from ohmtrail.importers import (
    Importer,
    ImporterError,
    importers,
    load,
    recognise,
)
from ohmtrail.importers import _registry as registry
from ohmtrail.netanalysis.board import make_board

TABLE = "ref,pin,net\nR1,1,VIN\nR1,2,GND\n"
XML = '<?xml version="1.0"?>\n<export version="E"><components/><nets/></export>\n'
FORMATS = ", ".join(importers())


def error(path, **options):
    with pytest.raises(ImporterError) as caught:
        load(path, **options)
    text = str(caught.value)
    assert "\n" not in text
    return text.replace(f"{path}", "FILE")


def made(name, claims=lambda head: True, suffixes=()):
    def read(path):
        return make_board(name=name, format=name, version="", parts=())

    return Importer(name, name, suffixes, "", (), claims, read)


@pytest.mark.parametrize(
    ("content", "format"),
    [
        (XML, "kicad_netlist"),
        ('(export (version "E") (components) (nets))', "kicad_netlist"),
        ("# EESchema Netlist Version 1.1\n(\n)\n", "kicad_netlist"),
        (TABLE, "pin_table"),
        ("\ufeff" + TABLE, "pin_table"),
        ("\ufeff" + XML, "kicad_netlist"),
    ],
)
@pytest.mark.parametrize("name", ["board.net", "board.csv", "board", "b.kicad_sch"])
def test_content_decides_whatever_the_name(tmp_path, content, format, name):
    path = tmp_path / name
    path.write_text(content, encoding="utf-8")
    assert recognise(path).name == format
    path.write_bytes(gzip.compress(content.encode()))
    assert recognise(path).name == format


def test_gzip_is_undone(tmp_path):
    path = tmp_path / "t.csv.gz"
    path.write_bytes(gzip.compress(TABLE.encode()))
    assert [net.name for net in load(path).nets] == ["VIN", "GND"]
    path.write_bytes(gzip.compress(TABLE.encode())[:-12])
    assert error(path) == "FILE: found end of file inside gzip data"


@pytest.mark.parametrize(
    ("content", "found"),
    [
        (b"%PDF-1.4 ...", "a PDF document"),
        (b"PK\x03\x04....", "a ZIP archive"),
        (b"\x00\x01\x02\xff" * 99, "binary data"),
        (bytes(range(1, 32)) * 9 + b"\xff\xfe", "binary data"),
        (b"<html><body>", "XML or HTML with the root <html>"),
        (b"(footprint x)", "a KiCad footprint"),
        (b"Dear all,\nthe board is dead", "text that begins 'Dear all,'"),
        (b"ref,value\nR1,10k\n", "text that begins 'ref,value'"),
    ],
)
def test_what_nobody_takes(tmp_path, content, found):
    path = tmp_path / "x.net"
    path.write_bytes(content)
    assert error(path) == f"FILE: found {found}, expected one of {FORMATS}"


def test_no_file_a_folder_an_empty_file(tmp_path):
    assert error(tmp_path / "none.net") == "FILE: no such file"
    assert error(tmp_path) == "FILE: found a directory, expected a file"
    path = tmp_path / "e.net"
    for nothing in b"", b"\n \n", b"\xef\xbb\xbf\n":
        path.write_bytes(nothing)
        assert error(path) == "FILE: found an empty file, expected a design"
        assert error(path, format="pin_table") == (
            "FILE: found an empty file, expected a design"
        )
    assert error("a\0b") == "'a\\x00b': no such file"


def test_no_permission(tmp_path, monkeypatch):
    def refuse(*_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("ohmtrail.importers._text.os.open", refuse)
    assert error(tmp_path / "secret.net") == "FILE: permission denied"


def test_format_overrides_and_is_checked(tmp_path):
    path = tmp_path / "x.net"
    path.write_text(XML)
    assert load(path, format="kicad_netlist").format == "kicad_netlist"
    assert error(path, format="pin_table").startswith("FILE:1: found the columns")
    assert error(path, format="kicad_netlst") == (
        f"no format 'kicad_netlst'; there are {FORMATS}; did you mean kicad_netlist?"
    )


def fake(monkeypatch, *found):
    monkeypatch.setattr(registry, "_found", lambda: iter(found))


def test_two_that_claim_one_file(tmp_path, monkeypatch):
    path = tmp_path / "x.aa"
    path.write_text("hello")
    fake(monkeypatch, (made("aa"), "one"), (made("bb"), "two"))
    assert error(path) == (
        "FILE: aa and bb both claim this file; choose one with --format"
    )
    assert load(path, format="bb").name == "bb"


def test_suffix_breaks_ties_only(tmp_path, monkeypatch):
    path = tmp_path / "x.aa"
    path.write_text("hello")
    fake(
        monkeypatch,
        (made("bb", suffixes=(".bb",)), "two"),
        (made("aa", suffixes=(".aa",)), "one"),
        (made("cc", lambda head: False, (".aa",)), "three"),
    )
    assert recognise(path).name == "aa"
    path.rename(tmp_path / "x.cc")
    assert "bb and aa both claim" in error(tmp_path / "x.cc")


def test_one_name_twice(monkeypatch):
    fake(monkeypatch, (made("aa"), "ohmtrail itself"), (made("aa"), "entry point 'x'"))
    with pytest.raises(ImporterError) as caught:
        importers()
    assert str(caught.value) == (
        "importer 'aa' is registered twice: by ohmtrail itself and by entry point 'x'"
    )


def test_a_bug_in_an_importer_keeps_its_traceback(tmp_path, monkeypatch):
    def read(path):
        raise ZeroDivisionError

    path = tmp_path / "x"
    path.write_text("hello")
    bad = Importer("aa", "", (), "", (), lambda head: True, read)
    fake(monkeypatch, (bad, "one"))
    with pytest.raises(ZeroDivisionError):
        load(path)


def test_every_built_in_importer_describes_itself():
    table = importers()
    assert {"kicad_netlist", "pin_table"} <= table.keys()
    for name, importer in table.items():
        assert isinstance(importer, Importer)
        assert (name, name.lower()) == (importer.name, importer.name)
        assert importer.title
        assert importer.standard
        assert all(suffix.startswith(".") for suffix in importer.suffixes)


# A package that adds a format, installed as far as Python's metadata goes.

PLUGIN = """
from ohmtrail.importers import Importer, ParseError
from ohmtrail.netanalysis.board import Part, Pin, make_board

def read(path):
    parts = []
    for n, line in enumerate(path.read_text().splitlines()[1:], 2):
        ref, *nets = line.split()
        if not nets:
            raise ParseError("found a part without pins", path, n)
        pins = tuple(Pin(ref, str(i), net) for i, net in enumerate(nets, 1))
        parts.append(Part(ref, "", pins))
    return make_board(name="w", format="wirelist", version="1", parts=parts)

IMPORTER = Importer(
    "wirelist", "wire list", (".wl",), "none", (),
    lambda head: head.startswith(CLAIM), read,
)
"""


@pytest.fixture
def installed(tmp_path):
    """Install the plug-in in a folder; return how to run Python with it."""

    def install(value="wirelist_plugin:IMPORTER", claim=b"WIRELIST"):
        (tmp_path / "wirelist_plugin.py").write_text(f"CLAIM = {claim!r}\n" + PLUGIN)
        info = tmp_path / "wirelist_plugin-1.0.dist-info"
        info.mkdir()
        (info / "METADATA").write_text(
            "Metadata-Version: 2.1\nName: wirelist-plugin\nVersion: 1.0\n"
        )
        (info / "entry_points.txt").write_text(
            f"[ohmtrail.importers]\nwirelist = {value}\n"
        )
        path = os.pathsep.join([str(tmp_path), *filter(None, sys.path)])

        def run(code, *arguments):
            return subprocess.run(
                [sys.executable, "-c", code, *map(str, arguments)],
                env={**os.environ, "PYTHONPATH": path},
                capture_output=True,
                text=True,
                check=False,
            )

        return run

    return install


SHOW = """
import sys
from ohmtrail.importers import ImporterError, load
try:
    board = load(sys.argv[1])
except ImporterError as error:
    print(error)
else:
    print(board.format, [net.name for net in board.nets])
"""


@pytest.mark.parametrize("value", ["wirelist_plugin:IMPORTER", "wirelist_plugin"])
def test_an_installed_package_adds_a_format(tmp_path, installed, value):
    run = installed(value)
    path = tmp_path / "a.wl"
    path.write_text("WIRELIST\nR1 VIN GND\n")
    assert run(SHOW, path).stdout == "wirelist ['VIN', 'GND']\n"
    path.write_text("WIRELIST\nR1\n")
    assert run(SHOW, path).stdout == f"{path}:2: found a part without pins\n"


def test_a_plug_in_that_claims_a_table_too(tmp_path, installed):
    run = installed(claim=b"ref,pin")
    path = tmp_path / "a.x"
    path.write_text(TABLE)
    assert run(SHOW, path).stdout == (
        f"{path}: pin_table and wirelist both claim this file; "
        "choose one with --format\n"
    )


@pytest.mark.parametrize(
    ("value", "message"),
    [
        (
            "wirelist_plugin:nothing",
            "entry point 'wirelist' of wirelist-plugin: cannot load "
            "wirelist_plugin:nothing: module 'wirelist_plugin' has no attribute "
            "'nothing'\n",
        ),
        (
            "wirelist_plugin:CLAIM",
            "entry point 'wirelist' of wirelist-plugin: found bytes, "
            "expected an Importer\n",
        ),
    ],
)
def test_a_broken_plug_in_is_named(tmp_path, installed, value, message):
    path = tmp_path / "a.csv"
    path.write_text(TABLE)
    assert installed(value)(SHOW, path).stdout == message


def test_import_of_the_package_is_cheap():
    code = (
        "import sys, ohmtrail.importers as i; i.ImporterError;"
        "print([m for m in ('networkx','lxml','kiutils','csv','importlib.metadata',"
        "'ohmtrail.importers._registry') if m in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parents[2] / "src",
    )
    assert done.stdout == "[]\n"


@pytest.mark.parametrize("start", ["", '(export (version "E") ', "(kicad_sch "])
def test_100_mb_of_brackets_are_refused(tmp_path, start):
    path = tmp_path / "brackets.net"
    with open(path, "wb") as file:
        file.write(start.encode())
        for _ in range(100):
            file.write(b"(" * 1_000_000)
    error(path)
