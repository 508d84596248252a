"""Reading a slate starts no threads: workers have a core each, and would compete."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

COUNT = """
import os
import onsite.slates.reader.point_spread as point_spread
import numpy as np
wide = np.ones((2304, 137), np.float32)
wide.T @ wide
print(len(os.listdir("/proc/self/task")))
"""


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="threads are counted as Linux lists them")
def test_linear_algebra_stays_in_its_thread(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    done = subprocess.run([sys.executable, "-c", COUNT], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "1"
