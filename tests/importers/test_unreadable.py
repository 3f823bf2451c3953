"""What is no readable file ends in one line and never waits.

Expected behaviour: common practice, no source; texts worked out by hand.
"""

import gzip
import os
import zlib
from pathlib import Path

import pytest
from _oracles import ROOT

from ohmtrail.importers import ImporterError, importers, load

DEMO = ROOT / "fixtures" / "demo"


@pytest.fixture
def pipe(tmp_path: Path) -> Path:
    if not hasattr(os, "mkfifo"):
        pytest.skip("no named pipes on this system")
    path = tmp_path / "board.kicad_sch"
    os.mkfifo(path)
    return path


def test_a_pipe_that_nobody_writes_to_is_not_waited_for(pipe):
    with pytest.raises(ImporterError, match="found a pipe or a device, expected a"):
        load(pipe)


@pytest.mark.parametrize("format", sorted(importers()))
def test_no_reader_waits_for_a_pipe_or_reads_a_folder(format, pipe, tmp_path):
    with pytest.raises(ImporterError, match="found a pipe or a device, expected a"):
        load(pipe, format)
    with pytest.raises(ImporterError, match="found a directory, expected a file"):
        load(tmp_path, format)


def test_a_sheet_that_is_a_pipe_is_no_file(tmp_path, pipe):
    root = tmp_path / "root.kicad_sch"
    root.write_text(
        '(kicad_sch (version 20231120) (uuid "r") (sheet (at 0 0) (size 9 9) '
        '(property "Sheetname" "A") (property "Sheetfile" "board.kicad_sch")))'
    )
    with pytest.raises(ImporterError, match="found no file 'board"):
        load(root)


def test_no_file_and_a_name_with_a_null_byte(tmp_path):
    with pytest.raises(ImporterError, match="no such file"):
        load(tmp_path / "absent.net")
    with pytest.raises(ImporterError, match="no such file"):
        load(str(tmp_path / "a\0b"))


def test_a_packed_schematic_gives_the_same_nets(tmp_path):
    """Root and sheets each packed; a plain sheet beside a packed one wins."""
    for path in DEMO.glob("*.kicad_sch"):
        packed = gzip.compress(path.read_bytes(), 1)
        (tmp_path / f"{path.name}.gz").write_bytes(packed)
    for path in DEMO.glob("*.kicad_pro"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    plain = load(DEMO / "sk4.kicad_sch")
    packed = load(tmp_path / "sk4.kicad_sch.gz")
    assert packed.nets == plain.nets
    assert packed.parts == plain.parts
    assert packed.name == "sk4"
    (tmp_path / "logic.kicad_sch").write_text("(kicad_sch")
    with pytest.raises(ImporterError, match=r"logic.kicad_sch:1: "):
        load(tmp_path / "sk4.kicad_sch.gz")


def test_a_packed_schematic_that_swells_is_refused(tmp_path, monkeypatch):
    """A hundred megabytes of blanks in a hundred kilobytes; the limit made small."""
    monkeypatch.setattr("ohmtrail.importers._text.MAX_BYTES", 1024 * 1024)
    packer = zlib.compressobj(9, wbits=31)
    data = packer.compress(b"(kicad_sch ") + packer.compress(b" " * 100_000_000)
    path = tmp_path / "a.kicad_sch.gz"
    path.write_bytes(data + packer.flush())
    with pytest.raises(ImporterError, match="found more than 1 MB, expected less"):
        load(path)


def test_a_packed_file_of_many_members_is_read_once(tmp_path, monkeypatch):
    """RFC 1952, 2.2: a gzip file is a series of members, here each a line long."""
    lines = [f"R{n},1,N{n}\nR{n},2,GND\n".encode() for n in range(4000)]
    path = tmp_path / "a.csv.gz"
    path.write_bytes(b"".join(map(gzip.compress, [b"ref,pin,net\n", *lines])))
    given = []

    class Unpacker:
        def __init__(self, wbits):
            self._inner = UNPACKER(wbits=wbits)

        def decompress(self, data, most):
            given.append(len(data))
            return self._inner.decompress(data, most)

        def __getattr__(self, name):
            return getattr(self._inner, name)

    UNPACKER = zlib.decompressobj
    monkeypatch.setattr(zlib, "decompressobj", Unpacker)
    assert len(load(path).parts) == 4000
    # The head for recognition, then the whole: 4 kB at most again for each member.
    assert sum(given) < 2 * (path.stat().st_size + 4001 * 4096)
