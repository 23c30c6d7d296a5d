"""Every page of the office in Spanish, whose words are longer than the English ones."""

import pytest

from server.access.accounts import choose_language
from shared_schema.entries import FragmentOutplanted, FragmentPlanted
from tests.browser.conftest import Desk
from tests.server.office_pages import addresses, names_of
from tests.server.small_nursery import NOW

pytestmark = [pytest.mark.browser, pytest.mark.usefixtures("compiled_words")]

SIZES = ((390, 844), (1024, 768), (1280, 800))


def test_every_page_fits_in_spanish(desk: Desk) -> None:
    """Nothing sticks out to the side at phone, tablet and laptop size, on any page of the table of routes."""
    with desk.store.office("ines") as office:
        office.write(FragmentOutplanted, "fragment:L1-001", NOW, place="site:Far-reef")
        office.write(FragmentPlanted, "fragment:T1-900", NOW, place="T1/3.3.3", genet="G1")
    names = names_of(desk.store, "ines")
    choose_language(desk.store, "ines", "es")
    for called, address in addresses(names).items():
        page = desk.open(address)
        if called == "set-password":
            continue  # comes before anybody signed in: as the browser asks
        assert page.evaluate("document.documentElement.lang") == "es", address
        for width, height in SIZES:
            page.set_viewport_size({"width": width, "height": height})
            assert page.evaluate("document.documentElement.scrollWidth") <= width, (called, width)


def test_the_language_is_changed_on_ones_own_page(desk: Desk) -> None:
    """By the list that names each language in itself; the page comes back in it, and back again."""
    page = desk.open("/account")
    page.locator("select[name=language]").select_option(label="Español")
    page.get_by_role("button", name="Change the language").click()
    page.get_by_role("button", name="Cambiar el idioma").wait_for()
    page.locator("select[name=language]").select_option(label="English")
    page.get_by_role("button", name="Cambiar el idioma").click()
    page.get_by_role("button", name="Change the language").wait_for()
