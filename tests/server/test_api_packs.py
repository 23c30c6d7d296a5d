"""What tablets fetch before a dive, and the photos that they bring after it."""

import hashlib
import json

import httpx

from shared_schema.entries import (
    ConditionSeen,
    FragmentPlanted,
    PageNotReached,
    PageSignedOff,
    StructureHung,
    SurveyPlanned,
)
from shared_schema.wire import (
    PROTOCOL,
    PackHeader,
    unframe,
)
from tests.server.calling import Caller


def test_a_pack_holds_what_a_dive_needs_and_can_be_fetched_in_pieces(caller: Caller) -> None:
    """The structures asked for, what hangs there now and what the last survey found; not what lies on others."""
    with caller.store.office("sue") as office:
        office.write(SurveyPlanned, "survey:2026-11", name="November", opens="2026-11-01", closes="2026-11-30", structures=("T01",))
        for name in ("T01", "T02"):
            office.write(StructureHung, f"structure:{name}", design={"design": "tree"})
            office.write(FragmentPlanted, f"fragment:{name}-a", place=f"{name}/1.1.1", genet="G1")
        for survey in ("2026-09", "2026-10"):
            office.write(ConditionSeen, "fragment:T01-a", survey, status="alive")
    manifest = caller.client.post("/api/packs", json={"protocol": PROTOCOL, "survey": "2026-11"}).json()
    whole = caller.client.get(f"/api/packs/{manifest['pack']}").content
    assert hashlib.sha256(whole).hexdigest() == manifest["pack"]
    rest = caller.client.get(f"/api/packs/{manifest['pack']}", headers={"Range": "bytes=20-"})
    assert (rest.status_code, rest.content) == (206, whole[20:])
    header, lines = unframe(whole, PackHeader)
    assert header.heads == caller.store.heads()
    assert header.structures == ("T01",)
    about = sorted((json.loads(line)["subject"], json.loads(line).get("survey", "")) for line in lines)
    assert about == [("fragment:T01-a", ""), ("fragment:T01-a", "2026-10"), ("structure:T01", ""), ("survey:2026-11", "")]
    assert manifest["entries"] == len(lines) == header.entries
    answer = caller.client.post("/api/packs", json={"protocol": PROTOCOL, "survey": "2026-11", "structures": ["T09"]})
    assert "T09" in caller.refused(answer, "nothing-such", 404).detail
    caller.refused(caller.client.get("/api/packs/..%2f..%2fetc"), "no-such-address", 404)
    caller.refused(caller.client.get("/api/packs/" + "0" * 64), "nothing-such", 404)


def test_a_pack_says_of_each_page_what_the_last_survey_before_said(caller: Caller) -> None:
    """A crew learns where nobody got to last time, and nothing of structures that it did not ask for."""
    with caller.store.office("sue") as office:
        office.write(SurveyPlanned, "survey:2026-11", name="November", opens="2026-11-01", closes="2026-11-30")
        for name in ("T01", "T010"):
            office.write(StructureHung, f"structure:{name}", design={"design": "tree"})
            office.write(PageSignedOff, f"page:{name}/1", "2026-09", alive=20, marked=0, unseen=0)
            office.write(PageNotReached, f"page:{name}/1", "2026-10", reason="current")
            office.write(PageSignedOff, f"page:{name}/2", "2026-09", alive=20, marked=0, unseen=0)
    manifest = caller.client.post("/api/packs", json={"protocol": PROTOCOL, "survey": "2026-11", "structures": ["T01"]}).json()
    _, lines = unframe(caller.client.get(f"/api/packs/{manifest['pack']}").content, PackHeader)
    about = {(json.loads(line)["subject"], json.loads(line).get("survey", "")) for line in lines}
    assert {one for one in about if one[0].startswith("page:")} == {("page:T01/1", "2026-10"), ("page:T01/2", "2026-09")}


def test_a_tablet_learns_what_it_can_load(caller: Caller) -> None:
    """Every survey, the latest first, and every structure, with what people call them; nobody else is told."""
    with caller.store.office("sue") as office:
        for month in ("10", "11"):
            opens, closes = f"2026-{month}-01", f"2026-{month}-28"
            office.write(SurveyPlanned, f"survey:2026-{month}", name=month, opens=opens, closes=closes, structures=("T01",))
        for name in ("T01", "T02"):
            office.write(StructureHung, f"structure:{name}", name=f"Tree {name}", design={"design": "tree"})
    offers = caller.client.get("/api/offers").json()
    assert [(one["id"], one["name"], one["opens"], one["structures"]) for one in offers["surveys"]] == [
        ("2026-11", "11", "2026-11-01", ["T01"]),
        ("2026-10", "10", "2026-10-01", ["T01"]),
    ]
    assert offers["structures"] == [{"id": "T01", "name": "Tree T01"}, {"id": "T02", "name": "Tree T02"}]


def test_a_photo_arrives_in_pieces_and_counts_only_when_whole_and_right(caller: Caller) -> None:
    """A break costs a piece, damage costs the photo, and both are said."""
    picture = bytes(range(256)) * 40
    name = hashlib.sha256(picture).hexdigest()

    def put(offset: int, piece: bytes) -> httpx.Response:
        return caller.client.put(f"/api/photos/{name}", params={"offset": offset, "size": len(picture)}, content=piece)

    assert caller.client.get(f"/api/photos/{name}").json() == {"sha256": name, "have": 0, "complete": False}
    assert put(0, picture[:4000]).json()["have"] == 4000
    assert put(0, picture[:4000]).json()["have"] == 4000
    assert put(9000, picture[9000:]).json()["have"] == 4000
    caller.refused(caller.client.get(f"/api/photos/{name}/bytes"), "nothing-such", 404)
    assert put(4000, picture[4000:]).json() == {"sha256": name, "have": len(picture), "complete": True}
    assert put(0, picture[:10]).json()["complete"]
    assert caller.client.get(f"/api/photos/{name}/bytes").content == picture
    wrong = "0" * 64
    bad = caller.client.put(f"/api/photos/{wrong}", params={"offset": 0, "size": 3}, content=b"abc")
    caller.refused(bad, "hash-mismatch", 422)
    assert caller.client.get(f"/api/photos/{wrong}").json()["have"] == 0
    caller.refused(caller.client.get("/api/photos/nonsense"), "bad-id", 400)
