"""The workshop's own settings: what stands in its letterhead, its limits, rules, instruments and people."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from decimal import Decimal
from typing import Any, get_type_hints

import msgspec
from sqlalchemy import select
from sqlalchemy.orm import Session

from workshop_log.book.entities import Setting
from workshop_log.exchange import records
from workshop_log.exchange.stationery import MailAccount, Stationery
from workshop_log.measuring.rules import Rule, rules
from workshop_log.measuring.verdict import VerdictLimits


@dataclass(frozen=True, slots=True)
class Settings:
    """What a workshop has set; what it has not set is as in a new book.

    Attributes
    ----------
    workshop : records.Workshop
        Copied into each job that is taken in.
    limits : VerdictLimits
        From which probability a reading counts as inside, up to which as outside.
    instruments : tuple[records.Instrument, ...]
        The workshop's own, with their accuracy.
    rules : tuple[Rule, ...]
        Rules of thumb, the workshop's own copies.
    persons : tuple[str, ...]
        Who works here.
    come_back : Decimal | None
        What a vehicle that comes back with the same fault costs the workshop.
    stationery : Stationery
        How its papers look.
    mail : MailAccount
        How its mail goes out.
    """

    workshop: records.Workshop = records.Workshop()
    limits: VerdictLimits = VerdictLimits()
    instruments: tuple[records.Instrument, ...] = ()
    rules: tuple[Rule, ...] = field(default_factory=rules)
    persons: tuple[str, ...] = ()
    come_back: Decimal | None = None
    stationery: Stationery = Stationery()
    mail: MailAccount = MailAccount()


_NAMES = tuple(setting.name for setting in fields(Settings))


def load_settings(session: Session) -> Settings:
    """Return the workshop's settings."""
    types = get_type_hints(Settings)
    kept = session.execute(select(Setting.name, Setting.value).where(Setting.name.in_(_NAMES)))
    return Settings(**{name: msgspec.json.decode(value, type=types[name]) for name, value in kept})


def save_setting(session: Session, key: str, value: Any) -> None:
    """Keep one of the settings, by the name of its field in `Settings`.

    Raises
    ------
    ValueError
        If there is no such setting.
    msgspec.ValidationError
        If the value does not fit it.
    """
    if key not in _NAMES:
        raise ValueError(f"{key!r} is no setting.")
    text = msgspec.json.encode(value).decode()
    msgspec.json.decode(text, type=get_type_hints(Settings)[key])
    row = session.get(Setting, key)
    if row is None:
        session.add(Setting(name=key, value=text))
    else:
        row.value = text
    session.flush()
