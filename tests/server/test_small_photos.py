"""Pages show photos made small: upright, without a trace of where they were taken, and never an error for a bad one."""

import hashlib
import io
import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from server.settings import Settings
from server.store.backup import back_up, restore
from server.store.photos import PhotoStore
from server.store.record import RecordStore
from server.store.small_photos import LONG_SIDE, small_photo
from shared_schema.entries import PhotoTaken
from tests.server.conftest import Nursery
from tests.server.running import new_nursery, running
from tests.server.small_nursery import NOW, fill
from tests.server.visitor import Visitor


@dataclass(frozen=True, slots=True)
class Office:
    """A running office with a folder of photos."""

    store: RecordStore
    photos: PhotoStore
    visitor: Visitor

    def take(self, content: bytes) -> str:
        """The name under which a photo is here."""
        name = hashlib.sha256(content).hexdigest()
        self.photos.add(name, 0, len(content), content)
        return name


@pytest.fixture(scope="module")
def office(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Office]:
    """The small nursery; one of its corals was photographed."""
    made: Nursery
    with new_nursery(tmp_path_factory.mktemp("small-photos")) as made:
        settings_, store = made
        photos = PhotoStore(store, settings_.photos)
        boats = fill(store)
        content = scene()
        sha256 = hashlib.sha256(content).hexdigest()
        boats.ana.author.write(PhotoTaken, "fragment:T1-002", NOW, sha256=sha256, size=len(content))
        boats.ana.back()
        photos.add(sha256, 0, len(content), content)
        with running(settings_) as (url, _):
            yield Office(store, photos, Visitor(url, store))


def scene(form: str = "JPEG", size: tuple[int, int] = (1600, 1200), mode: str = "RGB", **more: object) -> bytes:
    """A picture with a red left half."""
    image = Image.new(mode, size, "blue" if mode != "P" else 0)
    image.paste("red" if mode != "P" else 1, (0, 0, size[0] // 2, size[1]))
    written = io.BytesIO()
    image.save(written, form, **more)
    return written.getvalue()


def tagged(orientation: int) -> bytes:
    """A photo as a tablet held sideways takes it, which tells where and with what it was taken."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010F] = "maker of the camera"
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8825)[2] = (12.0, 5.0, 9.5)
    return scene(exif=exif, comment=b"taken at the secret reef")


def huge(width: int, height: int) -> bytes:
    """A small PNG file that says that it is a huge picture."""
    chunks = (
        (b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)),
        (b"IDAT", zlib.compress(bytes(100_000))),
        (b"IEND", b""),
    )
    parts = (struct.pack(">I", len(body)) + sort + body + struct.pack(">I", zlib.crc32(sort + body)) for sort, body in chunks)
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def opened(content: bytes | None) -> Image.Image:
    """What was made, as a picture."""
    assert content is not None
    image = Image.open(io.BytesIO(content))
    image.load()
    return image


def test_a_page_shows_the_small_photo_and_leads_to_the_whole_one(office: Office) -> None:
    """The page keeps room for it, fetches it only where it comes into sight, and a browser asks for it once."""
    content = scene()
    name = hashlib.sha256(content).hexdigest()
    page = office.visitor.see("/fragments/T1-002")
    assert f'<a href="/photos/{name}"><img src="/photos/{name}/small" loading="lazy" width="320" height="192"' in page
    for address, form in ((f"/photos/{name}/small", (LONG_SIDE, LONG_SIDE * 3 // 4)), (f"/photos/{name}", (1600, 1200))):
        answer = office.visitor.get(address)
        assert opened(answer.content).size == form, address
        assert answer.headers["content-type"] == "image/jpeg", address
        assert answer.headers["cache-control"] == "private, max-age=31536000, immutable", address
    missing = office.visitor.get(f"/photos/{'0' * 64}/small")
    assert (missing.status_code, missing.headers["cache-control"]) == (404, "no-store")


def test_a_small_photo_stands_upright_and_tells_nothing_but_the_picture(office: Office) -> None:
    """A tablet held on its side notes so beside the picture; the place, the camera and words in the file are left behind."""
    small = small_photo(office.photos, office.take(tagged(6)))
    image = opened(small)
    assert image.size == (LONG_SIDE * 3 // 4, LONG_SIDE)
    red, blue = image.getpixel((180, 100)), image.getpixel((180, 400))
    assert isinstance(red, tuple)
    assert isinstance(blue, tuple)
    assert red[0] - red[2] > 200  # the left half turned to the top
    assert blue[2] - blue[0] > 200
    assert not image.getexif()
    assert "comment" not in image.info
    assert small is not None
    assert b"secret reef" not in small
    assert b"maker" not in small


@pytest.mark.parametrize(
    ("form", "mode"),
    [
        ("JPEG", "L"),
        ("JPEG", "CMYK"),
        ("PNG", "P"),
        ("PNG", "RGBA"),
        ("PNG", "LA"),
        ("PNG", "I;16"),
        ("PNG", "1"),
        ("WEBP", "RGBA"),
    ],
)
def test_whatever_a_tablet_takes_for_a_photo_is_made_small(office: Office, form: str, mode: str) -> None:
    """Grey, with a palette, see-through, for a printer: a browser gets a plain JPEG."""
    written = io.BytesIO()
    Image.new(mode, (900, 30), 1).save(written, form)
    image = opened(small_photo(office.photos, office.take(written.getvalue())))
    assert (image.format, image.mode, image.size) == ("JPEG", "RGB", (LONG_SIDE, 16))


def test_a_small_picture_is_not_blown_up(office: Office) -> None:
    """One of 40 pixels stays one of 40."""
    assert opened(small_photo(office.photos, office.take(scene(size=(40, 30))))).size == (40, 30)


@pytest.mark.parametrize(
    "content",
    [
        b"no picture at all",
        b"\xff\xd8\xff",
        scene()[:2000],
        scene("PNG", (300, 300))[:-60],
        huge(60_000, 60_000),
        huge(10_000, 9_500),
        huge(4_000_000_000, 4_000_000_000),
        scene("GIF"),
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>",
        scene()[:-2] + b"\xff\xda\x00\x08\x01\x01\x00\x00\x3f\x00" * 200,
    ],
    ids=["text", "beginning", "cut", "cut-png", "huge", "large", "more-than-fits", "other-form", "drawing", "thousand-scans"],
)
def test_what_cannot_be_made_small_has_a_sign_in_its_place(office: Office, content: bytes) -> None:
    """The sign is not kept by browsers: a newer program may be able to read the file."""
    answer = office.visitor.get(f"/photos/{office.take(content)}/small")
    assert (answer.status_code, answer.headers["content-type"]) == (200, "image/svg+xml")
    assert answer.headers["cache-control"] == "no-store"


@pytest.mark.filterwarnings("ignore::UserWarning:PIL")  # it says on the server's console what is damaged
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_no_damage_to_a_file_makes_an_error(office: Office, data: st.DataObject) -> None:
    """A photo in which any bytes are others is shown as far as it can be read, or has a sign in its place."""
    form = data.draw(st.sampled_from(["JPEG", "PNG", "WEBP"]))
    content = bytearray(tagged(6) if form == "JPEG" else scene(form, (64, 48)))
    for _ in range(data.draw(st.integers(1, 4))):
        content[data.draw(st.integers(0, min(len(content) - 1, 700)))] = data.draw(st.integers(0, 255))
    small = small_photo(office.photos, office.take(bytes(content)))
    assert small is None or max(opened(small).size) <= LONG_SIDE


def test_a_small_photo_is_made_once_and_again_when_it_is_gone(office: Office) -> None:
    """It is kept beside its original; thrown away or left empty by a crash, it is made again."""
    name = office.take(scene(size=(700, 500)))
    original = office.photos.path(name)
    before = set(original.parent.iterdir())
    made = small_photo(office.photos, name)
    (kept,) = set(original.parent.iterdir()) - before
    assert kept.read_bytes() == made
    kept.write_bytes(b"")
    assert small_photo(office.photos, name) == made == kept.read_bytes()
    kept.unlink()
    assert small_photo(office.photos, name) == made == kept.read_bytes()


def test_a_full_disk_keeps_no_small_photo_and_shows_it_all_the_same(office: Office) -> None:
    """Where nothing can be written beside the original, what was made goes out, and nothing is left half written."""
    name = office.take(scene(size=(801, 600)))
    folder = office.photos.path(name).parent
    in_the_way = folder / f"{name}.{LONG_SIDE}.jpg"
    in_the_way.mkdir()
    before = set(folder.iterdir())
    assert office.visitor.get(f"/photos/{name}/small").headers["content-type"] == "image/jpeg"
    assert set(folder.iterdir()) == before


def test_a_photo_whose_file_is_lost_is_told_as_missing(office: Office) -> None:
    """Nobody reads a fault of the program where the photo folder lost a file."""
    name = office.take(scene(size=(90, 90)))
    office.photos.path(name).unlink()
    answer = office.visitor.get(f"/photos/{name}")
    assert answer.status_code == 404
    assert "missing from the photo folder" in answer.text
    assert office.visitor.get(f"/photos/{name}/small").headers["content-type"] == "image/svg+xml"


def test_small_photos_are_in_no_backup_and_no_check_trips_over_them(lite: Nursery, tmp_path: Path) -> None:
    """What comes back from a backup is made small again when it is first looked at."""
    settings_, store = lite
    photos = PhotoStore(store, settings_.photos)
    content = tagged(1)
    name = hashlib.sha256(content).hexdigest()
    photos.add(name, 0, len(content), content)
    made = small_photo(photos, name)
    assert photos.damage() == []
    back_up(store, photos, tmp_path / "backup.zip")
    fresh = Settings.of(tmp_path / "fresh", f"sqlite:///{tmp_path / 'fresh' / 'crosstree.sqlite'}")
    after = restore(tmp_path / "backup.zip", fresh)
    restored = PhotoStore(after, fresh.photos)
    assert [path.name for path in restored.path(name).parent.iterdir()] == [name]
    assert small_photo(restored, name) == made
    assert restored.damage() == []
    after.engine.dispose()
