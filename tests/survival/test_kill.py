"""A killed import, assessment, night and edit; ``kill.py`` does a hundred of each."""

from pathlib import Path

import numpy as np

from tests.survival.kill import killed, prepare, undisturbed


def test_a_killed_command_loses_nothing_and_can_be_repeated(tmp_path: Path) -> None:
    rng = np.random.default_rng(7)
    for task in prepare(tmp_path):
        lasts, want = undisturbed(tmp_path, task)
        assert killed(tmp_path, task, rng, lasts, want) == "", task.name
