"""Bytes to a job: everything that can be wrong with a job file, said in one sentence with its place."""

from __future__ import annotations

import codecs
import json
import re
from collections.abc import Iterator, Sequence
from typing import Any

import msgspec

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.checking import Finding, check_job, check_text
from workshop_log.exchange.explaining import explain
from workshop_log.exchange.records import FORMAT, VERSION, Job

__all__ = ["Finding", "JobFileError", "check_job", "read_job"]

MAX_BYTES = 200 * 1024 * 1024
# Below this size a wrong file is searched for a key that stands twice before it is explained otherwise.
_SMALL = 4_000_000
_BOM = codecs.BOM_UTF8
_WIDE_BOMS = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_DEEP = "the brackets are nested too deep: this is not a job file."
# What may stand for a character that is no text; where none is found, nobody need look closer.
_SUSPICIOUS_ESCAPE = re.compile(rb"\\u(?:00[01]|007[fF]|[dD][89a-fA-F]|[fF]{3}[eEfF])|\\[bf]|\x7f|\xef\xbf[\xbe\xbf]")
# Half of a surrogate pair, written as an escape whose own backslash is not escaped.
_HALF_PAIR = re.compile(
    r"(?<!\\)(?:\\\\)*\\u[dD](?:[89abAB][0-9a-fA-F]{2}(?!\\u[dD][c-fC-F][0-9a-fA-F]{2})"
    r"|(?<!\\u[dD][89abAB][0-9a-fA-F]{2}\\u[dD])[c-fC-F][0-9a-fA-F]{2})")


class JobFileError(WorkshopLogError, ValueError):
    """A file that is no job file, or one whose record would be false.

    Attributes
    ----------
    name : str
        The file's name as the person knows it.
    path : str
        The place in the file, `steps[3].reading`; empty for the file as a whole.
    reason : str
        What is wrong and what to do.
    findings : tuple[Finding, ...]
        All that is wrong, where more than the first is known.
    """

    def __init__(self, name: str, path: str, reason: str, findings: Sequence[Finding] = ()) -> None:
        self.name = name
        self.path = path
        self.reason = reason
        self.findings = tuple(findings)
        others = sum(finding.severity == "error" for finding in self.findings) - 1
        more = f" (and {others} more)" if others > 0 else ""
        super().__init__(f"{name}: {path + ': ' if path else ''}{reason}{more}")


class _Head(msgspec.Struct):
    """What is looked at first; everything else is skipped, and its JSON checked on the way."""

    format: Any = FORMAT
    version: Any = VERSION


def read_job(data: bytes, name: str) -> Job:
    """Read a whole job file.

    Parameters
    ----------
    data : bytes
        The file.
    name : str
        Its name, for the messages.

    Raises
    ------
    JobFileError
        If it is no job file, or if what it says contradicts itself. Warnings do not raise: `check_job` has them.
    """
    data = _json_bytes(data, name)
    _check_head(data, name)
    try:
        job = msgspec.json.decode(data, type=Job)
    except msgspec.ValidationError as error:
        if len(data) <= _SMALL:
            _refuse_duplicate_keys(data, name)
        path, reason = explain(error, data)
        raise JobFileError(name, path, reason) from error
    _refuse_duplicate_keys(data, name)
    findings = check_text(job) if _SUSPICIOUS_ESCAPE.search(data) else []
    findings += check_job(job, text=False)
    for finding in findings:
        if finding.severity == "error":
            raise JobFileError(name, finding.path, finding.message, findings)
    return job


def _json_bytes(data: bytes, name: str) -> bytes:
    """Return the UTF-8 text without byte order mark, or say why there is none."""
    if len(data) > MAX_BYTES:
        raise JobFileError(name, "", f"the file has {len(data) / 2**20:.0f} MB; at most {MAX_BYTES // 2**20} MB are "
                                     f"read: export the job with smaller photos.")
    if data.startswith(_WIDE_BOMS) or (0 in data[:4] and data.strip(b"\0")):
        raise JobFileError(name, "", "the file is UTF-16 or UTF-32 text: save it as UTF-8.")
    data = data.removeprefix(_BOM)
    if not data.strip(b" \t\r\n\0"):
        holds = "holds nothing but zero bytes" if b"\0" in data else "is empty"
        raise JobFileError(name, "", f"the file {holds}: copy it again from where it came.")
    try:
        _check_utf8(data)
    except UnicodeDecodeError as error:
        where = _line_and_column(data, error.start)
        raise JobFileError(name, "", f"the text is not UTF-8 ({where}): it may be Latin-1 or Windows text, or no text "
                                     f"at all; save it as UTF-8.") from error
    return data


def _check_utf8(data: bytes) -> None:
    """Raise UnicodeDecodeError with the position in `data`, without holding all of it a second time."""
    if data.isascii():
        return
    decoder = codecs.getincrementaldecoder("utf-8")()
    size = 1 << 20
    for start in range(0, len(data), size):
        held = len(decoder.getstate()[0])
        try:
            decoder.decode(data[start:start + size], final=start + size >= len(data))
        except UnicodeDecodeError as error:
            error.start += start - held
            raise


def _check_head(data: bytes, name: str) -> None:
    """Refuse what is not JSON, and what is the JSON of something else."""
    try:
        head = msgspec.json.decode(data, type=_Head)
    except msgspec.ValidationError as error:
        raise JobFileError(name, "", "a job file is one JSON object in { }.") from error
    except RecursionError as error:
        raise JobFileError(name, "", _DEEP) from error
    except msgspec.DecodeError as error:
        raise JobFileError(name, "", _what_is_no_json(data, str(error))) from error
    except UnicodeDecodeError as error:
        raise JobFileError(name, "", "a text in the file holds half of a character: the file is damaged.") from error
    if head.format != FORMAT:
        raise JobFileError(name, "format", f"this is not a job file: a job file says “{FORMAT}” here.")
    if head.version != VERSION or isinstance(head.version, bool | float):
        raise JobFileError(name, "version", f"this file has version {str(head.version)[:20]}; this program reads "
                                            f"version {VERSION}: use the program that wrote it, or a newer one.")


def _what_is_no_json(data: bytes, words: str) -> str:
    half = _HALF_PAIR.search(data.decode(errors="replace")) if re.search(rb"\\u[dD][89a-fA-F]", data) else None
    if half:
        start = len(data.decode()[:half.start()].encode())
        return f"half of a character in {_line_and_column(data, start)}: the text there was cut; write it again."
    found = re.search(r"\(byte (\d+)\)", words)
    if not found:
        return "the file ends in the middle: copy it again from where it came."
    place = min(int(found[1]), len(data) - 1)
    where, found_byte = _line_and_column(data, place), data[place]
    if found_byte < ord(" ") and found_byte not in b"\t\r\n":
        return f"not JSON: a control character, {where}; remove it."
    if data[place:place + 1].isalpha() and re.match(rb"-?(NaN|Inf)", data[max(0, place - 1):place + 3].lstrip(b" :")):
        return f"not JSON: no number, {where}; leave the key out where there is no value."
    after = words.removeprefix("JSON is malformed: ").split(" (byte")[0]
    return f"not JSON: {after}, {where}."


def _line_and_column(data: bytes, place: int) -> str:
    line = data.count(b"\n", 0, place) + 1
    begin = data.rfind(b"\n", 0, place) + 1
    return f"line {line}, column {len(data[begin:place].decode(errors='replace')) + 1}"


# --- keys that stand twice ------------------------------------------------------------------------------------------


class _Duplicate:
    """Stands in the place of an object in which a key stands twice, until its path is known."""

    def __init__(self, key: str) -> None:
        self.key = key
        self.path = ""


def _refuse_duplicate_keys(data: bytes, name: str) -> None:
    """Refuse an object with the same key twice: readers would differ in which of the two they believe.

    The decoder takes the last one without a word. Python's own reads the keys as pairs; nothing that it reads is
    kept, so that a large file costs time but little memory.
    """
    first: _Duplicate | None = None

    def look(pairs: list[tuple[str, Any]]) -> _Duplicate | None:
        nonlocal first
        if first is None:
            keys = {key for key, _ in pairs}
            if len(keys) < len(pairs):
                first = _Duplicate(_first_twice(key for key, _ in pairs))
                return first
            return None
        for key, value in pairs:
            inner = _path_to(first, value)
            if inner is not None:
                first.path = f"{key}{inner}.{first.path}".rstrip(".")
                return first
        return None

    try:
        json.loads(data, object_pairs_hook=look, parse_int=len, parse_float=len)
    except RecursionError as error:
        raise JobFileError(name, "", _DEEP) from error
    except ValueError:
        # Not JSON, or a number of thousands of digits: the decoder says it better.
        return
    if first:
        path = first.path.replace(".[", "[")
        raise JobFileError(name, path, f"the key “{first.key[:60]}” stands twice: keep one of them.")


def _first_twice(keys: Iterator[str]) -> str:
    seen: set[str] = set()
    return next(key for key in keys if key in seen or seen.add(key))


def _path_to(wanted: _Duplicate, value: Any) -> str | None:
    """Return "" where `value` is the wanted one, "[3]" where it stands in a list, None where it is not there."""
    if value is wanted:
        return ""
    if isinstance(value, list):
        for index, item in enumerate(value):
            inner = _path_to(wanted, item)
            if inner is not None:
                return f"[{index}]{inner}"
    return None
