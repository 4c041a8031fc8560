"""Kill -9 at random moments: nothing that was done is lost, and no half list is left.

`scripts/bench/kills.py` does the same as often as it is told.
"""

from __future__ import annotations

import json
import signal
from pathlib import Path

import pytest

from tests.helpers.running.processes import run_python

KILLS = 80
SEED = 7
KILL_OFTEN = """
import json, sys
from pathlib import Path
from tests.helpers.running.killing import kill_often
tally = kill_often(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
print(json.dumps(tally.after))
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system has no kill -9")
def test_nothing_done_is_lost_at_random_kills(tmp_path: Path) -> None:
    """In a process of its own, which forks: this one has threads."""
    after = json.loads(run_python(KILL_OFTEN, tmp_path, str(KILLS), str(SEED)))
    assert sum(after.values()) == KILLS
    assert {"planned", "kept", "scanned", "decided", "exported"} <= after.keys()
