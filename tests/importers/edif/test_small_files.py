"""Rules of EDIF 2 0 0, on files small enough to check by eye."""

import random

import pytest
from _operations import operations
from hypothesis import given, settings
from hypothesis import strategies as st

from ohmtrail.importers import ImporterError, load

PRIMITIVES = """
 (library PRIM (edifLevel 0) (technology (numberDefinition))
  (cell FET (cellType GENERIC) (view V (viewType NETLIST)
   (interface (port D) (port G (direction INPUT)) (port S))))
  (cell R (cellType GENERIC) (view V (viewType NETLIST)
   (interface (port (rename &1 "1") (direction INOUT)) (port &2))))
  (cell BUS (cellType GENERIC) (view V (viewType NETLIST)
   (interface (port (array (rename q "q[1:0]") 2) (direction OUTPUT)))))
 )
"""


def instance(name, cell, more="", library="PRIM"):
    return (
        f"(instance {name} (viewRef V (cellRef {cell} (libraryRef {library}))) {more})"
    )


def net(name, *ends):
    words = []
    for end in ends:
        ref, _, pin = end.rpartition(".")
        words.append(
            f"(portRef {pin} (instanceRef {ref}))" if ref else f"(portRef {pin})"
        )
    return f"(net {name} (joined {' '.join(words)}))"


def cell(name, interface, contents):
    return (
        f"(cell {name} (cellType GENERIC) (view V (viewType NETLIST)"
        f" (interface {interface}) (contents {contents})))"
    )


def text_of(contents, before="", interface="", design=True):
    text = "(edif small (edifVersion 2 0 0) (edifLevel 0)\n"
    text += " (keywordMap (keywordLevel 0))" + PRIMITIVES
    text += " (library WORK (edifLevel 0)\n" + before
    text += f"  (cell top (view V (viewType NETLIST) (interface {interface})\n"
    text += f"   (contents\n{contents}))))\n"
    if design:
        text += " (design d (cellRef top (libraryRef WORK)))"
    return text + ")\n"


@pytest.fixture
def read(tmp_path):
    def read(contents, **more):
        path = tmp_path / "small.edf"
        path.write_text(text_of(contents, **more), encoding="utf-8")
        return load(path)

    return read


@pytest.fixture
def refused(read):
    def refused(contents, **more):
        with pytest.raises(ImporterError) as caught:
            read(contents, **more)
        where, _, message = str(caught.value).partition("small.edf:")
        assert where
        assert "\n" not in message
        return message

    return refused


def pins(board):
    return {pin.key: pin.net for part in board.parts for pin in part.pins}


def test_case_of_keywords_and_names_does_not_count(read):
    contents = instance("Rg", "r") + net("GATE", "RG.&1")
    upper = contents.replace("instance", "INSTANCE").replace("portRef", "PORTREF")
    assert pins(read(contents)) == pins(read(upper)) == {"Rg.1": "GATE", "Rg.2": None}


def test_people_see_the_names_before_renaming(read):
    board = read(
        instance('(rename R_1_ "R(1)")', "R")
        + net('(rename n_plus "+12V/A")', "R_1_.&1")
    )
    assert pins(board) == {"R(1).1": "+12V/A", "R(1).2": None}


def test_member_counts_from_the_left(read):
    """REFERENCES of spydrnet's multi_port.edf: q[1:0], member 0 is q[1]."""
    board = read(
        instance("u", "BUS")
        + net("high", "u.(member q 0)")
        + net("low", "u.(member q 1)")
    )
    assert pins(board) == {"u.q[1]": "high", "u.q[0]": "low"}


def test_arrays_of_nets_and_instances_join_bit_by_bit(read):
    board = read(
        instance("(array ph 2)", "FET")
        + instance("u", "BUS")
        + "(net (array g 2) (joined (portRef q (instanceRef u))"
        " (portRef G (instanceRef ph))))"
        + net("vin", "(member ph 0).D", "(member ph 1).D")
    )
    found = pins(board)
    assert found["u.q[1]"] == found["ph[0].G"] == "g[0]"
    assert found["u.q[0]"] == found["ph[1].G"] == "g[1]"
    assert found["ph[0].D"] == found["ph[1].D"] == "vin"


def test_hierarchy_is_flattened_with_paths(read):
    phase = cell(
        "phase",
        "(port vin) (port sw)",
        instance("M1", "FET")
        + instance("Rg", "R")
        + net("vin", "vin", "M1.D")
        + net("gate", "M1.G", "Rg.&1")
        + net("s", "sw", "M1.S"),
    )
    board = read(
        instance("A", "phase", library="WORK")
        + instance("B", "phase", library="WORK")
        + net("VIN", "A.vin", "B.vin")
        + net("SWA", "A.sw")
        + net("SWB", "B.sw"),
        before=phase,
    )
    found = pins(board)
    assert found["A/M1.D"] == found["B/M1.D"] == "VIN"
    assert (found["A/M1.S"], found["B/M1.S"]) == ("SWA", "SWB")
    assert found["A/M1.G"] == found["A/Rg.1"] == "A/gate"
    assert found["B/M1.G"] == found["B/Rg.1"] == "B/gate"
    assert board.part_by_ref["A/M1"].sheet == "/A/"
    assert board.sheets == ("/", "/A/", "/B/")


def test_a_cell_that_passes_a_net_through_joins_its_ports(read):
    wire = cell("wire", "(port a) (port b)", net("w", "a", "b"))
    board = read(
        instance("x", "wire", library="WORK")
        + instance("R1", "R")
        + net("left", "x.a", "R1.&1")
        + net("right", "x.b", "R1.&2"),
        before=wire,
    )
    assert pins(board) == {"R1.1": "left", "R1.2": "left"}
    assert board.net_by_name["left"].aliases == ("right",)


def test_global_ports_join_across_the_hierarchy(read):
    inner = cell(
        "inner",
        "",
        instance("R1", "R")
        + "(net g (joined (portRef &1 (instanceRef R1)) (globalPortRef GND)))",
    )
    board = read(
        instance("R1", "R")
        + instance("u", "inner", library="WORK")
        + "(net g (joined (portRef &1 (instanceRef R1)) (globalPortRef GND)))",
        before=inner,
    )
    assert pins(board)["R1.1"] == pins(board)["u/R1.1"] == "g"


def test_properties_designators_and_sections(read):
    board = read(
        instance(
            "i1",
            "R",
            '(designator "R7") (property VALUE (string "4%107%7"))'
            ' (property Tolerance (number (e 1 -2))) (property Footprint "0603")',
        )
        + instance(
            "i2",
            "FET",
            '(designator "Q1") (portInstance D (designator "3"))'
            '(portInstance G (designator "1"))(portInstance S (designator "2"))',
        )
        + instance(
            "i3",
            "FET",
            '(designator "Q1") (portInstance D (designator "6"))'
            '(portInstance G (designator "4"))(portInstance S (designator "2"))',
        )
        + net("GND", "i2.S", "i3.S")
        + net("sw", "i2.D")
    )
    r7 = board.part_by_ref["R7"]
    assert (r7.value, r7.footprint) == ("4k7", "0603")
    assert r7.fields == (("Tolerance", "1e-2"),)
    q1 = board.part_by_ref["Q1"]
    assert {p.number: (p.name, p.net) for p in q1.pins} == {
        "3": ("D", "sw"),
        "1": ("G", None),
        "2": ("S", "GND"),
        "6": ("D", None),
        "4": ("G", None),
    }


def test_two_nets_of_one_name_stay_two(read):
    board = read(
        instance("R1", "R")
        + net('(rename a "n")', "R1.&1")
        + net('(rename b "n")', "R1.&2")
    )
    assert pins(board) == {"R1.1": "n", "R1.2": "n#2"}
    assert any("two nets" in unused.what for unused in board.unused)


def test_without_a_design_the_cell_that_nobody_uses_is_the_top(read):
    assert pins(read(instance("R1", "R") + net("a", "R1.&1"), design=False)) == {
        "R1.1": "a",
        "R1.2": None,
    }


def test_what_joins_nothing_is_counted(read):
    board = read(instance("R1", "R") + '(comment "x") (offPageConnector y)')
    assert [u.count for u in board.unused if "offpageconnector" in u.what] == [1]


def test_errors_name_line_and_thing(refused):
    bad = instance("R1", "R") + "\n"
    assert "port &9" in refused(bad + net("a", "R1.&9"))
    assert refused(bad + net("a", "R1.&9")).startswith("15:")
    assert "instance R9" in refused(bad + net("a", "R9.&1"))
    assert "cell Z" in refused(instance("R1", "Z"))
    assert "library NO" in refused(instance("R1", "R", library="NO"))
    assert "but it is in net a" in refused(bad + net("a", "R1.&1") + net("b", "R1.&1"))
    assert "instance R1 again" in refused(bad + bad)
    assert "member 2" in refused(instance("u", "BUS") + net("a", "u.(member q 2)"))
    assert "found 2 port bits" in refused(instance("u", "BUS") + net("a", "u.q"))
    assert "inside itself" in refused(instance("x", "top", library="WORK"))


def test_a_cell_inside_itself_by_way_of_another_is_refused(refused):
    one = cell("one", "", instance("t", "two", library="WORK"))
    two = cell("two", "", instance("o", "one", library="WORK"))
    contents = instance("x", "one", library="WORK")
    assert "inside itself" in refused(contents, before=one + two)


def test_a_bomb_of_cells_is_refused_at_once(refused):
    before = cell("c0", "", instance("a", "R") + instance("b", "R"))
    for n in range(1, 60):
        inner = instance("a", f"c{n - 1}", library="WORK")
        inner += instance("b", f"c{n - 1}", library="WORK")
        before += cell(f"c{n}", "", inner)
    message = refused(instance("x", "c59", library="WORK"), before=before)
    assert "expected at most" in message


def test_a_chain_of_cells_too_deep_is_refused_at_once(refused):
    before = cell("c0", "", instance("a", "R"))
    for n in range(1, 5000):
        before += cell(f"c{n}", "", instance("a", f"c{n - 1}", library="WORK")) + "\n"
    message = refused(instance("x", "c4999", library="WORK"), before=before)
    assert "nested deeper" in message


@pytest.mark.parametrize(
    "text",
    [
        "(edif" * 100_000,
        "(edif x" + "(a " * 390 + ")" * 391,
        "(edif x (library l (cell c (view v (interface (port (array p 99999999)))))))",
        '(edif x (library l "',
        "(edif x))",
        "(edif x) (edif y)",
        "(edif x)",
        "(edif)",
        "(edif (rename))",
        "(edif x (library) (design d))",
        "(edif x (edifVersion 3 0 0))",
        "(edif x (edifVersion 2 0 0) (design d (cellRef a (libraryRef b))))",
        "(edif x (() ()) (design))",
    ],
    ids=range(13),
)
def test_what_is_no_netlist_gives_one_line(text, tmp_path):
    path = tmp_path / "bad.edf"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ImporterError) as caught:
        load(path)
    assert str(caught.value).isprintable()
    assert str(caught.value).startswith(f"{path}")


WORD = st.from_regex(r"[A-Za-z_][A-Za-z0-9_]{0,6}", fullmatch=True)
LABEL = st.text(
    st.characters(min_codepoint=32, max_codepoint=0x17F, exclude_categories=["C"]),
    min_size=1,
    max_size=6,
).filter(str.strip)


def quoted(text):
    return '"' + "".join(f"%{ord(c)}%" if c in '"%' else c for c in text) + '"'


@given(
    refs=st.lists(LABEL, min_size=1, max_size=5, unique=True),
    names=st.lists(LABEL, min_size=1, max_size=4, unique=True),
    data=st.data(),
)
@settings(max_examples=60, deadline=None)
def test_nothing_is_lost_or_joined(refs, names, data, tmp_path_factory):
    ends = [(k, pin) for k in range(len(refs)) for pin in ("1", "2")]
    chosen = {
        end: data.draw(st.none() | st.sampled_from(range(len(names)))) for end in ends
    }
    contents = "".join(
        instance(f"(rename i{k} {quoted(ref)})", "R") for k, ref in enumerate(refs)
    )
    for number, name in enumerate(names):
        joined = [f"i{k}.&{pin}" for (k, pin), n in chosen.items() if n == number]
        contents += net(f"(rename n{number} {quoted(name)})", *joined) + "\n"
    path = tmp_path_factory.mktemp("law") / "law.edf"
    path.write_text(text_of(contents), encoding="utf-8")
    board = load(path)
    assert {(p.ref, p.number): p.net for q in board.parts for p in q.pins} == {
        (refs[k], pin): None if n is None else names[n]
        for (k, pin), n in chosen.items()
    }
    assert [net.name for net in board.nets] == names


def test_damage_is_one_line_and_never_a_traceback(tmp_path):
    chance = random.Random(4)
    phase = cell("ph", "(port a)", instance("M", "FET") + net("g", "a", "M.G"))
    sound = text_of(
        instance("x", "ph", library="WORK")
        + instance("u", "BUS", '(designator "U1")(property VALUE (string "q"))')
        + net("n", "x.a", "u.(member q 1)")
        + '(net (rename m "m%32%") (joined (portRef (member q 0) (instanceRef u))))',
        before=phase,
    ).encode()
    words = [b"(", b")", b'"', b"%", b"&1", b"\0", b"\xff", b" ", b"(member q 9)"]
    path = tmp_path / "damaged.edf"
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
            load(path, "edif")
        except ImporterError as error:
            refused.append(str(error))
    assert len(refused) > 200
    assert all(text.isprintable() for text in refused)


def test_work_grows_with_size_alone(tmp_path):
    def work(count):
        contents = "".join(
            instance(f"R{n}", "R") + net(f"n{n}", f"R{n}.&1", f"R{n}.&2") + "\n"
            for n in range(count)
        )
        path = tmp_path / f"{count}.edf"
        path.write_text(text_of(contents), encoding="utf-8")

        def run():
            assert load(path).pin_count == 2 * count

        return operations(run)

    assert work(2000) < 5 * work(500)
