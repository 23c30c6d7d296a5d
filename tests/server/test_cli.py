"""The command `crosstree`, as somebody types it."""

import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import httpx
import numpy as np
import pytest
import zxingcpp
from typer.core import TyperGroup
from typer.main import get_command
from typer.testing import CliRunner, Result

from server.cli import app
from server.settings import Settings
from server.store.opening import open_nursery
from server.store.record import RecordStore
from server.store.tablets import enrol
from tests.server.running import free_port

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
COMMAND = [sys.executable, "-c", "from server.cli import app; app()"]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own for each test, told by the environment as on a server."""
    monkeypatch.setenv("CROSSTREE_DATA", str(tmp_path / "record"))
    monkeypatch.delenv("CROSSTREE_DATABASE_URL", raising=False)
    return tmp_path / "record"


@pytest.fixture
def store(folder: Path) -> Iterator[RecordStore]:
    """The record of a nursery made by the command, with the example loaded."""
    run("nursery", "new", "Ours")
    run("nursery", "load", str(EXAMPLES / "nursery.csv"))
    opened = open_nursery(Settings.of(folder))
    yield opened
    opened.engine.dispose()


def run(*arguments: str, code: int = 0) -> Result:
    """Run the command; it must end with `code`."""
    result = CliRunner().invoke(app, arguments)
    assert result.exit_code == code, result.output
    return result


def commands(group: TyperGroup, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Every command that there is, as it is typed."""
    for name, command in group.commands.items():
        if isinstance(command, TyperGroup):
            yield from commands(command, (*path, name))
        else:
            yield (*path, name)


def all_commands() -> list[tuple[str, ...]]:
    """Every command of crosstree."""
    group = get_command(app)
    assert isinstance(group, TyperGroup)
    return list(commands(group))


@pytest.mark.parametrize("command", all_commands(), ids=" ".join)
def test_every_command_explains_itself_by_an_example(command: tuple[str, ...]) -> None:
    """Its help shows at least one line that can be typed."""
    shown = " ".join(run(*command, "--help").output.split())
    assert re.search(rf"Examples?: crosstree {' '.join(command)}\b", shown)


def test_the_command_alone_shows_what_there_is() -> None:
    """Without arguments comes the help; --version tells the version."""
    assert "Examples:" in CliRunner().invoke(app, []).output
    assert re.fullmatch(r"crosstree \d+\.\d+\.\d+\n", run("--version").output)


def test_wrong_usage_ends_with_2_and_trouble_with_1(folder: Path) -> None:
    """Trouble is one message on stderr that says what to do, without a traceback; nothing is on stdout."""
    run("nursery", "load", code=2)
    run("serve", "--port", "high", code=2)
    trouble = run("tablets", "list", code=1)
    assert trouble.stdout == ""
    assert trouble.stderr == f"crosstree: there is no nursery in {folder}: make one with `crosstree nursery new NAME`\n"


def test_loading_says_what_became_of_the_rows(store: RecordStore) -> None:
    """The second load of a file says that all of it is there already; a dry run says what would be done."""
    again = run("nursery", "load", str(EXAMPLES / "nursery.csv"))
    assert again.output.splitlines()[-1] == "stored: 0 new, 10 already there, 0 changed"
    more = run("nursery", "load", "--dry-run", str(EXAMPLES / "fragments.csv"))
    assert more.output.splitlines() == [
        "  fragments  2 new, 0 already there, 0 changed",
        "would be stored: 2 new, 0 already there, 0 changed",
    ]
    assert store.standing("fragment:AM-003").facts == {}


def test_a_file_with_mistakes_ends_with_1_and_lists_them(store: RecordStore, tmp_path: Path) -> None:
    """Each with file, line, column and value; a file that is not there is named."""
    file = tmp_path / "wrong.csv"
    file.write_text("fragment,position,genet\nX,T01/9.1.1,Amrel\n", "utf-8")
    refused = run("nursery", "load", str(file), code=1)
    assert "1 problem; nothing was stored" in refused.stderr
    assert f"{file}, line 2, position: 'T01/9.1.1': T01 has no position 9.1.1" in refused.stderr
    assert "nothing.csv cannot be read" in run("nursery", "load", "nothing.csv", code=1).stderr
    assert store.standing("fragment:X").facts == {}


def test_a_second_nursery_of_one_name_is_refused(store: RecordStore) -> None:
    """The first one stays as it is."""
    assert "'Ours'" in run("nursery", "new", "Ours", code=1).stderr
    assert store.standing("genet:Amrel").facts


def test_options_name_another_folder_and_database(tmp_path: Path) -> None:
    """--data and --database win over the environment."""
    other, url = tmp_path / "other", f"sqlite:///{tmp_path / 'elsewhere.sqlite'}"
    run("nursery", "new", "Theirs", "--data", str(other), "--database", url)
    assert (tmp_path / "elsewhere.sqlite").exists()
    assert run("tablets", "list", "--data", str(other), "--database", url).output.startswith("no tablet yet")


def read_from_terminal(picture: str) -> str:
    """What a camera reads off half blocks on a screen."""
    halves = {" ": (0, 0), "▀": (1, 0), "▄": (0, 1), "█": (1, 1)}
    lines = [line for line in picture.splitlines() if line and set(line) <= halves.keys()]
    wide = max(len(line) for line in lines)
    dots = [[halves[sign][row] for sign in line.ljust(wide)] for line in lines for row in (0, 1)]
    image = np.kron(np.array(dots, dtype=np.uint8) * 255, np.ones((4, 4), dtype=np.uint8))
    (found,) = zxingcpp.read_barcodes(image)
    return found.text


def test_a_code_lets_one_tablet_in_and_can_be_photographed(store: RecordStore) -> None:
    """The printed code enrols a tablet, and the picture holds the server's address and the same code."""
    shown = run("tablets", "code", "--url", "http://nursery.local:8000").output
    match = re.search(r"code (\S+): for one tablet, until ", shown)
    assert match is not None
    assert read_from_terminal(shown) == f"http://nursery.local:8000#{match[1]}"
    made = enrol(store, match[1], "Deck")
    listed = run("tablets", "list").output
    assert made.writer in listed
    assert "Deck" in listed
    assert "never" in listed


def test_a_withdrawn_tablet_stays_on_the_list(store: RecordStore) -> None:
    """Withdrawing says so, and the list shows it; a tablet that is not known is an error."""
    code = re.search(r"code (\S+):", run("tablets", "code").output)
    assert code is not None
    writer = enrol(store, code[1], "Lost one").writer
    run("tablets", "withdraw", writer)
    assert re.search(rf"{writer}.*withdrawn", run("tablets", "list").output)
    assert "zzzzzz" in run("tablets", "withdraw", "zzzzzz", code=1).stderr


def test_a_survey_is_planned_and_planned_anew(store: RecordStore) -> None:
    """Unless said otherwise it is of all structures and lasts its month; the newer plan replaces the older."""
    assert run("survey", "plan", "2026-02").output == "planned 2026-02: 2026-02-01 to 2026-02-28, 2 structures\n"
    run("survey", "plan", "2026-02", "Cold month", "--structures", "T01", "--opens", "2026-02-03", "--closes", "2026-02-04")
    planned = store.standing("survey:2026-02")
    assert (planned.value("name"), planned.value("opens"), planned.value("structures")) == ("Cold month", "2026-02-03", ["T01"])
    assert not store.finding("", "survey:2026-02").open
    assert "2026-03-14 to 2026-03-14" in run("survey", "plan", "2026-03-14b").output


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (("2026-13",), "no survey name"),
        (("2026-02", "February", "--structures", "T01 T77"), "T77"),
        (("2026-02", "--opens", "03/02/2026"), "YYYY-MM-DD"),
        (("2026-02", "--opens", "2026-02-09", "--closes", "2026-02-02"), "exchange"),
    ],
)
def test_a_survey_that_cannot_be_is_refused(store: RecordStore, arguments: tuple[str, ...], word: str) -> None:
    """The message names the value, and no survey is planned."""
    before = store.heads()
    assert word in run("survey", "plan", *arguments, code=1).stderr
    assert store.heads() == before


def test_only_the_first_supervisor_is_made_by_the_command(store: RecordStore) -> None:
    """There is no default account; where there is a supervisor the command says who it is, and makes nobody."""
    assert "two words" in run("office", "first", "two words", "--name", "X", code=1).stderr
    made = run("office", "first", "sue", "--name", "Sue Office", "--url", "https://nursery.example").output
    assert re.search(r"^https://nursery\.example/door/\S{43}$", made, re.MULTILINE)
    assert store.standing("person:sue").value("role") == "supervisor"
    refused = run("office", "first", "joe", "--name", "Joe", code=1).stderr
    assert "Sue Office (sue)" in refused
    assert "crosstree office link sue" in refused
    assert store.standing("person:joe").facts == {}
    assert "'joe'" in run("office", "link", "joe", code=1).stderr


def first_answer(browser: httpx.Client, url: str) -> httpx.Response:
    """What a server says as soon as it is there."""
    until = time.monotonic() + 60
    while True:
        try:
            return browser.get(url)
        except httpx.ConnectError:
            assert time.monotonic() < until
            time.sleep(0.1)


@pytest.mark.usefixtures("store")
def test_the_server_answers_tablets_and_a_printed_link_lets_in_once() -> None:
    """A real process serves the nursery; the printed link opens the office pages; Ctrl-C ends it in good order."""
    port = free_port()
    url = f"http://127.0.0.1:{port}"
    with subprocess.Popen([*COMMAND, "serve", "--port", str(port)], stdout=subprocess.PIPE, encoding="utf-8") as process:
        try:
            run("office", "first", "ines", "--name", "Inés")
            link = run("office", "link", "ines", "--url", f"{url}/").output.strip()
            with httpx.Client(follow_redirects=True, timeout=60) as browser:
                assert first_answer(browser, f"{url}/api").json()["nursery_name"] == "Ours"
                assert browser.get(f"{url}/").status_code == 403
                assert "Welcome, Inés" in browser.get(link).text
                assert browser.get(f"{url}/").status_code == 200
            assert httpx.get(link).status_code == 403
        finally:
            process.send_signal(signal.SIGINT)
        assert process.wait(60) == 0
        assert process.stdout is not None
        assert str(port) in process.stdout.read()
