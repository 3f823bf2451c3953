"""Net lists of gnetlist's family: tEDAx, Tango, PADS; one board in all is one."""

import random
import subprocess

import pytest
from _operations import operations
from _oracles import absent, board_nodes, corpus, corpus_file, program
from hypothesis import given, settings
from hypothesis import strategies as st

from ohmtrail.importers import ImporterError, importers, load

STEMS = ["7805_gschem", "TwoStageAmp", "gTAG"]
FORMATS = {"tEDAx": "tedax", "tango": "tango", "pads": "pads_netlist"}


def geda_nodes(stem):
    """Nets as the geda back end of lepton-netlist writes them, its plainest list."""
    text = corpus_file(f"formats/gschem/netlists/{stem}.geda.net").read_text()
    nodes = {}
    for line in text.partition("START nets")[2].partition("END nets")[0].splitlines():
        net, colon, ends = line.partition(" : ")
        if colon:
            for end in ends.strip().rstrip(",").split(","):
                ref, pin = end.split()
                nodes[ref, pin] = net.strip()
    return nodes


def geda_parts(stem):
    text = corpus_file(f"formats/gschem/netlists/{stem}.geda.net").read_text()
    listed = text.partition("START components")[2].partition("END components")[0]
    return {line.split()[0] for line in listed.splitlines() if line.strip()}


@pytest.mark.parametrize("back_end", FORMATS)
@pytest.mark.parametrize("stem", STEMS)
def test_every_back_end_of_lepton_says_the_same(stem, back_end):
    board = load(corpus_file(f"formats/gschem/netlists/{stem}.{back_end}.net"))
    assert board.format == FORMATS[back_end]
    nodes, parts = geda_nodes(stem), geda_parts(stem)
    if back_end == "pads":  # which writes all names in capitals
        nodes = {(ref.upper(), pin): net.upper() for (ref, pin), net in nodes.items()}
        parts = {ref.upper() for ref in parts}
    assert board_nodes(board) == nodes
    assert {part.ref for part in board.parts} == parts
    assert board.unused == ()


@pytest.mark.parametrize("stem", STEMS)
def test_values_and_footprints_agree(stem):
    name = f"formats/gschem/netlists/{stem}"
    tedax = load(corpus_file(f"{name}.tEDAx.net"))
    tango = load(corpus_file(f"{name}.tango.net"))
    pads = load(corpus_file(f"{name}.pads.net"))
    for part in tedax.parts:
        other = tango.part_by_ref[part.ref]
        assert other.footprint == part.footprint
        assert other.library == part.library
        assert other.value == (part.value or part.library)
        assert pads.part_by_ref[part.ref.upper()].footprint == part.footprint


def test_a_fresh_list_of_lepton_is_read_as_the_committed_one(tmp_path):
    netlister = program("lepton-netlist")
    schematic = corpus_file("formats/gschem/7805_gschem.sch")
    for back_end, format in FORMATS.items():
        out = tmp_path / f"{back_end}.net"
        done = subprocess.run(
            [netlister, "-q", "-g", back_end, "-o", str(out), schematic.name],
            cwd=schematic.parent,
            capture_output=True,
            timeout=120,
        )
        assert done.returncode == 0, done.stderr
        committed = corpus_file(f"formats/gschem/netlists/7805_gschem.{back_end}.net")
        assert board_nodes(load(out)) == board_nodes(load(committed))
        assert load(out).format == format


def test_no_other_file_of_the_corpus_is_claimed():
    folder = corpus()
    table = importers()
    seen = set()
    for path in sorted(folder.rglob("*")):
        if not path.is_file():
            continue
        head = path.read_bytes()[:65536]
        for back_end, format in FORMATS.items():
            if table[format].sniff(head):
                assert path.name.endswith(f".{back_end}.net"), path
                claims = [i.name for i in table.values() if i.sniff(head)]
                assert claims == [format], path
                seen.add(path)
    if len(seen) != 9:
        absent("the corpus lacks some lists of lepton-netlist")


# Small files ------------------------------------------------------------------

TEDAX = """tEDAx v1
# comment
begin netlist v1 netlist
 footprint Q1 SO\\ 8
 device Q1 NFET
 value Q1 -
 comptag Q1 maker Acme
 pinname Q1 4 G
 conn GND Q1 1
 conn gate Q1 4
 conn gate R1 2
 nettag gate width 10
end netlist
begin footprint v1 x
 anything at all
end footprint
"""

TANGO = """[
Q1
SO 8
NFET


]
[
R-1
0603
RESISTOR
4k7

]
(
gate
Q1-4
R-1-2
)
(
GND
Q1-1
J1-A
)
"""

PADS = """*PADS-PCB*
*REMARK* drawn today
*PART*
Q1 NFET@SO 8
R.1 RES@0603
*NET*
*SIGNAL* GATE
 Q1.4 R.1.2
*SIGNAL* GND 0.5
 Q1.1
*END*
whatever
"""


@pytest.fixture
def read(tmp_path):
    def read(text, name="list.net"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8", newline="")
        return load(path)

    return read


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_tedax(read, end):
    board = read(TEDAX.replace("\n", end))
    assert board_nodes(board) == {
        ("Q1", "1"): "GND",
        ("Q1", "4"): "gate",
        ("R1", "2"): "gate",
    }
    q1 = board.part_by_ref["Q1"]
    assert (q1.value, q1.library, q1.footprint) == ("", "NFET", "SO 8")
    assert (q1.fields, q1.pin("4").name) == ((("maker", "Acme"),), "G")
    assert sorted(u.what for u in board.unused) == [
        "block footprint",
        "line 'nettag' of a net list",
        "part in the nets that is not in the list of parts",
    ]


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_tango(read, end):
    board = read(TANGO.replace("\n", end))
    assert board_nodes(board) == {
        ("Q1", "1"): "GND",
        ("Q1", "4"): "gate",
        ("R-1", "2"): "gate",
        ("J1", "A"): "GND",
    }
    assert board.part_by_ref["R-1"].value == "4k7"
    assert board.part_by_ref["Q1"].value == "NFET"
    assert [u.count for u in board.unused] == [1]  # J1 is in the nets alone


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_pads(read, end):
    board = read(PADS.replace("\n", end))
    assert board_nodes(board) == {
        ("Q1", "1"): "GND",
        ("Q1", "4"): "GATE",
        ("R.1", "2"): "GATE",
    }
    q1 = board.part_by_ref["Q1"]
    assert (q1.library, q1.footprint) == ("NFET", "SO 8")
    assert [u.what for u in board.unused] == ["rule after the name of a signal"]


def test_remarks_in_a_pads_list_end_no_section(read):
    # PADS ASCII: *REMARK* is a comment of one line, and stands in any section.
    remarked = PADS.replace("*PART*\n", "*PART*\n*REMARK* REF TYPE@DECAL\n").replace(
        "GATE\n", "GATE\n*REMARK* PART.PIN\n"
    )
    assert remarked.count("*REMARK*") == 3
    assert board_nodes(read(remarked)) == board_nodes(read(PADS))
    assert read(remarked).parts == read(PADS).parts


@pytest.mark.parametrize(
    ("text", "format", "message"),
    [
        ("tEDAx v2\n", "tedax", "1: found tEDAx v2, expected v1"),
        ("tEDAx v1\nconn\n", "tedax", "2: found 'conn', expected 'begin'"),
        ("tEDAx v1\n", "tedax", "found no block 'netlist'"),
        (TEDAX.replace("Q1 4 G", "Q1"), "tedax", "8: found 'pinname Q1'"),
        (TEDAX.replace("gate Q1 4", "gate Q1 1"), "tedax", "10: found Q1.1 in net"),
        (TEDAX[:60], "tedax", "expected 'end netlist' for line 3"),
        (TEDAX + "end x\n", "tedax", "17: found 'end x', expected 'begin'"),
        (TANGO.replace("R-1\n", "Q1\n", 1), "tango", "8: found Q1 again"),
        (TANGO.replace("Q1-4", "Q14"), "tango", "expected a pin as in 'C1-2'"),
        (TANGO.replace("Q1-1", "Q1-4"), "tango", "22: found Q1.4 in net GND"),
        (TANGO[:-2], "tango", "expected ')' for line 20"),
        ("[\n[\n", "tango", "2: found '[', expected ']' for line 1"),
        ("hello\n", "tango", "1: found 'hello', expected '[' or '('"),
        ("*PADS*\nx\n", "pads_netlist", "2: found 'x', expected '*PART*'"),
        ("*PADS*\n", "pads_netlist", "found no section"),
        (PADS.replace("GATE\n", "\n"), "pads_netlist", "expected a name after it"),
        ("*PADS*\n*REMARK* a\nb\n", "pads_netlist", "3: found 'b', expected '*PART*'"),
        (PADS.replace("Q1.4", "Q14"), "pads_netlist", "8: found 'Q14'"),
        (PADS.replace("R.1 R", "Q1 R"), "pads_netlist", "5: found Q1 again"),
    ],
)
def test_bad_lists_give_file_line_and_reason(text, format, message, tmp_path):
    path = tmp_path / "bad.net"
    path.write_text(text)
    with pytest.raises(ImporterError) as caught:
        load(path, format)
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)


# Laws -------------------------------------------------------------------------

REF = st.from_regex(r"[A-Z]{1,3}[-.]?[0-9]{1,3}", fullmatch=True)
PIN = st.from_regex(r"[A-Z]?[0-9]{1,2}", fullmatch=True)
NET = st.from_regex(r"[A-Za-z+/][A-Za-z0-9+_/#.-]{0,8}", fullmatch=True)
BOARD = st.dictionaries(
    REF, st.dictionaries(PIN, NET, min_size=1, max_size=4), min_size=1, max_size=5
)


def nets_of(parts):
    nets = {}
    for ref, pins in parts.items():
        for pin, net in pins.items():
            nets.setdefault(net, []).append((ref, pin))
    return nets


def as_tedax(parts):
    lines = ["tEDAx v1", "begin netlist v1 x"]
    lines += [f"value {ref} 1k" for ref in parts]
    for net, ends in nets_of(parts).items():
        lines += [f"conn {net} {ref} {pin}" for ref, pin in ends]
    return "\n".join([*lines, "end netlist", ""])


def as_tango(parts):
    text = "".join(f"[\n{ref}\nP\nD\n1k\n\n]\n" for ref in parts)
    for net, ends in nets_of(parts).items():
        text += "\n".join(["(", net, *(f"{ref}-{pin}" for ref, pin in ends), ")\n"])
    return text


def as_pads(parts):
    text = "!PADS-POWERPCB-V3.0-MILS!\n\n*PART*\n"
    text += "".join(f"{ref}\tunknown\n" for ref in parts) + "\n*NET*\n"
    for net, ends in nets_of(parts).items():
        text += f"*SIGNAL* {net}\n " + " ".join(f"{r}.{p}" for r, p in ends) + "\n"
    return text + "*END*\n"


WRITERS = {"tedax": as_tedax, "tango": as_tango, "pads_netlist": as_pads}


@pytest.mark.parametrize("format", WRITERS)
@given(parts=BOARD)
@settings(max_examples=50, deadline=None)
def test_nothing_is_lost_or_joined(format, parts, tmp_path_factory):
    path = tmp_path_factory.mktemp("law") / "law.net"
    path.write_text(WRITERS[format](parts))
    board = load(path)
    assert board.format == format
    assert {p.ref: {q.number: q.net for q in p.pins} for p in board.parts} == parts


SOUND = {"tedax": TEDAX, "tango": TANGO, "pads_netlist": PADS}


@pytest.mark.parametrize("format", SOUND)
def test_damage_is_one_line_and_never_a_traceback(format, tmp_path):
    chance = random.Random(format)
    sound = SOUND[format].encode()
    words = [b"[", b")", b"*SIGNAL*", b"\\", b"\0", b"\xff", b"\n", b"end netlist\n"]
    path = tmp_path / "damaged.net"
    refused = []
    for _ in range(600):
        data = bytearray(sound)
        for _ in range(chance.choice([1, 1, 2, 5])):
            at = chance.randrange(len(data))
            if chance.random() < 0.5:
                del data[at : at + chance.choice([1, 1, 5, 40])]
            elif chance.random() < 0.5:
                data[at:at] = chance.choice(words)
            else:
                start = chance.randrange(len(data))
                data[at:at] = data[start : start + 40]
        path.write_bytes(bytes(data) or b" ")
        try:
            load(path, format)
        except ImporterError as error:
            refused.append(str(error))
    assert len(refused) > 100
    assert all(text.isprintable() for text in refused)


@pytest.mark.parametrize("format", WRITERS)
def test_work_grows_with_size_alone(format, tmp_path):
    def work(count):
        parts = {f"R{n}": {"1": f"n{n}", "2": f"n{n // 2}"} for n in range(count)}
        path = tmp_path / f"{count}.net"
        path.write_text(WRITERS[format](parts))

        def run():
            assert load(path, format).pin_count == 2 * count

        return operations(run)

    assert work(2000) < 5 * work(500)
