"""The tablet without a screen: what its verbs print, and how it complains."""

import json
from pathlib import Path
from typing import Any

import pytest

from mobile.__main__ import main
from mobile.slip import DEEDS
from mobile.store import Store
from tests.mobile.nursery import SURVEY, tablet


@pytest.fixture
def data(tmp_path: Path) -> str:
    """The file of a tablet that holds the small nursery."""
    path = tmp_path / "t.sqlite"
    with tablet(path, statuses={"F-T01-2": "bleached"}) as store:
        store.settings.put(survey=SURVEY)
    return str(path)


def _record(data: str, tmp_path: Path, *lines: str) -> int:
    slip = tmp_path / "slip.jsonl"
    slip.write_text("\n".join(lines), encoding="utf-8")
    return main(["record", "--data", data, str(slip)])


def test_a_slip_is_recorded_line_by_line(data: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Each line is answered with the ids of its entries, once they are on disk."""
    photo = tmp_path / "p.jpg"
    photo.write_bytes(b"\xff\xd8\xff\xe0")
    lines: list[dict[str, Any]] = [
        {"by": "ana", "dive": ["ana", "ben"], "depth_cm": 400},
        {"by": "ana", "typed_by": "cem", "at": "T01/1.1.1", "status": "bleached", "live_tissue": 60},
        {"by": "ana", "arm": "T01/1.2", "status": "fading"},
        {"by": "ana", "measure": "T01/1.1.1", "length_mm": 70},
        {"by": "ana", "check_tag": "T01/1.1.1", "tag_state": "missing"},
        {"by": "ana", "harvest": "T01/1.1.1", "pieces": 2},
        {"by": "ana", "replant": "T01/1.1.3", "mother": "T01/1.1.1"},
        {"by": "ana", "move": "T01/2.1.1", "to": "holding"},
        {"by": "ana", "plant": "T01/2.1.1", "donor": "reef colony"},
        {"by": "ana", "on_ground": "F-T02-1", "status": "sick"},
        {"by": "ana", "outplant": "T02/1.1.2", "site": "north"},
        {"by": "ana", "upkeep": "T01", "work": ["cleaned"], "minutes": 5},
        {"by": "ana", "note": "T01/1", "text": "murky, ñandú"},
        {"by": "ana", "photo": "T01/1.1.1", "file": str(photo)},
        {"by": "ana", "sign_off": "T01/1", "unseen": ["T01/1.1.2"]},
        {"by": "ben", "not_reached": "T01/2", "reason": "current"},
        {"by": "ben", "undo": True},
    ]
    assert {key for line in lines for key in line if key in DEEDS} == set(DEEDS)
    assert _record(data, tmp_path, *map(json.dumps, lines)) == 0
    said = capsys.readouterr().out.splitlines()
    assert len(said) == len(lines)
    assert said[1] == "marked: k7f3qz-2"
    assert said[2] == "marked: k7f3qz-3 k7f3qz-4 k7f3qz-5"
    with Store(data) as store:
        entries = [store.entries_of(SURVEY, f"fragment:F-T01-{number}") for number in (1, 4)]
        assert {entry.visit for several in entries for entry in several} == {"k7f3qz-1"}
        assert store.entries_of(SURVEY, "page:T01/2")[0].visit is None
        assert store.on_structure("T01").coverage("T01/2", SURVEY) == []


@pytest.mark.parametrize(
    ("line", "complaint"),
    [
        ("not json", "line 2: no JSON"),
        ('["by"]', "line 2: no JSON object"),
        ('{"at": "T01/1.1.1", "status": "alive"}', "line 2: 'by' is missing"),
        ('{"by": "ana", "look": "T01/1.1.1"}', "line 2 says nothing to do"),
        ('{"by": "ana", "at": "T01/1.1.1", "status": "blue"}', "line 2: status = 'blue'"),
        ('{"by": "ana", "measure": "T01/9.9.9", "length_mm": 3}', "nothing hangs at T01/9.9.9"),
        ('{"by": "ana", "sign_off": "T01/1", "seen": []}', "line 2: Recorder.sign_off() got an unexpected"),
    ],
)
def test_a_line_that_makes_no_sense_is_named_and_those_before_it_are_kept(
    data: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], line: str, complaint: str
) -> None:
    """The trouble goes to stderr, the exit code is 1."""
    assert _record(data, tmp_path, '{"by": "ana", "at": "T01/1.1.1", "status": "alive"}', line) == 1
    heard = capsys.readouterr()
    assert complaint in heard.err
    assert heard.out == "marked: k7f3qz-1\n"
    with Store(data) as store:
        assert store.last("k7f3qz") == 1


def test_show_tells_what_hangs_where_and_who_disagrees(data: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Plain text: this survey in capitals, the one before in brackets, disagreements under the fragment."""
    theirs = '{"id":"w3w3w3-1","kind":"condition_seen","survey":"2026-11","subject":"fragment:F-T01-1","by":"ben",'
    theirs += '"observed":"2026-11-14T09:00:00Z","entered":"2026-11-14T09:00:00Z","status":"lost"}'
    _record(data, tmp_path, '{"by": "ana", "at": "T01/1.1.1", "status": "alive"}', '{"by": "ana", "sign_off": "T01/2"}')
    with Store(data) as store:
        store.take([theirs.encode()])
    capsys.readouterr()
    assert main(["show", "--data", data, "T01"]) == 0
    shown = capsys.readouterr().out
    assert "T01/1.1.1     F-T01-1         G1          LOST\n" in shown
    assert "disagree on status in 2026-11: ana says alive (k7f3qz-1); ben says lost (w3w3w3-1)" in shown
    assert "T01/1.1.2     F-T01-2         G1          (bleached, 2026-08)\n" in shown
    assert "T01/2  signed off by ana: 6 alive, 0 marked, 0 unseen" in shown
    assert "T01/1  nobody signed it off" in shown


def test_state_is_the_same_for_tablets_that_hold_the_same(data: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two files compare by one line each; a single entry more makes another line."""
    with tablet(tmp_path / "other.sqlite", "w3w3w3", statuses={"F-T01-2": "bleached"}):
        pass
    lines = []
    for path in (data, str(tmp_path / "other.sqlite")):
        assert main(["state", "--data", path]) == 0
        lines.append(json.loads(capsys.readouterr().out))
    assert lines[0] == lines[1]
    _record(data, tmp_path, '{"by": "ana", "at": "T01/1.1.1", "status": "alive"}')
    capsys.readouterr()
    main(["state", "--data", data])
    after = json.loads(capsys.readouterr().out)
    assert (after["entries"], after["heads"]["k7f3qz"]) == (lines[0]["entries"] + 1, 1)
    assert after["lines"] != lines[0]["lines"]
    assert after["folded"] != lines[0]["folded"]


def test_not_ready_is_exit_code_one_with_what_to_do(data: str, capsys: pytest.CaptureFixture[str]) -> None:
    """A script can ask before the boat leaves."""
    assert main(["ready", "--data", data]) == 1
    heard = capsys.readouterr()
    assert "load_pack: the pack of survey 2026-11" in heard.out
    assert "not ready" in heard.err


def test_sync_without_an_enrolment_says_what_to_do(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Not a traceback."""
    assert main(["sync", "--data", str(tmp_path / "new.sqlite")]) == 1
    assert "enrol it first" in capsys.readouterr().err


def test_trouble_with_files_is_said_by_name(data: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The file that is missing, or that is no tablet's."""
    assert main(["record", "--data", data, str(tmp_path / "nowhere.jsonl")]) == 1
    assert "nowhere.jsonl: No such file" in capsys.readouterr().err
    (tmp_path / "rubbish.sqlite").write_bytes(b"rubbish" * 1000)
    assert main(["state", "--data", str(tmp_path / "rubbish.sqlite")]) == 1
    assert "rubbish.sqlite is damaged" in capsys.readouterr().err


def test_wrong_usage_is_exit_code_two(capsys: pytest.CaptureFixture[str]) -> None:
    """As everywhere."""
    with pytest.raises(SystemExit) as ended:
        main(["dance"])
    assert ended.value.code == 2
    assert "invalid choice" in capsys.readouterr().err
