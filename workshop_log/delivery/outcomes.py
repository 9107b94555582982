"""What became of one try to send a message."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Sent:
    """The server took the message for everybody; `answer` is what it said."""

    answer: str


@dataclass(frozen=True, slots=True)
class NotSent:
    """Nobody has got the message, and another try may succeed.

    Attributes
    ----------
    answer : str
        Why, in one sentence.
    is_login : bool
        Whether the server did not take name and password: to try again with the same ones would lock the account.
    """

    answer: str
    is_login: bool = False


@dataclass(frozen=True, slots=True)
class Refused:
    """Nobody has got the message, and the server will not take it as it is.

    Attributes
    ----------
    answer : str
        Why, in one sentence.
    recipients : tuple[str, ...]
        The addresses that it refused, where it was those.
    """

    answer: str
    recipients: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class InDoubt:
    """The message was handed over whole and no answer came: it may have arrived or not."""

    answer: str


Outcome = Sent | NotSent | Refused | InDoubt
