"""What is to be loaded, and photos to choose from."""

import os
from pathlib import Path

import pytest

from mobile.pictures import recent_pictures
from mobile.wish import Wish
from shared_schema.wire import PROTOCOL, Offers, StructureOffer, SurveyOffer
from tests.mobile.test_preferences import Memory

OFFERS = Offers(
    protocol=PROTOCOL,
    surveys=(
        SurveyOffer(id="2026-11", name="November", structures=("T02", "T01", "gone")),
        SurveyOffer(id="2026-10", name="October"),
    ),
    structures=tuple(StructureOffer(id=name, name=name) for name in ("T01", "T02", "T03")),
)
NOVEMBER, OCTOBER = OFFERS.surveys


def test_a_survey_is_of_those_it_names_or_of_all() -> None:
    """In the order of the record, and never of one that is not there any more."""
    assert Wish().of_survey(NOVEMBER).structures(OFFERS) == ("T01", "T02")
    assert Wish().of_survey(OCTOBER).structures(OFFERS) == ("T01", "T02", "T03")
    assert Wish().of_survey(NOVEMBER).of("all").structures(OFFERS) == ("T01", "T02", "T03")


def test_some_are_picked_one_by_one_and_let_go_again() -> None:
    """Another survey begins anew; the same one keeps them."""
    wish = Wish().of_survey(NOVEMBER).toggled("T03").toggled("T01").toggled("T03")
    assert wish.structures(OFFERS) == ("T01",)
    assert wish.of_survey(NOVEMBER) == wish
    assert wish.of_survey(OCTOBER).structures(OFFERS) == ("T01", "T02", "T03")


def test_a_wish_outlives_a_restart_and_nonsense_is_none() -> None:
    """A tablet always starts."""
    memory = Memory()
    wish = Wish().of_survey(NOVEMBER).toggled("T03")
    wish.keep(memory)
    assert Wish.read(memory) == wish
    for kept in (None, 3, {}, {"survey": 1, "name": "", "scope": "all", "some": []}, {"scope": "moon"}):
        assert Wish.read(Memory({"wish": kept})) == Wish()  # type: ignore[dict-item]
    with pytest.raises(ValueError, match="no scope"):
        wish.of("moon")


def test_the_latest_photos_come_first(tmp_path: Path) -> None:
    """Those in folders below too; what is no photo, hidden or too deep is passed over, and so is a folder that is not there."""
    for age, name in enumerate(("new.JPG", "camera/old.png", "notes.txt", ".thumbs/small.jpg", "a/b/c/deep.jpg")):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"x" * 10)
        os.utime(path, (1_000_000 - age, 1_000_000 - age))
    found = recent_pictures([tmp_path, tmp_path / "none"])
    assert [(picture.path.name, picture.size) for picture in found] == [("new.JPG", 10), ("old.png", 10)]
