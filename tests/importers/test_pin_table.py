"""The typed table: what somebody traces by eye, and the blanks for it."""

import pytest
from _oracles import board_nodes, corpus_file, partition_differences, read_oracle

from ohmtrail.importers import ImporterError, load
from ohmtrail.importers.pin_table.blank import PHASES_MAX, blank_table
from ohmtrail.netanalysis.board import Unused
from ohmtrail.netanalysis.circuit import KINDS, STAGE_KINDS

TABLE = """\
ref,pin,net,name,value,kind
Q1,4,GH,G,SI7156,mosfet
Q1,5,VIN,D,,
R1,1,DRV,,2R2,
Q1,1,SW,S,,
R1,2,GH,,,resistor
U1,7,DRV,UGATE,,chip
U1,8,,NC,,
"""


def read(tmp_path, text, name="t.csv"):
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return load(path)


def error(tmp_path, text):
    with pytest.raises(ImporterError) as caught:
        read(tmp_path, text)
    assert "\n" not in str(caught.value)
    return str(caught.value).replace(str(tmp_path / "t.csv"), "FILE")


def test_a_stage_traced_by_eye(tmp_path):
    board = read(tmp_path, TABLE)
    assert [n.name for n in board.nets] == ["GH", "VIN", "SW", "DRV"]
    assert [(p.ref, p.value, p.stated_kind) for p in board.parts] == [
        ("Q1", "SI7156", "mosfet"),
        ("R1", "2R2", "resistor"),
        ("U1", "", "chip"),
    ]
    assert [(p.number, p.name, p.net) for p in board.parts[0].pins] == [
        ("4", "G", "GH"),
        ("5", "D", "VIN"),
        ("1", "S", "SW"),
    ]
    assert board.part_by_ref["U1"].pin("8").net is None
    assert board.unused == ()


def reordered(text):
    rows = [line.split(",") for line in text.splitlines()]
    return "\n".join(",".join(row[::-1]) for row in rows)


@pytest.mark.parametrize(
    "form",
    [
        lambda t: t.replace(",", "\t"),
        lambda t: t.replace(",", ";"),
        lambda t: t.replace("\n", "\r\n"),
        lambda t: t.replace("\n", "\r"),
        lambda t: "\ufeff" + t,
        lambda t: "".join(
            ",".join(f'"{cell}"' for cell in line.split(",")) + "\n"
            for line in t.splitlines()
        ),
        lambda t: t.replace(",", " , "),
        lambda t: "# traced on Tuesday, by lamp\n\n" + t.replace("\n", "\n\n# x, y\n"),
        lambda t: '"# traced, then saved again",,,,,\n' + t,
        lambda t: t.replace("\n", ",,,\n"),
        lambda t: t.replace("ref,pin,net,name", "REF,Pin,Net,NAME"),
        reordered,
        lambda t: t.replace("mosfet", "MOSFET"),
        lambda t: t + "Q1,5,VIN,,,\nQ1,,,,SI7156,mosfet\n",
        lambda t: t.encode("utf-8"),
    ],
)
def test_the_same_table_in_other_clothes(tmp_path, form):
    assert read(tmp_path, form(TABLE)) == read(tmp_path, TABLE)


def test_three_columns_are_enough_and_short_rows_too(tmp_path):
    board = read(tmp_path, "ref\tpin\tnet\nR1\t1\tA\nR1\t2\n")
    assert board_nodes(board) == {("R1", "1"): "A", ("R1", "2"): None}


def test_odd_texts_stay_as_they_are(tmp_path):
    text = 'net,ref,pin,value\n#RESET,R1,1,"1 k, 1 %"\n"Net-(R1-""A"")",R1,2,\n'
    board = read(tmp_path, text)
    assert [n.name for n in board.nets] == ["#RESET", 'Net-(R1-"A")']
    assert board.parts[0].value == "1 k, 1 %"
    assert read(tmp_path, "ref,pin,net\nR1,1,\xb5P\n").nets[0].name == "\xb5P"
    latin = "ref,pin,net\nR1,1,\xb5P\n".encode("latin-1")
    assert read(tmp_path, latin).nets[0].name == "\xb5P"


def test_further_columns_are_fields_of_the_part(tmp_path):
    text = "ref,pin,net,Shelf,note\nR1,1,A,B7,hot\nR1,2,B,B7,cold\n"
    assert read(tmp_path, text).parts[0].fields == (
        ("Shelf", "B7"),
        ("note", "hot; cold"),
    )


def test_a_net_called_nc_is_doubted_aloud(tmp_path):
    board = read(tmp_path, "ref,pin,net\nU1,1,NC\nU1,2,NC\nU2,1,n/c\n")
    assert board.unused == (
        Unused("net that joins pins though its name says not connected", "NC"),
    )


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "ref,pin\nR1,1\n",
            "FILE:1: found the columns ref, pin; expected ref, pin and "
            "net (net not there)",
        ),
        (
            "#\nref,net\nR1,A\n",
            "FILE:2: found the columns ref, net; expected ref, pin "
            "and net (pin not there)",
        ),
        ("ref,pin,net,pin\nR1,1,A,1\n", "FILE:1: found the column pin twice"),
        ("ref,pin,net\n", "FILE:1: found a header and no rows"),
        ("ref,pin,net\n,1,A\n", "FILE:2: found a row without a ref"),
        (
            "ref,pin,net\nR1,,A\n",
            "FILE:2: found a row of R1 without a pin, expected one",
        ),
        ("ref,pin,net\nR1,1,A,B\n", "FILE:2: found 'B' outside the 3 columns"),
        ("ref,pin,net,\nR1,1,A,B\n", "FILE:2: found 'B' outside the 4 columns"),
        (
            "ref,pin,net\nR1,1,A\n\n# x\nR2,1,A\nR1,1,B\n",
            "FILE:6: found pin R1.1 in net 'B', but line 2 says net 'A'",
        ),
        (
            "ref,pin,net\nR1,1,A\nR1,1,\n",
            "FILE:3: found pin R1.1 in no net, but line 2 says net 'A'",
        ),
        (
            "ref,pin,net,name\nQ1,1,A,G\nQ1,1,A,S\n",
            "FILE:3: found name 'S' for pin Q1.1, but line 2 says 'G'",
        ),
        (
            "ref,pin,net,value\nR1,1,A,10k\nR1,2,B,\nR1,3,B,22k\n",
            "FILE:4: found value '22k' for R1, but line 2 says '10k'",
        ),
        (
            "ref,pin,net,kind\nQ1,1,A,mosfet\nQ1,2,B,diode\n",
            "FILE:3: found kind 'diode' for Q1, but line 2 says 'mosfet'",
        ),
        (
            "ref,pin,net,kind\nQ1,1,A,mosfte\n",
            "FILE:2: found the kind 'mosfte', expected "
            f"one of {', '.join(KINDS)}; did you mean mosfet?",
        ),
        (
            'ref,pin,net\nR1,1,"A\nR1,2,B\n',
            "FILE:2: found a damaged row (unexpected end of data)",
        ),
        (
            'ref,pin,net\nR1,1,"A"B\n',
            "FILE:2: found a damaged row (',' expected after '\"')",
        ),
        ("ref,pin,net\nR1,1,A\nR1,2,\0\n", "FILE:3: found a null byte, expected text"),
        (
            "ref,pin,net\nR1,1," + "A" * 200_000,
            "FILE:2: found a damaged row (field larger than field limit (131072))",
        ),
    ],
)
def test_a_bad_row_names_its_line(tmp_path, text, message):
    assert error(tmp_path, text) == message


def test_a_table_of_empty_cells_alone(tmp_path):
    path = tmp_path / "empty.csv"
    path.write_text(",\n,,\n")
    with pytest.raises(ImporterError) as caught:
        load(path, "pin_table")
    assert str(caught.value) == f"{path}:1: found no header, expected ref,pin,net"


def test_lines_are_counted_through_quoted_line_ends(tmp_path):
    text = 'ref,pin,net,note\nR1,1,A,"two\nlines"\nR1,1,B,\n'
    assert error(tmp_path, text) == (
        "FILE:4: found pin R1.1 in net 'B', but line 2 says net 'A'"
    )


def test_a_real_board_as_a_table(tmp_path):
    """All pins of a real oracle, typed as a table, come back as they were."""
    oracle = corpus_file("nets/cynthion/sch_nodes.kicad-cli.tsv")
    board = read(tmp_path, oracle.read_text(encoding="utf-8"))
    assert board_nodes(board) == read_oracle(oracle)
    assert partition_differences(board, oracle) == []


# Blanks -------------------------------------------------------------------------


@pytest.mark.parametrize("stage", [None, *STAGE_KINDS])
@pytest.mark.parametrize("phases", [1, 2, 12])
def test_every_blank_imports_cleanly(tmp_path, stage, phases):
    board = read(tmp_path, blank_table(stage, phases))
    assert board.unused == ()
    assert all(part.stated_kind for part in board.parts)
    assert "GND" in board.net_by_name


@pytest.mark.parametrize("stage", STAGE_KINDS)
def test_a_phase_more_is_the_same_rows_again(tmp_path, stage):
    two, three = (read(tmp_path, blank_table(stage, n)) for n in (2, 3))
    new = {p.ref for p in three.parts} - {p.ref for p in two.parts}
    assert new
    assert {p.ref for p in two.parts} < {p.ref for p in three.parts}
    second = {r.replace("3", "2", 1) for r in new}
    assert second <= {p.ref for p in two.parts}


def test_only_shunts_have_values():
    """A blank must not lend a filled-in table resistances that nobody read."""
    for stage in STAGE_KINDS:
        rows = [r.split(",") for r in blank_table(stage).splitlines() if r[0] != "#"]
        assert {row[4] for row in rows[1:]} <= {"", "1m", "10m"}


def test_a_blank_that_cannot_be():
    with pytest.raises(ValueError, match="no stage kind 'toaster'"):
        blank_table("toaster")
    for phases in 0, PHASES_MAX + 1:
        with pytest.raises(ValueError, match=f"found {phases} phases"):
            blank_table("buck", phases)
