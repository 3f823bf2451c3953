"""The pages of docs/: links lead somewhere, and commands of the how-tos run.

A how-to names its files ``board.net``, ``lepton.sch`` and so on; the test lays real
files there under those names.  ``NET`` stands for a rail, as the pages say.
"""

import re
import shlex
import subprocess
from importlib import import_module
from itertools import pairwise
from pathlib import Path

import pytest
from _oracles import ROOT, absent, corpus_file, program
from _screens import blocks, run

from ohmtrail.fixtures import write_demo
from ohmtrail.importers import load
from ohmtrail.importers._registry import BUILT_IN
from ohmtrail.netanalysis.checklist.cautions import CAUTIONS
from ohmtrail.netanalysis.recognise import recognise

DOCS = ROOT / "docs"
HOW_TO = DOCS / "how-to"
PAGES = [ROOT / "README.md", *sorted(DOCS.rglob("*.md"))]
#: Page -> the files that it names, and real ones of the corpus.
FILES = {
    "edif": {"board.edf": "formats/edif/boards/complex_hierarchy.edf"},
    "eagle": {
        "eagle.sch": "boards/bms-15s80-sc/LibreSolar_BMS48V.sch",
        "eagle.brd": "boards/bms-15s80-sc/LibreSolar_BMS48V.brd",
    },
    "ipc-d-356": {
        "board.d356": "formats/ipc356/kicad6/complex_hierarchy.d356",
        "board.net": "formats/edif/boards/complex_hierarchy.net",
    },
    "ipc-2581": {"board.xml": "formats/ipc2581/mjpower_ss.ipc2581.xml"},
    "kicad-legacy": {"board.sch": "boards/mppt-2420-rc/kicad/mppt-2420-rc.sch"},
    "kicad-netlist": {"board.net": "formats/edif/boards/complex_hierarchy.net"},
    "lepton": {"lepton.sch": "formats/gschem/gTAG/gTAG.sch"},
    "netlists": {
        "board.asc": "formats/gschem/netlists/gTAG.pads.net",
        "lepton.sch": "formats/gschem/gTAG/gTAG.sch",
    },
    "spice": {"board.cir": "formats/spice/buck.spice"},
    "typed-table": {"board.d356": "formats/ipc356/kicad6/StickHub.d356"},
    "viewers": {
        "lepton.sch": "formats/gschem/gTAG/gTAG.sch",
        "xschem.sch": "/usr/share/xschem/xschem_library/examples/poweramp.sch",
    },
    "xschem": {"xschem.sch": "/usr/share/xschem/xschem_library/examples/poweramp.sch"},
}
OUTPUT = ("--out", "--output", "-o")
HOW_TOS = sorted(HOW_TO.glob("*.md")) if HOW_TO.is_dir() else []


def commands(page):
    """Lines of the page's ``sh`` blocks."""
    texts = [text for language, text in blocks(page) if language == "sh"]
    return [line for text in texts for line in text.splitlines()]


def exports(page):
    """Those of them that run another program."""
    return [line for line in commands(page) if not line.startswith("ohmtrail ")]


EXPORTING = [page for page in HOW_TOS if exports(page)]


def tables(page):
    """Tables that the page shows, under the name of the last: it is loaded."""
    return [("values.csv", text) for kind, text in blocks(page) if kind == "csv"]


def a_rail(path):
    """Name of a rail, else of any net with two pins."""
    board = load(path)
    rails = [rail.net for rail in recognise(board).rails]
    return (rails or [net.name for net in board.nets if len(net.pins) > 1])[0]


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo")
    return {
        f"board{path.suffix}": path
        for path in write_demo(folder)
        if path.name in ("sk4.kicad_sch", "sk4.kicad_pcb")
    }


def files_of(page, demo):
    """The files that a page names, found, or the test is skipped."""
    found = dict(demo)
    for name, where in FILES.get(page.stem, {}).items():
        path = Path(where) if where.startswith("/") else corpus_file(where)
        if not path.exists():
            absent(f"no file {where}")
        found[name] = path
    return found


def words_of(command, files, net=""):
    """Words of a command with the real files and a real net in it."""
    words = shlex.split(command)
    return [
        re.sub(r"^NET\b", lambda _: net, word)
        if word not in files or before in OUTPUT
        else str(files[word])
        for before, word in pairwise(["", *words])
    ]


def anchors(page):
    """Names of a page's headings, as the usual viewers of Markdown make them."""
    titles = re.findall(r"^#+ (.*)$", page.read_text("utf-8"), re.M)
    return {re.sub(r"[^\w\- ]", "", one.lower()).replace(" ", "-") for one in titles}


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_links_lead_somewhere(page):
    text = re.sub(r"^```.*?^```$", "", page.read_text("utf-8"), flags=re.M | re.S)
    links = re.findall(r"\]\(([^)#]+)(?:#([^)]*))?\)", text)
    here = [(page.parent / link, part) for link, part in links if "://" not in link]
    assert [path for path, _ in here if not path.exists()] == []
    assert [part for path, part in here if part and part not in anchors(path)] == []


def test_every_page_is_in_its_index():
    """Nobody finds a page that no index names."""
    for folder in (DOCS, HOW_TO):
        index = (folder / "README.md").read_text("utf-8")
        names = {page.name for page in folder.glob("*.md")} - {"README.md"}
        assert {name for name in names if f"]({name})" not in index} == set()


def test_cautions_are_those_of_every_checklist():
    """The page says what the checklists say, in their words and their order."""
    page = (DOCS / "cautions.md").read_text("utf-8")
    assert "".join(f"- {line}\n" for line in CAUTIONS) in page


def test_every_format_has_a_how_to():
    """Its name or its suffixes stand in the table, but for our own shared case."""
    index = (HOW_TO / "README.md").read_text("utf-8")
    for importer in (import_module(name).IMPORTER for name in BUILT_IN):
        if importer.name != "shared_case":
            assert any(f"`{suffix}`" in index for suffix in importer.suffixes) or (
                importer.name.replace("_", "-") in index
            ), importer.name


@pytest.mark.parametrize("page", HOW_TOS, ids=lambda page: page.stem)
def test_commands_run(page, demo, tmp_path):
    """Each page loads its own format, by the words that stand there."""
    files = files_of(page, demo)
    own = [line for line in commands(page) if line.startswith("ohmtrail ")]
    assert own
    for name, text in tables(page):
        (tmp_path / name).write_text(text, encoding="utf-8")
    net = ""
    for command in own:
        if net == "" and "NET" in command:
            net = a_rail(next(files[w] for w in shlex.split(command) if w in files))
        run(shlex.join(words_of(command, files, net)), tmp_path)


@pytest.mark.parametrize("page", EXPORTING, ids=lambda page: page.stem)
def test_exports_run(page, demo, tmp_path):
    """The other program takes the words, and what it writes can be loaded."""
    files = files_of(page, demo)
    for command in exports(page):
        name, *words = words_of(command, files)
        source = next(Path(word) for word in words if Path(word).is_absolute())
        out = tmp_path / next(b for a, b in pairwise(words) if a in OUTPUT)
        words = [str(out) if word == out.name else word for word in words]
        # Lepton finds a project's symbols by the settings in its folder.
        subprocess.run(
            [program(name), *words], cwd=source.parent, capture_output=True, timeout=120
        )
        there, here = load(out), load(source)
        assert {part.ref.upper() for part in here.parts if part.pins} <= {
            part.ref.upper() for part in there.parts
        }


def test_commands_of_the_viewers_page_run(tmp_path):
    """One after the other, as they stand; KiCad's own are in the tests of job sets."""
    write_demo(tmp_path / "demo-board")
    page = DOCS / "viewers.md"
    files = files_of(page, {})
    own = [one for one in commands(page) if one.startswith("ohmtrail ")]
    assert {one.split()[1] for one in own} == {
        *("mark", "unmark", "viewer-command", "job-set"),
    }
    for command in own:
        named = [files[word] for word in shlex.split(command) if word in files]
        net = a_rail(named[0]) if named else ""
        run(shlex.join(words_of(command, files, net)), tmp_path)
