"""Real decks, the same decks flattened by other programs, and ngspice's own listing."""

import re
import shutil
import subprocess
from collections import Counter

import pytest
from _oracles import (
    board_nodes,
    corpus_file,
    corpus_files,
    program,
)

from ohmtrail.importers import importers, load
from ohmtrail.importers.spice._numbers import spice_number
from ohmtrail.netanalysis.values import parse_value

DECKS = corpus_files("formats/spice/*.spice", "formats/spice/*/*.spice")
#: Nodes by the letter of a device, as the ngspice manual has them.
NODES = {"r": 2, "c": 2, "l": 2, "d": 2, "v": 2, "i": 2, "m": 4, "j": 3, "q": 3}
UNIT = {"r": "resistor", "c": "capacitor", "l": "inductor"}


def folded(board):
    """Nodes of a board without regard to case."""
    return {
        (ref.casefold(), pin): net and net.casefold()
        for (ref, pin), net in board_nodes(board).items()
    }


@pytest.mark.parametrize("stem", ["LM5134A", "buck", "diode", "pump"])
def test_a_deck_equals_what_xschem_flattened(stem):
    ours = folded(load(corpus_file(f"formats/spice/{stem}.spice")))
    flat = folded(load(corpus_file(f"formats/spice/{stem}.flat.spice")))
    assert ours == flat
    if stem == "buck":
        # Counted with grep: lines that begin with a letter.
        assert len({ref for ref, _ in ours}) == 23
        # Drawn on a free pin: joined to nothing, whatever the text there says.
        assert ours["r5", "2"] is None


@pytest.mark.parametrize("path", DECKS)
def test_only_this_importer_claims_them(path):
    head = path.read_bytes()[:65536]
    assert [i.name for i in importers().values() if i.sniff(head)] == ["spice"]


def test_no_other_file_of_the_corpus_is_claimed():
    from _oracles import corpus

    folder = corpus()
    sniff = importers()["spice"].sniff
    claimed = {
        path.relative_to(folder).as_posix()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and sniff(path.read_bytes()[:65536])
    }
    assert claimed
    strange = {
        name
        for name in claimed
        if not re.search(
            r"\.(spice|cir|sp|ckt|mod|lib|sub|spi|model)$|spice.*\.net|spice\.netlist|"
            r"Simulation.*\.cmd|/models/",
            name,
        )
    }
    assert strange == set()


@pytest.mark.parametrize("stem", ["7805_gschem", "TwoStageAmp", "gTAG"])
def test_lepton_wrote_the_same_nets_as_for_spice(stem):
    """The geda back end of the same program, on the same schematic.

    The SPICE back end names no pin: nodes stand in the order of ``pinseq``, so
    parts are compared by their nets alone.  It also leaves out pins that a symbol
    joins by a ``net=`` attribute without drawing them; only chips have those.
    """
    board = load(corpus_file(f"formats/gschem/netlists/{stem}.spice-sdb.net"), "spice")
    text = corpus_file(f"formats/gschem/netlists/{stem}.geda.net").read_text()
    theirs = {}
    for line in text.partition("START nets")[2].partition("END nets")[0].splitlines():
        name, colon, ends = line.partition(" : ")
        name = re.sub("^unnamed_net", "", name)
        if colon:
            for end in ends.strip().rstrip(",").split(","):
                theirs.setdefault(end.split()[0], Counter())[name] += 1
    ours = {}
    for part in board.parts:
        nets = ours.setdefault(part.ref.partition(".")[0], Counter())  # U20.3: a slot
        nets.update(p.net for p in part.pins if "unconnected" not in p.net)
    assert ours.keys() == theirs.keys()
    for ref, nets in theirs.items():
        assert not ours[ref] - nets, ref
        assert ours[ref] == nets or ref[0] == "U", ref


# ngspice ----------------------------------------------------------------------


def ngspice_listing(path):
    """Run ngspice on a copy of a deck, and return the lines of its listing."""
    text = re.split(r"(?im)^\.end\s*$", path.read_text())[0]
    # .probe has ngspice put an ammeter into every lead.
    lines = [x for x in text.splitlines() if not x.startswith(".probe")]
    ask = [".control", "set width=4000", "listing expand", ".endc", ".end", ""]
    copy = path.with_name("asked.cir")
    copy.write_text("\n".join(lines + ask))
    done = subprocess.run(
        [program("ngspice"), "-b", copy.name],
        cwd=path.parent,
        capture_output=True,
        text=True,
        timeout=60,
    )
    found = re.findall(r"^ *\d+ : (.*)$", done.stdout, re.M)
    assert found, done.stdout + done.stderr
    return found[1:]


def ngspice_devices(path):
    """Devices of the listing: name -> (nodes, m, words after the nodes)."""
    devices = {}
    for line in ngspice_listing(path):
        words = line.replace("m= ", "m=").replace("= ", "=").split()
        while "m=" in words:
            at = words.index("m=")
            words[at : at + 2] = ["m=" + words[at + 1]]
        letter = words[0][0]
        if letter not in NODES:
            continue
        pieces = words[0].split(".")
        name = ".".join(p for p in pieces[:-1] if p != letter)
        name = f"{name}.{pieces[-1]}" if name else pieces[-1]
        count = 1
        for word in words:
            if re.match(r"m=[\d.]", word):
                count *= int(float(word[2:]))
        nodes = words[1 : 1 + NODES[letter]]
        devices[name] = (nodes, count, words[1 + NODES[letter] :])
    return devices


def bare(name):
    """Name without the number of the parallel copy, as ngspice writes it."""
    return re.sub(r"#\d+", "", name or "").casefold()


def same_as_ngspice(path):
    theirs = ngspice_devices(path)
    board = load(path)
    ours = {}
    for part in board.parts:
        if part.ref.rpartition(".")[2][0].lower() in NODES:
            ours.setdefault(bare(part.ref), []).append(part)
    assert ours.keys() == theirs.keys()
    for name, (nodes, count, words) in theirs.items():
        parts = ours[name]
        assert len(parts) == count, name
        letter = name.rpartition(".")[2][0]
        for part in parts:
            mine = [bare(pin.net) for pin in part.pins[: len(nodes)]]
            assert mine == ["gnd" if n == "0" else n for n in nodes], name
            if letter in UNIT:
                value = parse_value(part.value, UNIT[letter])
                number = value and (value.ohms or value.farads or value.henries)
                given = next(w for w in words if w[:2] not in ("r=", "m=") or w[2:])
                wanted = spice_number(given.removeprefix(f"{letter}="))
                assert number == pytest.approx(wanted, rel=1e-6), name
    return board, theirs


DECK = """R9 the title is no resistor
.param rv = 2k  w={rv*2} half='rv/2'
* comment
R2 a gnd 1M ; one milliohm
R3 a 0 1MEG $ one megaohm
R4 a 0 100 // a hundred
R5 a/b GND 10k//x

R7 a 0 {w}
R8 a 0
# comment between
* and another

+ {half}
+ m=2
.subckt SUB p q params: rr=1k
.param k2=rr*2
.param rr2 = 7
Rg p c {rr}
Rh c q {k2}
Ri c 0 'rr2'
Ci c glb 1uF
.model mm nmos
M1 p c q 0 mm w=1u m=3
Xi c d inner r=50
.subckt inner x y r=5
R1 x y {r*2}
R2 y 0 {rv}
.ends
.ends SUB
.global glb
X1 a b SUB rr=3k m=2
X2 a b sub
V1 a 0 DC 1
R10 glb 0 1mil
.if (rv > 1000)
Rif a 0 1
.else
Relse a 0 1
.endif
Q2 c b e qq 2
.model qq npn
Rc c 0 10Meg
Re e 0 4.7K
L1 c e 10uH
D1 b 0 dd
.model dd d
.end
R99 this 0 1
"""


def test_ngspice_lists_the_same_devices(tmp_path):
    path = tmp_path / "deck.cir"
    path.write_text(DECK)
    board, theirs = same_as_ngspice(path)
    assert len(theirs) == 6 + 2 * 7 + 8  # top, two of SUB, rest of the top
    assert board.part_by_ref["X1.Xi.R1"].value == "100R"
    assert board.part_by_ref["R10"].value == "25.4u"
    assert len(board.net_by_name["X1.d"].pins) == 2


@pytest.mark.parametrize("name", ["cmos_not", "instance_params"])
def test_ngspice_lists_the_same_devices_of_real_decks(name, tmp_path):
    folder = corpus_file(f"formats/spice/{name}")
    for path in folder.glob("*.spice"):
        shutil.copyfile(path, tmp_path / path.name)
    _board, theirs = same_as_ngspice(tmp_path / f"{name}.spice")
    assert len(theirs) >= 5


def test_ngspice_flattens_a_real_library_in_the_same_way(tmp_path):
    library = corpus_file("formats/spice/fliege_filter/uopamp.lib.spice")
    shutil.copyfile(library, tmp_path / "uopamp.lib.spice")
    path = tmp_path / "deck.cir"
    path.write_text(
        "amplifier\n.include uopamp.lib.spice\n"
        "X1 vcc vee in out out b b c uopamp_lvl2_2x\n"
        "X2 in out o1 o1 in o2 in o2 o3 o3 o2 o4 uopamp_lvl1_4x\n"
        "V1 vcc 0 5\nV2 0 vee 5\nR1 in 0 1k\n.end\n"
    )
    _board, theirs = same_as_ngspice(path)
    assert len(theirs) > 50
