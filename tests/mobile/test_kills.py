"""The battery dies at any moment: what was said to be on disk is there, and no action is half there."""

import json
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from mobile.store import Store
from tests.mobile.nursery import SURVEY, tablet

ROOT = Path(__file__).parents[2]
DEEDS = 4000


@pytest.mark.parametrize("acknowledged", [1, 2, 9, 40, 111])
def test_a_recording_that_is_killed_loses_no_acknowledged_tap(tmp_path: Path, acknowledged: int) -> None:
    """kill -9 while taps come as fast as the disk takes them: every tap that was answered is found again, whole."""
    path, slip = tmp_path / "t.sqlite", tmp_path / "slip.jsonl"
    with tablet(path):
        pass
    deeds = [{"by": "ana", "at": "T01/1.1.1", "live_tissue": n % 101} if n % 2 else _arm(n) for n in range(DEEDS)]
    slip.write_text("\n".join(map(json.dumps, deeds)))
    arguments = [sys.executable, "-m", "mobile", "record", "--data", str(path), "--survey", SURVEY, str(slip)]
    with subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True, cwd=ROOT) as process:
        assert process.stdout is not None
        said = [process.stdout.readline() for _ in range(acknowledged)]
        process.kill()
        said += [line for line in process.stdout if line.endswith("\n")]
    assert process.returncode == -signal.SIGKILL
    with Store(path) as store:
        names = [name for line in said for name in line.partition(": ")[2].split()]
        assert names == [f"k7f3qz-{number}" for number in range(1, len(names) + 1)]
        last = store.last("k7f3qz")
        assert last >= len(names)
        held = [line for line in store.every_line() if b'"k7f3qz-' in line]
        assert len(held) == last
        assert last % 4 in (0, 3), "an arm of three was written in part"
        assert store.undo.last is not None
        assert store.undo.last.entries[-1] == f"k7f3qz-{last}"


def _arm(number: int) -> dict[str, str]:
    return {"by": "ben", "arm": "T01/2.1", "status": "fading" if number % 4 else "sick"}
