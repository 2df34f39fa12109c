"""A few killed imports, assessments and edits; ``kill.py`` does a hundred of each."""

from pathlib import Path

import numpy as np

from tests.survival.kill import killed, prepare, undisturbed

MOMENTS = 2


def test_a_killed_command_loses_nothing_and_can_be_repeated(tmp_path: Path) -> None:
    rng = np.random.default_rng(7)
    for task in prepare(tmp_path):
        lasts, want = undisturbed(tmp_path, task)
        moments = 1 if task.name == "night" else MOMENTS  # it lasts as long as an assessment
        wrong = [killed(tmp_path, task, rng, lasts, want) for _ in range(moments)]
        assert wrong == [""] * moments, task.name
