"""The demo board, recognised once, and logs written in the tests."""

import pytest

from ohmtrail.fixtures import write_demo
from ohmtrail.importers import load
from ohmtrail.netanalysis.diagnosis.log_text import read_log
from ohmtrail.netanalysis.recognise import recognise

HEADER = "when,action,part,mode,plus,minus,value,note"


@pytest.fixture(scope="session")
def demo(tmp_path_factory):
    """The demo board with everything recognised on it."""
    return recognise(load(write_demo(tmp_path_factory.mktemp("demo"))[0]))


@pytest.fixture(scope="session")
def log_of(demo):
    """Make a log of the demo board from rows without their time: "lift,Q501,,,,,"."""

    def made(rows, circuit=demo):
        lines = [line.strip() for line in rows.strip().splitlines()]
        text = "\n".join((HEADER, *(f",{line}" for line in lines)))
        return read_log(text + "\n", circuit.board, "log.csv")

    return made
