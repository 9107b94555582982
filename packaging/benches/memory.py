"""What a process takes of the machine's memory, as Linux counts it."""

from pathlib import Path

_COUNTS = Path("/proc/self/smaps_rollup")


def memory_kib() -> dict:
    """Return this process's resident memory and its fair share of it, in KiB; nothing where it is not counted so."""
    try:
        lines = _COUNTS.read_text(encoding="ascii").splitlines()
    except OSError:
        return {}
    counts = {line.split(":")[0]: int(line.split()[1]) for line in lines[1:]}
    return {"rss": counts["Rss"], "pss": counts["Pss"]}
