"""The command that starts the tablet's program."""

import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from server.cli import app

_WITHOUT_KIVY = """
import importlib.util
real = importlib.util.find_spec
importlib.util.find_spec = lambda name, package=None: None if name == "kivy" else real(name, package)
from server.cli import app
app()
"""


def test_where_kivy_is_missing_it_names_what_to_install(tmp_path: Path) -> None:
    """One line that can be followed, and no traceback."""
    command = [sys.executable, "-c", _WITHOUT_KIVY, "tablet", "--data", str(tmp_path / "boat.sqlite")]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert "pip install 'crosstree[tablet]'" in done.stderr
    assert "Traceback" not in done.stderr


def test_it_starts_the_program_on_the_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In its own place, with the Python that runs it, and with the folder made."""
    started: list[list[str]] = []
    monkeypatch.setattr("server.cli.tablet.os.execv", lambda _program, arguments: started.append(arguments))
    file = tmp_path / "deep" / "boat.sqlite"
    result = CliRunner().invoke(app, ["tablet", "--data", str(file), "--pictures", "card"])
    assert result.exit_code == 0, result.output
    assert started == [[sys.executable, "-m", "mobile.start", "--data", str(file), "--pictures", "card"]]
    assert file.parent.is_dir()


def test_a_file_of_another_program_is_refused_in_words(tmp_path: Path) -> None:
    """The real program, as it is started: it says what is wrong and ends with 1."""
    file = tmp_path / "boat.sqlite"
    file.write_bytes(b"not a database at all, but long enough to look at" * 40)
    command = [sys.executable, "-m", "mobile.start", "--data", str(file)]
    environment = {"SDL_VIDEODRIVER": "offscreen", "KIVY_HOME": str(tmp_path), "KIVY_NO_FILELOG": "1", "KIVY_LOG_MODE": "PYTHON"}
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=environment, timeout=60)
    assert done.returncode == 1
    assert str(file) in done.stderr
    assert "Traceback" not in done.stderr
