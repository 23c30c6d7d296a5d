"""What the supervisor sees: pages on surveys, structures, questions and fragments, for whoever holds a key."""

from server.pages.door import make_office_key
from server.pages.mounting import answer_with_page, mount_pages, router

__all__ = ["answer_with_page", "make_office_key", "mount_pages", "router"]
