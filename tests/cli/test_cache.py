"""What is kept between runs never lies, survives a crash, and stays small."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from ohmtrail.cli._cache import Cache, open_cache
from ohmtrail.importers import load
from ohmtrail.importers._trace import digest, traced

TABLE = "ref,pin,net\nR1,1,VMAIN\nR1,2,GND\nC1,1,VMAIN\nC1,2,GND\n"


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "board.csv"
    path.write_text(TABLE, encoding="utf-8")
    return path


@pytest.fixture
def cache(tmp_path: Path) -> Cache:
    folder = tmp_path / "kept"
    folder.mkdir()
    return Cache(folder)


def nets(board: Path, kept: Path | str) -> dict:
    """Ask the command line, as a script would."""
    run = subprocess.run(
        [sys.executable, "-m", "ohmtrail", "nets", str(board), "--json"],
        env={**os.environ, "OHMTRAIL_CACHE": str(kept)},
        capture_output=True,
        check=True,
        text=True,
    )
    return json.loads(run.stdout)


def keep(cache: Cache, path: Path, question=("board",)):
    with traced() as files:
        board = load(path)
    cache.put(question, board, files)
    return board


def test_the_second_run_gives_the_same_answer_from_what_was_kept(table, tmp_path):
    kept = tmp_path / "kept"
    first = nets(table, kept)
    assert len(list(kept.iterdir())) == 1
    assert nets(table, kept) == first == nets(table, "off")


def test_a_file_that_changed_is_read_again(table, tmp_path):
    kept = tmp_path / "kept"
    nets(table, kept)
    stamp = table.stat()
    table.write_text(TABLE.replace("C1,1,VMAIN", "C1,1,VCORE"), encoding="utf-8")
    os.utime(table, ns=(stamp.st_atime_ns, stamp.st_mtime_ns))
    names = [net["name"] for net in nets(table, kept)["nets"]]
    assert names == ["VMAIN", "GND", "VCORE"]


def test_a_file_that_was_missing_and_now_is_there_counts(table, cache):
    with traced() as files:
        board = load(table)
    beside = table.with_suffix(".kicad_pro")
    files[str(beside)] = None
    cache.put(("board",), board, files)
    assert cache.get(("board",)) == board
    beside.write_text("{}", encoding="utf-8")
    assert cache.get(("board",)) is None


def test_a_reader_that_comes_by_the_path_alone_is_asked(table, tmp_path, monkeypatch):
    """Two readers that claim one file are an error, whatever was kept before."""
    kept, more = tmp_path / "kept", tmp_path / "more"
    facts = more / "other_reader-1.dist-info"
    facts.mkdir(parents=True)
    monkeypatch.setenv("PYTHONPATH", str(more))
    assert nets(table, kept)["nets"]
    (more / "other_reader.py").write_text(
        "from ohmtrail.importers.pin_table import IMPORTER as own\n"
        "from dataclasses import replace\n"
        'IMPORTER = replace(own, name="other")\n',
        encoding="utf-8",
    )
    (facts / "METADATA").write_text("Name: other-reader\nVersion: 1\n")
    (facts / "entry_points.txt").write_text(
        "[ohmtrail.importers]\nother = other_reader\n"
    )
    with pytest.raises(subprocess.CalledProcessError) as failed:
        nets(table, kept)
    assert "pin_table and other both claim this file" in failed.value.stderr


def test_another_question_has_another_answer(table, cache):
    keep(cache, table)
    assert cache.get(("board", "VMAIN=19")) is None


@pytest.mark.parametrize("left", [0, 1, 30, 60, 200, -1])
def test_a_crash_in_mid_write_leaves_nothing_that_is_believed(table, cache, left):
    keep(cache, table)
    (path,) = cache.folder.iterdir()
    path.write_bytes(path.read_bytes()[:left])
    assert cache.get(("board",)) is None


def test_a_flipped_bit_is_noticed(table, cache):
    keep(cache, table)
    (path,) = cache.folder.iterdir()
    whole = path.read_bytes()
    for at in range(0, len(whole), max(1, len(whole) // 97)):
        path.write_bytes(whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :])
        assert cache.get(("board",)) is None
    path.write_bytes(whole)
    assert cache.get(("board",)) == load(table)


def test_a_file_that_would_run_code_is_not_run(table, cache):
    import pickle
    from hashlib import blake2b

    class Harm:
        def __reduce__(self):
            return (os.mkdir, (str(cache.folder / "harm"),))

    keep(cache, table)
    (path,) = cache.folder.iterdir()
    whole = path.read_bytes()
    start = whole.index(b"\n") + 1
    body = (2).to_bytes(4, "big") + b"{}" + pickle.dumps(Harm())
    check = blake2b(body, digest_size=16).digest()
    path.write_bytes(whole[:start] + check + body)
    assert cache.get(("board",)) is None
    assert not (cache.folder / "harm").exists()


def test_the_folder_stays_within_its_bound(table, tmp_path):
    folder = tmp_path / "kept"
    folder.mkdir()
    cache = Cache(folder, max_bytes=6000)
    for number in range(40):
        keep(cache, table, ("board", number))
        os.utime(cache._path(("board", number)), (number, number))
    assert 0 < sum(path.stat().st_size for path in folder.iterdir()) <= 6000
    assert cache.get(("board", 39)) is not None
    assert cache.get(("board", 0)) is None


def test_a_folder_that_others_can_write_to_is_not_trusted(tmp_path, monkeypatch):
    folder = tmp_path / "kept"
    folder.mkdir()
    folder.chmod(0o777)
    monkeypatch.setenv("OHMTRAIL_CACHE", str(folder))
    assert open_cache() is None


@pytest.mark.parametrize("word", ["off", "OFF", "0", "no"])
def test_it_can_be_switched_off(monkeypatch, word):
    monkeypatch.setenv("OHMTRAIL_CACHE", word)
    assert open_cache() is None


def test_files_are_told_apart_by_content_alone():
    assert digest(b"a") != digest(b"b")
