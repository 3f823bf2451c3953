"""What all tests share: the way to the oracles, and what to do without them."""

import os
import sys
from pathlib import Path

import pytest
from hypothesis import settings

# Where all must pass before a change lands, the examples drawn are always the same:
# a rare find belongs to whoever runs the tests by hand, not to the next change.
settings.register_profile("landing", derandomize=True, database=None)
if os.environ.get("OHMTRAIL_REQUIRE_ORACLES"):
    settings.load_profile("landing")

# For ``from _oracles import designs`` whatever pytest's import mode.
sys.path.append(str(Path(__file__).parent))


def pytest_configure(config):
    config.addinivalue_line(
        "markers", "oracle_absent(reason): the outside check that it needs is absent"
    )


def pytest_runtest_setup(item):
    mark = item.get_closest_marker("oracle_absent")
    if mark is not None:
        reason = mark.args[0]
        if os.environ.get("OHMTRAIL_REQUIRE_ORACLES") == "1":
            pytest.fail(reason, pytrace=False)
        pytest.skip(reason)
