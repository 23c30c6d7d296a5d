"""What the office sees: pages on surveys, structures, questions and fragments, on people and tablets, for whoever signed in."""

from server.pages.mounting import answer_with_page, mount_pages, router

__all__ = ["answer_with_page", "mount_pages", "router"]
