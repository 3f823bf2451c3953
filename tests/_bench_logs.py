"""A small invented board and logs for it, for the tests of the bench log."""

from _small_boards import board

from ohmtrail.netanalysis.diagnosis.log_text import read_log

HEADER = "when,action,part,mode,plus,minus,value,note"

#: The example by which the log's form is fixed.
EXAMPLE = """\
when,action,part,mode,plus,minus,value,note
2026-03-02T10:02,look,Q12,,,,burnt,
2026-03-02T10:04,measure,,resistance,VMAIN,GND,0.9,
2026-03-02T10:09,measure,,diode,GND,Q12.5,0.001,
2026-03-02T10:20,lift,Q12,,,,,
2026-03-02T10:21,measure,,resistance,VMAIN,GND,420k,
2026-03-02T10:23,measure,Q12,resistance,Q12.5,Q12.1,0.7,off the board
2026-03-02T11:02,fit,Q12,,,,new,
2026-03-02T11:10,power,,,VIN,GND,died,"19 V, limit 0.5 A; fan twitched"
"""

#: The points of CONTRACT's example, and a net below a sheet.
BOARD = board(
    """
    Q12 IRFX Device:Q_NMOS_GDS 1:S=/Core/SW 4:G=GATE 5:D=VMAIN
    Q13 IRFX Device:Q_NMOS_GDS 1:S=/Core/SW 4:G=GATE 5:D=VMAIN
    U3 CTRL - 1:VIN=VMAIN 2:GND=GND 3:EN=/Core/EN 4:NC=
    J1 PLUG - 1:=VIN 2:=GND
    C9 10u Device:C 1:=VMAIN 2:=GND dnp
    """
)


def read(*rows: str, header: str = HEADER, board=BOARD):
    """Read a log of these rows."""
    return read_log("\n".join((header, *rows)) + "\n", board, "log.csv")


def first(*rows: str, header: str = HEADER):
    """Return the last event of these rows, for a test of one row form."""
    return read(*rows, header=header).events[-1]
