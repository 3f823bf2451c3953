"""Shared cases made by hand, whole or damaged in one place."""

import gzip
import hashlib
import json

LOG = "when,action,part,mode,plus,minus,value,note\n,measure,,resistance,VIN,GND,0.3,\n"


def body(**changes):
    """The contents of a small case, a few keys changed."""
    pins = [["1", 0, "", "", 1.0, 2.0, "top", [0.5, 0.4]], ["2", 1]]
    board = {
        "name": "bench",
        "source": "pin_table",
        "sheets": [],
        "nominal": [["VIN", 12]],
        "unused": [["odd thing", "line 3", 2]],
        "nets": [["VIN", "+12V"], ["GND"]],
        "outline_mm": [[[0, 0], [10, 0]]],
        "parts": [{"ref": "C1", "value": "10u", "kind": "capacitor", "pins": pins}],
    }
    told = {"board": board, "log_name": "log.csv", "log": LOG, "question": "C1?"}
    for key, value in changes.items():
        place, _, last = key.rpartition("__")
        where = told[place] if place else told
        where[last] = value
    return told


def packed(told, *, version="1", digest=None, size=None, pack=gzip.compress):
    """Return the bytes of a case, with a first line that may lie."""
    data = told if isinstance(told, bytes) else json.dumps(told).encode()
    digest = digest or hashlib.sha256(data).hexdigest()
    size = len(data) if size is None else size
    return pack(f"ohmtrail shared case {version} {digest} {size}\n".encode() + data)
