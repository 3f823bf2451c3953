"""Where symbols come from, and what is said where there is none."""

import pytest
from _drawn import LIBRARY, Project, label, part

from ohmtrail.importers import ImporterError
from ohmtrail.importers._trace import traced


def pins(board, ref="R1"):
    return [pin.number for pin in board.part_by_ref[ref].pins]


def test_aliases_and_the_cache_s_spelling_of_names(project):
    project.write("board-cache.lib", LIBRARY.replace("DEF R R", "DEF Device_R R"))
    for name in ("Device:R", "Device:RES", "RES"):
        assert pins(project.load(part("R1", 0, 0, name))) == ["1", "2"]


@pytest.mark.parametrize(
    ("file", "more"),
    [
        ("board-cache.lib", {}),
        ("board.cache.lib", {}),
        ("board-rescue.lib", {}),
        ("other.lib", {}),
        ("parts/own.lib", {"board.pro": "[eeschema]\nLibName1=parts/own\n"}),
        (
            "parts/own.lib",
            {
                "sym-lib-table": "(sym_lib_table\n  (lib (name Own)(type Legacy)"
                '(uri ${KIPRJMOD}/parts/own.lib)(options "")(descr ""))\n)\n'
            },
        ),
    ],
)
def test_places(tmp_path, file, more):
    project = Project(tmp_path, library="")
    (tmp_path / "parts").mkdir()
    project.write(file, LIBRARY)
    for name, text in more.items():
        project.write(name, text)
    assert pins(project.load(part("R1", 0, 0))) == ["1", "2"]
    assert pins(project.load(part("R1", 0, 0, "Own:R"))) == ["1", "2"]


def test_the_cache_wins_over_a_library_changed_since(project):
    project.write("newer.lib", LIBRARY.replace("X ~ 2 0 -150", "X ~ 3 0 -150"))
    assert pins(project.load(part("R1", 0, 0))) == ["1", "2"]


def test_libraries_outside_the_project_are_not_read(tmp_path):
    inside = tmp_path / "project"
    inside.mkdir()
    (tmp_path / "out.lib").write_text(LIBRARY)
    project = Project(inside, library="")
    project.write("board.pro", "LibName1=../out\n")
    with traced() as files:
        board = project.load(part("R1", 0, 0))
    assert pins(board) == []
    assert not any("out.lib" in name for name in files)


def test_a_missing_symbol_is_reported_and_the_part_kept(project):
    board = project.load(part("Q1", 0, 0, "Device:Q_NMOS_GSD"), part("R1", 900, 0))
    assert pins(board, "Q1") == []
    assert board.part_by_ref["Q1"].library == "Device:Q_NMOS_GSD"
    (found,) = board.unused
    assert (found.where, found.count) == ("Q1", 1)
    assert "Device:Q_NMOS_GSD no library holds" in found.what


def test_power_symbols_without_a_library_still_name_their_net(project):
    """Every power port of KiCad's library is one hidden pin at its origin."""
    flag = part("#FLG01", 1000, 850, "power:PWR_FLAG", value="PWR_FLAG")
    board = project.load(
        part("R1", 1000, 1000), part("#PWR01", 1000, 1150, "power:+3V3", value="+3V3"),
        flag,
    )  # fmt: skip
    assert board.part_by_ref["R1"].pin("2").net == "+3V3"
    assert board.part_by_ref["R1"].pin("1").net == "Net-(R1-Pad1)"
    (found,) = board.unused
    assert found.count == 2
    assert found.what == "power symbol that no library holds, taken by its value"


def test_libraries_of_an_installed_kicad_5(tmp_path, monkeypatch):
    folder = tmp_path / "installed"
    folder.mkdir()
    (folder / "Device.lib").write_text(LIBRARY)
    monkeypatch.setenv("KICAD_SYMBOL_DIR", str(folder))
    board = Project(tmp_path, library="").load(part("R1", 0, 0, "Device:R"))
    assert pins(board) == ["1", "2"]
    assert [(u.what, u.where) for u in board.unused] == [
        ("symbol that only the installed KiCad 5 libraries hold", "Device:R")
    ]


DOCUMENTS = """EESchema-DOCLIB  Version 2.0
#
$CMP R
D Resistor, any size
K resistor R
F ~
$ENDCMP
#
#End Doc Library
"""


def test_words_about_a_symbol(project):
    project.write("board-cache.dcm", DOCUMENTS)
    (resistor,) = project.load(part("R1", 0, 0)).parts
    assert resistor.description == "Resistor, any size"
    assert resistor.keywords == "resistor R"


def test_words_that_break_off(project):
    project.write("board-cache.dcm", DOCUMENTS[:60])
    with pytest.raises(ImporterError) as caught:
        project.load(part("R1", 0, 0))
    message = str(caught.value).rpartition("/")[2]
    assert message == (
        "board-cache.dcm:3: found no $ENDCMP for this symbol, expected one"
    )


def test_a_namesake_from_another_library_is_reported(project):
    board = project.load(part("R1", 0, 0, "Device:R"))
    assert pins(board) == ["1", "2"]
    assert [(u.what, u.where) for u in board.unused] == [
        ("symbol taken from a library of another name, for its own is absent",
         "Device:R")
    ]  # fmt: skip


def test_every_file_read_is_noted(project):
    with traced() as files:
        project.load(part("R1", 0, 0), label("A", 0, 0))
    noted = {name.rsplit("/", 1)[-1]: read is not None for name, read in files.items()}
    assert noted["board.sch"]
    assert noted["board-cache.lib"]
    assert noted["board-rescue.lib"] is False
    assert noted["sym-lib-table"] is False


def test_a_spice_model_beside_the_sheets_is_no_library(project):
    project.write("model.lib", ".subckt buck 1 2\n.ends\n")
    assert project.load(part("R1", 0, 0)).unused == ()
