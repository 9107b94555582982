"""How much current a wire is usually asked to carry: common practice, no source, so that it only ever warns."""

from __future__ import annotations

from functools import cache

from workshop_log import resources

SOURCE = "common practice, no source"


@cache
def _limits() -> tuple[tuple[float, float], ...]:
    """Return (section [mm²], limit [A]), rising."""
    return tuple(sorted((float(row["section"]), float(row["limit"])) for row in resources.table("wire_currents")))


def current_limit_a(section_mm2: float) -> float | None:
    """Return the usual limit [A] of the largest section in the table that is no larger; None below the table."""
    return next((limit for section, limit in reversed(_limits()) if section <= section_mm2 * (1 + 1e-9)), None)
