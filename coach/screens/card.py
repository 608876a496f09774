"""The call card and the people to call, in words.

Owns the order in which a card is read: whom to call, what to leave and close, what to say.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from coach import words
from coach.sitting.contacts import Contact

if TYPE_CHECKING:
    from coach.sitting.view import Card


def contact_lines(contacts: Iterable[Contact], between: str = "\n") -> str:
    """Return everybody to call: who and number, then name and hours where they are known."""
    return between.join(
        (words.CALL_NAMED if contact.name else words.CALL_LINE).format(
            who=contact.who, phone=contact.phone, name=contact.name, hours=contact.hours
        )
        for contact in contacts
    )


def call_first(card: Card) -> str:
    """Return the one line that matters most: the number to call."""
    first = card.contacts[0]
    who = words.EMERGENCY if card.emergency else first.who
    return words.CALL_FIRST.format(who=who, phone=first.phone)


def card_lines(card: Card) -> str:
    """Return who answers, what to close and what to leave."""
    first = card.contacts[0]
    lines = [f"{first.name}, {first.hours}"] if first.name else []
    if card.close:
        lines.append(words.CARD_CLOSE.format(close=card.close))
    if card.leave:
        lines.append(words.CARD_LEAVE.format(leave=card.leave))
    return "\n".join(lines)


def say_lines(card: Card) -> str:
    """Return what to say on the telephone, and whom else there is to call."""
    says = (card.situation, card.background, card.assessment, card.request)
    others = (words.CALL_THEN.format(who=c.who, phone=c.phone) for c in card.contacts[1:])
    return "\n".join((words.CARD_SAY, *filter(None, says), " ".join(others)))
