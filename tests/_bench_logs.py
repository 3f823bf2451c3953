"""A small invented board and logs for it, for the tests of the bench log."""

from _small_boards import board

from ohmtrail.netanalysis.diagnosis.log_text import read_log

HEADER = "when,action,part,mode,plus,minus,value,note"

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
