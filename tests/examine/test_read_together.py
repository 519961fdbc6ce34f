"""The server reads the build in one thread while another makes its pages."""

from __future__ import annotations

import subprocess
import sys

TOGETHER = """
import importlib, sys, threading, time
import drybuild.examine.examination

class Slow:
    def find_spec(self, name, path=None, target=None):
        if name.startswith("drybuild.systems.ride."):
            time.sleep(0.01)

sys.meta_path.insert(0, Slow())
other = threading.Thread(target=importlib.import_module, args=("drybuild.systems.ride",))
other.start()
time.sleep(0.05)
import drybuild.examine.setting_sheet
other.join()
"""


def test_a_room_that_another_thread_still_reads_is_waited_for() -> None:
    run = subprocess.run([sys.executable, "-c", TOGETHER], capture_output=True, text=True)
    assert run.returncode == 0, run.stderr
    assert "Error" not in run.stderr
