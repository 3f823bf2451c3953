"""A bad row is one line: file, line, what was found, what was expected."""

import pytest
from _bench_logs import BOARD, EXAMPLE, HEADER, read
from hypothesis import given
from hypothesis import strategies as st

from ohmtrail.netanalysis.diagnosis.log import LogError
from ohmtrail.netanalysis.diagnosis.log_text import decode_log, read_log

BAD = [
    (",measure,,resistance,VMAIN,GND,0.452V,", "'0.452V' in resistance mode", "ohms"),
    (",measure,,resistance,VMAIN,GND,12;6,", "'12;6' in resistance mode", "ohms"),
    (",measure,,diode,GND,Q12.5,4k7,", "'4k7' in diode mode", "volts"),
    (",measure,,diode,GND,Q12.5,452,", "'452' in diode mode", "452mV"),
    (",measure,,resistance,VMAIN,GND,-3,", "'-3' in resistance mode", "ohms"),
    (",measure,,resistance,VMAIN,GND,nan,", "'nan' in resistance mode", "ohms"),
    (",measure,,resistance,VMAIN,GND,inf,", "'inf' in resistance mode", "OL"),
    (",measure,,resistance,VMAIN,GND,about 2,", "'about 2'", "ohms"),
    (",measure,,resistance,VMAIN,GND,,", "no value in resistance mode", "n/a"),
    (",measure,,voltage,VMAIN,GND,OL,", "'OL' in voltage mode", "volts"),
    (",measure,,,VMAIN,GND,2,", "nothing", "a mode: resistance, diode, four-wire"),
    (",measure,,diod,VMAIN,GND,2,", "'diod'", "did you mean diode?"),
    (",measure,,resistance,VMIAN,GND,2,", "no net 'VMIAN'", "nearest: VMAIN"),
    (",measure,,resistance,Q12.6,GND,2,", "no pad 'Q12.6'", "nearest: Q12.1"),
    (",measure,,resistance,VMAIN,,2,", "no minus in a measure row", "a pad or net"),
    (
        ",measure,Q12,resistance,Q12.5,Q12.1,2,",
        "Q12 measured in the hand while it is on",
        "a lift",
    ),
    (",lift,Q21,,,,,", "no part 'Q21'", "nearest: "),
    (",lift,,,,,,", "no part in a lift row", "a part"),
    (",lift,Q12,,,,out,", "'out' under value in a lift row", "nothing there"),
    (",look,Q12,,,,fine,", "'fine'", "ok, burnt, cracked, wet, reworked, missing"),
    (",look,Q12,,VMAIN,,ok,", "'VMAIN' under plus in a look row", "nothing there"),
    (",fit,Q12,,,,,", "nothing", "new, same"),
    (",fit,Q12,,,,same,", "the same Q12 fitted", "a lift of Q12 before"),
    (",inject,,,VMAIN,GND,0.8 2.1,", "'0.8 2.1' in an inject row", "0.8V 2.1A"),
    (",inject,,,VMAIN,GND,2.1A,", "'2.1A' in an inject row", "0.8V 2.1A"),
    (",inject,,,,,0.8V 2.1A,", "no plus in an inject row", "a pad or net"),
    (",power,,,VIN,GND,ok,", "'ok'", "runs, limit, dead, died"),
    (",power,,,VIN,,runs,", "one point in a power row", "plus and minus"),
    (",weld,Q12,,,,,", "'weld'", "look, measure, lift, fit, inject, power"),
    (",lift,Q12,,,,,19 V, limit 0.5 A", "'limit 0.5 A' beyond the 8", "quotes"),
    (',lift,Q12,,,,,"half', "a damaged row", "quotes in pairs"),
]


@pytest.mark.parametrize(("row", "found", "expected"), BAD, ids=[row[0] for row in BAD])
def test_bad_rows(row, found, expected):
    with pytest.raises(LogError) as caught:
        read(",measure,,resistance,VMAIN,GND,2,", "", row)
    text = str(caught.value)
    assert text.startswith(f"log.csv:4: found {found}")
    assert expected in text
    assert text.isprintable()
    assert caught.value.line == 4


IMPOSSIBLE = [
    ((",lift,Q12,,,,,", ",lift,Q12,,,,,"), "lifted again", "on line 2"),
    ((",look,Q12,,,,missing,", ",lift,Q12,,,,,"), "lifted", "missing"),
    (
        (
            ",lift,Q12,,,,,",
            ",fit,Q12,,,,same,",
            ",measure,Q12,resistance,Q12.5,Q12.1,2,",
        ),
        "in the hand while it is fitted again on line 3",
        "a lift of Q12 before",
    ),
    (
        (",lift,Q12,,,,,", ",measure,Q12,resistance,Q12.5,Q13.1,2,"),
        "'Q13.1' with Q12 in the hand",
        "pads of Q12",
    ),
    (
        (",lift,Q12,,,,,", ",measure,Q12,resistance,VMAIN,Q12.1,2,"),
        "'VMAIN' with Q12 in the hand",
        "pads of Q12",
    ),
]


@pytest.mark.parametrize(("rows", "found", "expected"), IMPOSSIBLE)
def test_what_cannot_have_happened(rows, found, expected):
    with pytest.raises(LogError) as caught:
        read(*rows)
    assert caught.value.line == 1 + len(rows)
    assert found in str(caught.value)
    assert expected in str(caught.value)


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("", 1, "found nothing, expected a header: when,action,part"),
        ("\n\n", 1, "found nothing, expected a header: when,action,part"),
        (",measure,,resistance,VMAIN,GND,2,\n", 1, "expected a header: when,action"),
        ("when,action,part,mode,plus,value\n", 1, "found no column minus"),
        (f"\n{HEADER},value\n", 2, "the column 'value' twice"),
        (f"{HEADER},Who,Who\n", 1, "the column 'Who' twice"),
    ],
)
def test_header(text, line, said):
    with pytest.raises(LogError) as caught:
        read_log(text, BOARD, "log.csv")
    assert caught.value.line == line
    assert said in str(caught.value)


@pytest.mark.parametrize("separator", [",", "\t"])
def test_decimal_comma_needs_semicolons(separator):
    cells = ["", "measure", "", "resistance", "VMAIN", "GND", '"12,6"', ""]
    with pytest.raises(LogError, match="found '12,6' in resistance mode"):
        read(separator.join(cells), header=HEADER.replace(",", separator))


def test_one_decimal_sign_a_sheet():
    rows = (
        ";measure;;resistance;VMAIN;GND;12,6;",
        ";measure;;resistance;VMAIN;GND;1.234;",
    )
    with pytest.raises(LogError) as caught:
        read(*rows, header=HEADER.replace(",", ";"))
    assert str(caught.value) == (
        "log.csv:3: found '1.234', expected one decimal sign in the sheet: "
        "line 2 uses ','"
    )


@pytest.mark.parametrize(
    ("data", "line", "said"),
    [
        (HEADER.encode("utf-16"), None, "found UTF-16, expected UTF-8"),
        (b"\xef\xbb\xbfa\r\nb\rc\n\xff", 4, "the byte 0xff, expected UTF-8"),
        (b"a\nb\0", 2, "the byte 0x00, expected UTF-8"),
    ],
)
def test_bytes_that_are_no_text(data, line, said):
    with pytest.raises(LogError) as caught:
        decode_log(data, "log.csv")
    assert caught.value.line == line
    assert said in str(caught.value)


HOSTILE = {
    "rows": f"{HEADER}\n" + ",lift,Q12,,,,,\n,fit,Q12,,,,new,\n" * 60_000,
    "readings": f"{HEADER}\n" + ",measure,,resistance,VMAIN,GND,2,\n" * 100_001,
    "columns": HEADER + ",x" * 1_000_000,
    "blank lines": HEADER + "\n" * 1_100_000,
    "one cell": f"{HEADER}\n{'x' * 1_000_000}",
    "a long name": f"{HEADER}\n,measure,,resistance,{'V' * 50_000},GND,2,",
    "a long value": f"{HEADER}\n,measure,,resistance,VMAIN,GND,{'9' * 50_000},",
    "control characters": f"{HEADER}\n,measure,,resistance,V\x1b[31m,GND,2,",
}


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_hostile_logs_end_in_one_short_line(text):
    with pytest.raises(LogError) as caught:
        read_log(text, BOARD, "log.csv")
    assert len(str(caught.value)) < 300
    assert str(caught.value).isprintable()


@given(
    st.integers(0, 500),
    st.integers(0, 6),
    st.text(max_size=8) | st.sampled_from([",", '"', "\n", ";", "\t", "OL", "lift"]),
)
def test_a_damaged_log_is_an_answer_or_one_line(at, length, put):
    text = EXAMPLE[:at] + put + EXAMPLE[at + length :]
    try:
        log = read_log(text, BOARD, "log.csv")
    except LogError as error:
        line = str(error)
    else:
        line = "none"
        # What was read is no more than what stands there.
        assert len(log.events) <= len(text.splitlines())
    assert line.isprintable()
