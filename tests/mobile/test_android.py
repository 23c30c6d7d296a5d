"""What goes into the Android package is whole, and needs nothing that cannot be built for Android.

The package itself is not built here: that takes the Android SDK and NDK.
"""

import configparser
import os
import re
import runpy
import subprocess
import sys
from pathlib import Path
from typing import Final

import pytest

from mobile.store import Store
from mobile.words import LANGUAGES

ROOT = Path(__file__).parents[2]
ANDROID = ROOT / "mobile" / "android"

BROUGHT: Final = {
    "kivy": {"kivy", "kivy_deps", "android", "jnius", "setuptools", "certifi", "chardet", "idna", "requests", "urllib3", "filetype"}
}
"""What recipes bring besides the module of their own name."""

GUARD: Final = """
import sys
class Guard:
    def find_spec(self, name, path=None, target=None):
        top = name.partition(".")[0]
        if top not in ALLOWED and top not in sys.stdlib_module_names and not top.startswith("_sysconfigdata"):
            raise ModuleNotFoundError(f"{name} is not in the Android package", name=name)
        return None
sys.meta_path.insert(0, Guard())
sys.path.insert(0, FOLDER)
"""

IMPORT_ALL: Final = """
import pkgutil, importlib, mobile, shared_schema
for room in (mobile, shared_schema):
    assert room.__path__[0].startswith(FOLDER), room.__path__
    for module in pkgutil.walk_packages(room.__path__, room.__name__ + "."):
        importlib.import_module(module.name)
        print(module.name)
"""

RUN: Final = """
import main
from kivy.app import App
from kivy.clock import Clock
def look(_when):
    texts = [widget.text for widget in App.get_running_app().root.walk() if getattr(widget, "text", "")]
    print("shown", App.get_running_app().root.screens.current, len(texts))
    App.get_running_app().stop()
Clock.schedule_once(look, 0.5)
sys.exit(main.start())
"""


@pytest.fixture(scope="module")
def staged(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What stage.py lays out."""
    folder = tmp_path_factory.mktemp("android") / "app"
    runpy.run_path(str(ANDROID / "stage.py"))["stage"](folder)
    return folder


def spec() -> configparser.SectionProxy:
    """The package's description."""
    parser = configparser.ConfigParser(interpolation=None)
    parser.read(ANDROID / "buildozer.spec")
    return parser["app"]


def requirements() -> dict[str, str]:
    """Name -> version of what the package is built with; empty where the recipe decides."""
    parts = (part.strip().partition("==") for part in spec()["requirements"].split(","))
    return {name: version for name, _, version in parts}


def run_guarded(folder: Path, code: str, **environment: str) -> "subprocess.CompletedProcess[str]":
    """Run code that sees the staged files, the standard library and the package's requirements, and nothing else."""
    names = {name.replace("-", "_") for name in requirements()}
    allowed = names.union({"mobile", "shared_schema", "main"}, *BROUGHT.values())
    program = f"FOLDER = {str(folder)!r}\nALLOWED = {sorted(allowed)!r}\n{GUARD}{code}"
    calm = {
        "SDL_VIDEODRIVER": "offscreen",
        "KIVY_NO_FILELOG": "1",
        "KIVY_LOG_MODE": "PYTHON",
        "KIVY_HOME": str(folder.parent / "kivy"),
    }
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("KIVY_", "PYTHON"))}
    return subprocess.run(
        [sys.executable, "-I", "-B", "-W", "ignore", "-c", program],
        env=kept | calm | environment,
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def test_the_tablet_imports_nothing_that_the_package_lacks(staged: Path) -> None:
    """Every module of both rooms loads with the package's requirements alone: no server library, no spreadsheet, no rich."""
    done = run_guarded(staged, IMPORT_ALL)
    assert done.returncode == 0, done.stderr
    loaded = done.stdout.split()
    assert {"mobile.app", "mobile.sync", "mobile.screens.page", "shared_schema.fold"} <= set(loaded)
    assert len(loaded) > 80


def test_the_guard_refuses_what_is_not_in_the_package(staged: Path) -> None:
    """The test above could not fail otherwise."""
    done = run_guarded(staged, "import sqlmodel")
    assert done.returncode == 1
    assert "sqlmodel is not in the Android package" in done.stderr


def test_the_staged_program_starts(staged: Path, tmp_path: Path) -> None:
    """Started as Android starts it, it makes its database in the app's own folder and shows the way in."""
    done = run_guarded(staged, RUN, ANDROID_PRIVATE=str(tmp_path))
    assert done.returncode == 0, done.stderr
    assert re.search(r"^shown enrol \d+$", done.stdout, re.MULTILINE), done.stdout
    with Store(tmp_path / "tablet.sqlite") as store:
        assert store.identities.current is None


def test_the_package_has_all_that_the_program_reads_and_no_more(staged: Path) -> None:
    """Rules and compiled catalogues are there with their endings named in the spec; the office, tests and sources are not."""
    files = {path.relative_to(staged) for path in staged.rglob("*") if path.is_file()}
    endings = {f".{ending}" for ending in spec()["source.include_exts"].split(",")}
    assert {path.suffix for path in files} - {".spec"} == endings
    assert {path.parts[0] for path in files} == {"main.py", "buildozer.spec", "mobile", "shared_schema"}
    assert {Path(room, "words", f"{language}.mo") for room in ("mobile", "shared_schema") for language in LANGUAGES} <= files
    rules = {path.relative_to(ROOT) for path in (ROOT / "mobile").rglob("*.kv")}
    assert rules <= files


def test_versions_are_those_that_are_tested() -> None:
    """What the package pins is what constraints.txt pins; but for pydantic, which is the one that Android builds can have."""
    tested = dict(re.findall(r"^([\w.-]+)==(\S+)$", (ROOT / "constraints.txt").read_text(), re.MULTILINE))
    pinned = {name: version for name, version in requirements().items() if version}
    android_only = {"python3": "3.14.2", "hostpython3": "3.14.2", "pydantic": "2.12.3", "pydantic-core": "2.41.4"}
    assert {name: version for name, version in pinned.items() if tested.get(name) != version} == android_only
    assert "sqlmodel" not in pinned
