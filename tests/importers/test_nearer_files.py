"""A file that comes nearer than the one that was found makes a kept answer void.

A kept answer holds only while a new run would give the same (cli/_cache.py): what was
looked for before the file that was found must be noted too.
"""

import pytest

from ohmtrail.cli._cache import Cache
from ohmtrail.importers import load
from ohmtrail.importers._trace import traced

XSCHEM = "v {xschem version=3.4.5 file_version=1.2}\n"
XSCHEM_SYMBOL = (
    XSCHEM
    + 'K {type=resistor format="@name @pinlist @value" template="name=R1 value=1k"}\n'
    "B 5 -2.5 -32.5 2.5 -27.5 {name=P dir=inout}\n"
)
XSCHEM_BLOCK = XSCHEM + (
    'K {type=subcircuit format="@name @pinlist @symname" template="name=x1"}\n'
    "B 5 -2.5 -32.5 2.5 -27.5 {name=P dir=inout}\n"
)
LEPTON_SYMBOL = """v 20201216 2
P 0 0 100 0 1 0 0
{
T 0 0 5 8 0 1 0 0 1
pinnumber=1
}
T 0 0 5 8 0 1 0 0 1
value=1k
"""
LEPTON_PART = "C 0 0 1 0 0 zz.sym\n{\nT 0 0 5 10 0 0 0 0 1\nrefdes=R1\n}\n"


@pytest.mark.parametrize(
    ("files", "nearer"),
    [
        (
            {
                "top.sch": XSCHEM + "C {sub/b.sym} 0 0 0 0 {name=x1}\n",
                "sub/b.sym": XSCHEM_BLOCK,
                "sub/b.sch": XSCHEM + "C {zz.sym} 0 0 0 0 {name=R1}\n",
                "zz.sym": XSCHEM_SYMBOL,
            },
            "sub/zz.sym",
        ),
        (
            {"top.sch": "v 20201216 2\n" + LEPTON_PART, "lib/zz.sym": LEPTON_SYMBOL},
            "zz.sym",
        ),
    ],
    ids=["xschem", "lepton"],
)
def test_a_symbol_that_comes_nearer_is_read(files, nearer, tmp_path):
    folder = tmp_path / "project"
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    kept = tmp_path / "kept"
    kept.mkdir()
    cache = Cache(kept)

    def value():
        with traced() as found:
            board = load(folder / "top.sch")
        cache.put(("board",), board, found)
        assert cache.get(("board",)) == board
        return board.parts[0].value

    assert value() == "1k"
    text = next(text for name, text in files.items() if name.endswith("zz.sym"))
    (folder / nearer).write_text(text.replace("value=1k", "value=2k"))
    assert cache.get(("board",)) is None
    assert value() == "2k"
