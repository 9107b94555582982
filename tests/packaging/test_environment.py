"""The set-up refuses in a sentence, repairs what was interrupted, and leaves alone what is complete."""

from __future__ import annotations

import ast
import errno
import json
import subprocess
import sys
from pathlib import Path

import environment
import pytest

PACKAGING = Path(environment.__file__).parent

# Run by whatever Python a machine has, before anything is installed.
BARE_SCRIPTS = ("environment.py", "system.py", "start.py", "test.py", "postgresql.py")


def is_one_sentence(text: str) -> bool:
    return "\n" not in text and "Traceback" not in text and len(text) < 400


@pytest.mark.parametrize("script", BARE_SCRIPTS)
def test_scripts_need_only_the_standard_library(script):
    """A bare machine can run them."""
    tree = ast.parse((PACKAGING / script).read_text(encoding="utf-8"))
    imported = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            imported |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            imported.add(node.module.split(".")[0])
    own = {path.stem for path in PACKAGING.glob("*.py")}
    assert imported - own <= set(sys.stdlib_module_names)


@pytest.mark.parametrize("script", BARE_SCRIPTS)
def test_scripts_can_be_read_by_an_old_python(script):
    """An old Python gets as far as being refused in a sentence, not a syntax error."""
    ast.parse((PACKAGING / script).read_text(encoding="utf-8"), feature_version=(3, 7))


@pytest.mark.parametrize("version", [(3, 7, 3), (3, 10, 12), (2, 7, 18)])
def test_old_python_is_refused_with_its_version(version):
    """The sentence says what is needed and what was found."""
    with pytest.raises(environment.SetupError) as refusal:
        environment.check_python(version)
    message = str(refusal.value)
    assert "3.11 or newer" in message
    assert ".".join(map(str, version)) in message
    assert is_one_sentence(message)


@pytest.mark.parametrize("version", [(3, 11, 0), (3, 12, 4), (3, 20, 0), (4, 0, 0)])
def test_new_python_is_accepted(version):
    """3.11 is the oldest; 3.20 is not taken for 3.2."""
    environment.check_python(version)


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("ERROR: Could not install packages due to an OSError: [Errno 28] No space left on device", "disk is full"),
        (
            "WARNING: Retrying (Retry(total=1, connect=None)) after connection broken by 'NewConnectionError'\n"
            "ERROR: Could not find a version that satisfies the requirement pint==0.25.3\n"
            "ERROR: No matching distribution found for pint==0.25.3",
            "cannot be reached",
        ),
        ("ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE.", "not the one that was locked"),
        ("ERROR: No matching distribution found for msgspec==0.22.0", "no ready-made package of msgspec"),
        ("ERROR: something new", "something new"),
        ("", "no reason"),
    ],
)
def test_what_pip_says_becomes_one_sentence(said, expected):
    """Full disk, no network, a wrong file and no wheel are told apart; anything else is told in pip's last words."""
    message = environment.pip_trouble(said, "The packages could not be installed")
    assert expected in message
    assert is_one_sentence(message)


@pytest.mark.parametrize(
    ("number", "expected"),
    [
        (errno.ENOSPC, "disk is full"),
        (errno.EROFS, "cannot be written"),
        (errno.EACCES, "cannot be written"),
        (errno.EIO, "cannot be used"),
    ],
)
def test_what_the_file_system_refuses_becomes_one_sentence(monkeypatch, number, expected):
    """A read-only folder and a full disk each say what to do."""

    def refuse(**_):
        raise OSError(number, "refused", "/somewhere")

    monkeypatch.setattr(environment.tempfile, "TemporaryFile", refuse)
    monkeypatch.setattr(environment, "is_installed", lambda _: False)
    monkeypatch.setattr(environment, "_make_venv", lambda: pytest.fail("went on after the refusal"))
    with pytest.raises(environment.SetupError) as refusal:
        environment.install(environment.PROGRAM_LOCK)
    assert expected in str(refusal.value)
    assert is_one_sentence(str(refusal.value))


@pytest.fixture
def small_project(tmp_path, monkeypatch):
    """Return the empty lock of a project whose name is difficult and whose command line shows what it is given."""
    project = tmp_path / "a bay's wörk shop"
    package = project / "workshop_log"
    package.mkdir(parents=True)
    (package / "__init__.py").touch()
    (package / "commands.py").write_text(
        "import sys\n\ndef main():\n    print(ascii(sys.argv[1:]))\n    return 3\n", encoding="utf-8"
    )
    lock = project / "requirements.txt"
    lock.write_text("# nothing\n", encoding="utf-8")
    monkeypatch.setattr(environment, "PROJECT", project)
    monkeypatch.setattr(environment, "VENV", project / ".venv")
    monkeypatch.setattr(environment, "STAMP", project / ".venv" / "installed.json")
    monkeypatch.setattr(environment, "PIP_LOG", project / ".venv" / "pip.log")
    return lock


def test_interrupted_installation_is_made_anew(small_project):
    """An environment without its stamp is not trusted; one with it is left alone, and the program runs from it."""
    lock = small_project
    assert not environment.is_installed(lock)
    environment.install(lock)
    assert environment.is_installed(lock)

    program = [str(environment.venv_python()), str(environment.launcher())]
    if sys.platform != "win32":
        program = program[1:]
    ran = subprocess.run([*program, "two words", "Ω"], capture_output=True, text=True, check=False, cwd="/")
    assert (ran.stdout, ran.returncode) == ("['two words', '\\u03a9']\n", 3), ran.stderr

    half_a_package = environment.VENV / "half a package"
    half_a_package.touch()
    environment.install(lock)
    assert half_a_package.exists()

    environment.STAMP.unlink()
    assert not environment.is_installed(lock)
    environment.install(lock)
    assert environment.is_installed(lock)
    assert not half_a_package.exists()


@pytest.fixture
def complete(small_project):
    """Return a lock that the stamp calls installed, with a Python to go with it; nothing is really installed."""
    environment.scripts_folder().mkdir(parents=True)
    environment.venv_python().touch()
    environment.STAMP.write_text(json.dumps(environment.expected_stamp(small_project)), encoding="utf-8")
    assert environment.is_installed(small_project)
    return small_project


def test_changed_lock_is_not_installed(complete):
    """After an update of the project the new lock is installed."""
    complete.write_text("# something new\n", encoding="utf-8")
    assert not environment.is_installed(complete)
    assert environment.is_same_environment(environment.read_stamp())


@pytest.mark.parametrize(("key", "value"), [("project", "/elsewhere"), ("python", "3.10"), ("set-up", "0" * 64)])
def test_environment_of_another_place_or_python_is_not_trusted(complete, key, value):
    """A moved or copied project, another Python and a changed set-up make the environment anew."""
    stamp = environment.read_stamp()
    environment.STAMP.write_text(json.dumps({**stamp, key: value}), encoding="utf-8")
    assert not environment.is_installed(complete)
    assert not environment.is_same_environment(environment.read_stamp())


@pytest.mark.parametrize("content", ["", "{", "[]", '"x"', "{}", '{"locks": 5}'])
def test_damaged_stamp_counts_as_none(complete, content):
    """A stamp that cannot be read never stops a start."""
    environment.STAMP.write_text(content, encoding="utf-8")
    assert not environment.is_installed(complete)


def test_complete_environment_serves_where_nothing_can_be_written(complete, monkeypatch):
    """A project that an administrator set up can be started by anybody."""
    monkeypatch.setattr(environment, "_only_one_at_a_time", lambda: pytest.fail("wanted to write"))
    environment.install(complete)


def test_missing_python_is_noticed(complete):
    """An environment whose Python is gone (an upgraded system) is made anew."""
    environment.venv_python().unlink()
    assert not environment.is_installed(complete)
