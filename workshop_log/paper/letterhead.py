"""The head of every paper: who writes, and how to reach them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from workshop_log.paper.drawings import rule
from workshop_log.paper.look import current
from workshop_log.paper.pictures import drawn_picture, logo_picture
from workshop_log.paper.styles import accent
from workshop_log.paper.tables import shortened, side_by_side
from workshop_log.paper.text import Ref, para
from workshop_log.paper.wording import say

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import Workshop
    from workshop_log.paper.text import Part

# What goes into a link as it is written: no other address becomes one.
_EMAIL = re.compile(r"[A-Za-z0-9._+-]+@[A-Za-z0-9-]+(?:\.[A-Za-z0-9-]+)+")
# The logo's box. [pt]
_LOGO_WIDTH, _LOGO_HEIGHT = 160.0, 44.0


def letterhead(workshop: Workshop, width: float) -> list[Flowable]:
    """Return the workshop's name with how to reach it, over a line in the accent colour."""
    from reportlab.platypus import Spacer

    address = "\n".join(line for line in (
        ", ".join(line.strip() for line in workshop.address.splitlines() if line.strip()),
        " · ".join(word for word in (workshop.phone, workshop.email) if word),
        say("letterhead.tax_number", number=workshop.tax_number) if workshop.tax_number else "") if line)
    # The letterhead is one row and has to stay on the page.
    name = shortened(workshop.name, 160)
    reached = para(*_with_link(shortened(address, 400), workshop.email), style="address")
    picture = _logo(name)
    row = [picture, [para(name, style="address bold"), reached]] if picture else [para(name, style="workshop"), reached]
    head = side_by_side([row], [width * 0.45, width * 0.55], [("VALIGN", (0, 0), (-1, -1), "BOTTOM")])
    return [head, Spacer(0, 6), rule(width, accent(), 1.1), Spacer(0, 11)]


def _with_link(address: str, email: str) -> list[Part]:
    """Return the address with its email as a link; as it is where that is no plain one."""
    if not _EMAIL.fullmatch(email) or email not in address:
        return [address]
    before, _, after = address.rpartition(email)
    return [before, Ref(email, f"mailto:{email}"), after]


def _logo(name: str) -> Flowable | None:
    """Return the workshop's logo, or None where it has none that can be drawn."""
    made = logo_picture(current().logo, _LOGO_WIDTH, _LOGO_HEIGHT)
    return drawn_picture(made, _LOGO_WIDTH, _LOGO_HEIGHT, say("letterhead.logo", name=name)) if made else None
