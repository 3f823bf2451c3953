"""The example package of docs/add-a-format.md, installed and run as a user would."""

import json
import os
import re
import shutil
import subprocess
import sys
from importlib.metadata import PackageNotFoundError, version
from importlib.util import find_spec

import pytest
from _oracles import ROOT, absent

EXAMPLE = ROOT / "docs" / "example_importer"
PAGE = ROOT / "docs" / "add-a-format.md"
#: What pip says when it cannot fetch setuptools for an isolated build.
OFFLINE = re.compile(r"No matching distribution|NewConnectionError|Temporary failure")


def _builds_here():
    """Whether this Python can build a wheel without fetching anything."""
    try:
        major, minor = (int(n) for n in version("setuptools").split(".")[:2])
    except PackageNotFoundError:
        return False
    return (major, minor) >= (70, 1) or find_spec("wheel") is not None


def _install(source, target):
    if find_spec("pip") is None:
        absent("no pip in this Python")
    command = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps"]
    command += ["--disable-pip-version-check", "--target", str(target), str(source)]
    if _builds_here():
        command.append("--no-build-isolation")
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode and "--no-build-isolation" not in command:
        if OFFLINE.search(done.stderr):
            absent("setuptools is too old to build a wheel, and none can be fetched")
    assert done.returncode == 0, done.stderr


@pytest.fixture(scope="module")
def packages(tmp_path_factory):
    """Folders with the example installed, and with a rival of other names."""
    if not EXAMPLE.is_dir():
        absent("no docs/example_importer beside the tests")
    folder = tmp_path_factory.mktemp("packages")
    source = folder / "example"
    # A copy: pip builds in the folder that it is given.
    shutil.copytree(EXAMPLE, source, ignore=shutil.ignore_patterns("__pycache__"))
    _install(source, folder / "one")

    rival = folder / "rival"
    shutil.copytree(source, rival, ignore=shutil.ignore_patterns("build", "*.egg-info"))
    (rival / "ohmtrail_wirelist").rename(rival / "ohmtrail_rival")
    for path in (rival / "pyproject.toml", *rival.rglob("*.py")):
        text = path.read_text("utf-8").replace("ohmtrail_wirelist", "ohmtrail_rival")
        text = text.replace("ohmtrail-wirelist", "ohmtrail-rival")
        path.write_text(text.replace('="wirelist"', '="rival_list"'), "utf-8")
    _install(rival, folder / "two")
    return folder / "one", folder / "two"


def _ohmtrail(folders, *words):
    path = [*map(str, folders), *filter(None, [os.environ.get("PYTHONPATH")])]
    return subprocess.run(
        [sys.executable, "-m", "ohmtrail", *map(str, words)],
        env={
            **os.environ,
            "PYTHONPATH": os.pathsep.join(path),
            "OHMTRAIL_CACHE": "off",
        },
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


def _answer(folders, *words):
    done = _ohmtrail(folders, *words, "--json")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_nets_of_its_own_example(packages):
    """Expected: read off the nine lines of the file by eye."""
    answer = _answer(packages[:1], "nets", EXAMPLE / "lamp.wirelist")
    assert {net["name"]: sorted(net["pins"]) for net in answer["nets"]} == {
        "VBAT": ["BT1.1", "F1.1"],
        "VLAMP": ["C1.1", "F1.2", "R1.1"],
        "LED_A": ["D1.2", "R1.2"],
        "GND": ["BT1.2", "C1.2", "D1.1"],
    }


def test_what_is_not_used_is_counted(packages):
    answer = _answer(packages[:1], "summary", EXAMPLE / "lamp.wirelist")
    assert (answer["format"], answer["parts"], answer["pins"]) == ("wirelist", 6, 11)
    remark, values = answer["warnings"]
    assert remark == {"what": "remark", "where": "line 9", "count": 1}
    assert values["what"].startswith("no part has a value")


def test_formats_lists_it_last(packages):
    without = _answer([], "formats")["formats"]
    formats = _answer(packages[:1], "formats")["formats"]
    assert formats[:-1] == without
    assert formats[-1] == {
        "name": "wirelist",
        "title": "wire list (example)",
        "suffixes": [".wirelist"],
        "standard": "docs/add-a-format.md of ohmtrail",
        "cannot_tell": ["values", "pin names", "positions", "sides", "sheets"],
    }


def test_without_the_package_nobody_takes_the_file(packages):
    done = _ohmtrail([], "nets", EXAMPLE / "lamp.wirelist")
    assert done.returncode != 0
    assert "expected one of kicad_schematic, " in done.stderr


@pytest.mark.parametrize(
    ("content", "line", "message"),
    [
        (b"wirelist 2\nGND R1.1\n", 1, "found 'wirelist 2', expected 'wirelist 1'"),
        (
            b"wirelist 1\nGND R1.1\nVIN R1\n",
            3,
            "found 'R1', expected a pin as in 'R1.2'",
        ),
        (
            b"wirelist 1\nGND R1.1\n\nVIN R1.1\n",
            4,
            "found R1.1 on VIN, but line 2 has it on GND",
        ),
        (
            b"wirelist 1\n- R1.1\nVIN R1.1\n",
            3,
            "found R1.1 on VIN, but line 2 has it on no net",
        ),
        (b"wirelist 1\nGND R1.1\n\xff\n", 3, "found a byte that is not UTF-8"),
        (b"wirelist 1\n! nothing\n", None, "found no pins, expected some"),
    ],
)
def test_bad_files_are_one_line(packages, tmp_path, content, line, message):
    path = tmp_path / "bad.wirelist"
    path.write_bytes(content)
    done = _ohmtrail(packages[:1], "nets", path, "--json")
    assert done.returncode != 0
    assert done.stdout == ""
    where = path if line is None else f"{path}:{line}"
    assert done.stderr == f"ohmtrail: {where}: {message}\n"


def test_two_packages_that_claim_one_file_are_both_named(packages):
    lamp = EXAMPLE / "lamp.wirelist"
    done = _ohmtrail(packages, "nets", lamp)
    assert done.returncode != 0
    assert len(done.stderr.splitlines()) == 1
    named = re.search(r"(\w+) and (\w+) both claim this file", done.stderr)
    assert named is not None, done.stderr
    assert set(named.groups()) == {"wirelist", "rival_list"}
    # Neither is silently preferred, and either can be chosen.
    chosen = [
        _answer(packages, "nets", lamp, "--format", name)["nets"]
        for name in ("wirelist", "rival_list")
    ]
    assert chosen[0] == chosen[1]
    assert len(chosen[0]) == 4


def _blocks(kind):
    if not PAGE.is_file():
        return []
    return re.findall(rf"^```{kind}\n(.*?)^```$", PAGE.read_text("utf-8"), re.M | re.S)


def _packed(text):
    """Text without blanks: formatting the page moves its code about."""
    return "".join(text.split())


def test_the_page_shows_what_the_package_holds():
    """Each block of code is copied from a file of the example."""
    if not PAGE.is_file():
        absent("no docs/add-a-format.md beside the tests")
    shown = {".py": _blocks("python"), ".toml": _blocks("toml")}
    assert len(shown[".py"]) >= 4
    assert len(shown[".toml"]) >= 1
    for suffix, blocks in shown.items():
        files = sorted(EXAMPLE.rglob(f"*{suffix}"))
        whole = [_packed(path.read_text("utf-8")) for path in files]
        for block in blocks:
            for piece in re.split(r"^ *# \.\.\.\n\)?", block, flags=re.M):
                assert any(_packed(piece) in text for text in whole), piece
    assert (EXAMPLE / "lamp.wirelist").read_text("utf-8") in _blocks("text")
