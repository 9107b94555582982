"""The lock files name everything that is needed, by version and hash, and no place to get it from."""

from __future__ import annotations

import re
import tomllib

import pytest
from environment import PROGRAM_LOCK, PROJECT, TEST_LOCK

LOCKS = (PROGRAM_LOCK, TEST_LOCK)


def requirements(lock):
    """Return the logical lines of a lock file: {"name==version ; marker": [hashes]}."""
    text = lock.read_text(encoding="utf-8").replace("\\\n", " ")
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    return {line.split("--hash=")[0].strip(): re.findall(r"--hash=(\S+)", line) for line in lines}


def names(lock):
    return {re.split(r"[=\[ ]", line)[0] for line in requirements(lock)}


def canonical(requirement):
    """Return the name of a requirement as locks spell it."""
    return re.sub(r"[-_.]+", "-", re.match(r"[\w.-]+", requirement).group()).lower()


@pytest.mark.parametrize("lock", LOCKS, ids=lambda lock: lock.name)
def test_every_requirement_has_one_version_and_hashes(lock):
    """Nothing is installed that was not seen when the lock was written."""
    assert requirements(lock)
    for requirement, hashes in requirements(lock).items():
        assert re.fullmatch(r"[a-z0-9-]+==[\w.+]+( ; .+)?", requirement), requirement
        assert hashes, requirement
        assert all(re.fullmatch(r"sha256:[0-9a-f]{64}", value) for value in hashes), requirement


@pytest.mark.parametrize("lock", LOCKS, ids=lambda lock: lock.name)
def test_locks_name_no_place(lock):
    """A lock says what to install; where from is the machine's own setting."""
    text = lock.read_text(encoding="utf-8")
    assert "://" not in text
    assert not re.search(r"^\s*(--(extra-)?index-url|--find-links|-i|-f|--trusted-host)\b", text, re.MULTILINE)
    assert " @ " not in text


def test_all_dependencies_are_locked():
    """What pyproject.toml asks for is in the lock, and the test tools are in the test lock alone."""
    project = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    needed = {canonical(requirement) for requirement in project["dependencies"]}
    tools = {canonical(requirement) for requirement in project["optional-dependencies"]["test"]}
    assert needed <= names(PROGRAM_LOCK)
    assert tools <= names(TEST_LOCK)
    assert not tools & names(PROGRAM_LOCK)


def test_test_lock_holds_the_whole_program_lock():
    """The tests run with exactly what the program runs with, so that one environment serves both."""
    program, tests = requirements(PROGRAM_LOCK), requirements(TEST_LOCK)
    # A test tool may need on every system what the program needs on one: the version is what counts.
    versions = {requirement.split(";")[0].strip(): set(hashes) for requirement, hashes in tests.items()}
    for requirement, hashes in program.items():
        assert versions.get(requirement.split(";")[0].strip()) == set(hashes), requirement
