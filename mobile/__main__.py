"""The tablet without a screen, for scripts: `python -m mobile <verb> --data FILE ...`."""

import argparse
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from pathlib import Path

import httpx

from mobile.digest import digest_of
from mobile.listing import list_structure
from mobile.readiness import check_readiness
from mobile.slip import record_slip
from mobile.store import Store
from mobile.sync import Sync
from shared_schema.errors import CrosstreeError

__all__ = ["main"]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one verb. Gives 0, or 1 with the trouble on stderr; wrong usage ends the program with 2."""
    chosen = _parser().parse_args(arguments)
    verb: Callable[[argparse.Namespace, Store], int] = chosen.run
    try:
        with Store(chosen.data) as store:
            return verb(chosen, store)
    except CrosstreeError as error:
        return _complain(str(error))
    except OSError as error:
        return _complain(f"{error.filename}: {error.strerror}")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m mobile", description=__doc__)
    verbs = parser.add_subparsers(required=True, metavar="verb")

    def verb(name: str, run: Callable[[argparse.Namespace, Store], int], about: str) -> argparse.ArgumentParser:
        one = verbs.add_parser(name, help=about, description=about)
        one.add_argument("--data", type=Path, required=True, metavar="FILE", help="the tablet's database")
        one.set_defaults(run=run)
        return one

    enrol = verb("enrol", _enrol, "spend a one-time code for an identity")
    enrol.add_argument("--url", required=True, help="the server's address, as http://127.0.0.1:8000")
    enrol.add_argument("--code", required=True)
    enrol.add_argument("--name", required=True, help="what people call this tablet")
    load = verb("load", _load, "fetch and load the pack of a survey")
    load.add_argument("--survey", required=True)
    load.add_argument("--structures", nargs="*", default=[], metavar="ID", help="unless given: all of the survey")
    record = verb("record", _record, "record a slip: lines of JSON, one action a line")
    record.add_argument("--survey", help="unless given: the one that was loaded last")
    record.add_argument("slip", metavar="SLIP", help="a file, or - for the standard input")
    verb("sync", _sync, "send and fetch until nothing is left")
    show = verb("show", _show, "show a structure, disagreements included")
    show.add_argument("--survey", help="unless given: the one that was loaded last")
    show.add_argument("structure")
    verb("state", _state, "print a digest: tablets in step have the same")
    ready = verb("ready", _ready, "say whether the boat can leave")
    ready.add_argument("--survey", help="unless given: the one that was loaded last")
    return parser


def _enrol(chosen: argparse.Namespace, store: Store) -> int:
    with httpx.Client(timeout=30) as client:
        identity = _sync_of(store, client).enrol(chosen.url, chosen.code, chosen.name)
    return _say(f"enrolled as {identity.writer} with {identity.nursery_name}")


def _load(chosen: argparse.Namespace, store: Store) -> int:
    with httpx.Client(timeout=60) as client:
        manifest = _sync_of(store, client).load_pack(chosen.survey, chosen.structures)
    store.settings.put(survey=chosen.survey)
    return _say(f"loaded {manifest.entries} entries on {', '.join(manifest.structures)}")


def _record(chosen: argparse.Namespace, store: Store) -> int:
    survey = _survey(chosen, store)
    if chosen.slip == "-":
        return _record_lines(store, sys.stdin, survey)
    with Path(chosen.slip).open(encoding="utf-8") as lines:
        return _record_lines(store, lines, survey)


def _record_lines(store: Store, lines: Iterable[str], survey: str) -> int:
    for action in record_slip(store, lines, survey, _now):
        _say(f"{action.label}: {' '.join(entry.id for entry in action.entries)}")
    return 0


def _sync(chosen: argparse.Namespace, store: Store) -> int:  # noqa: ARG001  # every verb is called alike
    with httpx.Client(timeout=60) as client:
        outcome = _sync_of(store, client).run()
    for notice in store.notices.all:
        _say(f"notice: {notice.text}")
    _say(f"sent {outcome.sent}, received {outcome.received}, photos {outcome.photos}, waiting {outcome.waiting}")
    return 0 if outcome.state == "in_step" else _complain(f"{outcome.state}: {outcome.detail}")


def _show(chosen: argparse.Namespace, store: Store) -> int:
    for line in list_structure(store, chosen.structure, _survey(chosen, store)):
        _say(line)
    return 0


def _state(chosen: argparse.Namespace, store: Store) -> int:  # noqa: ARG001  # every verb is called alike
    return _say(digest_of(store).as_json())


def _ready(chosen: argparse.Namespace, store: Store) -> int:
    found = check_readiness(store, _survey(chosen, store))
    for todo in found.todo:
        _say(f"{todo.sort}: {todo.detail}")
    return _say("ready") if found.ready else _complain("not ready: see above")


def _sync_of(store: Store, client: httpx.Client) -> Sync:
    return Sync(store, client, _now, time.sleep)


def _survey(chosen: argparse.Namespace, store: Store) -> str:
    survey = chosen.survey or store.settings.get("survey") or ""
    return str(survey)


def _now() -> datetime:
    return datetime.now().astimezone()


def _say(text: str) -> int:
    # At once: whoever reads along takes a line for "it is on disk", and it is.
    sys.stdout.write(text + "\n")
    sys.stdout.flush()
    return 0


def _complain(text: str) -> int:
    sys.stderr.write(f"tablet: {text}\n")
    return 1


if __name__ == "__main__":
    sys.exit(main())
