"""What a notice says, in the crew's language."""

from mobile.notices import Notice
from mobile.widgets.look import LOOK

__all__ = ["notice_text"]


def notice_text(notice: Notice) -> str:
    """What happened, and what to do."""
    _ = LOOK.words.text
    return {
        "new_identity": _("This tablet has a copy elsewhere, and got a new name. Nothing was lost. Use only one of the two."),
        "damaged_entry": _("An entry was damaged on this tablet. What is left of it goes to the office: tell them."),
        "damaged_photo": _("A photo was damaged or is gone, and cannot be sent. Take it again."),
        "server_restored": _("The server had lost entries of this tablet. They are sent again; nothing to do."),
    }[notice.sort]
