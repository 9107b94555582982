"""A start asks before it changes the machine, and makes a practice book whole or not at all."""

from __future__ import annotations

import practice
import pytest
import start
import system


@pytest.fixture
def debian(monkeypatch):
    """Pretend a Debian without a terminal; return what apt-get is asked to install."""
    installed = []
    monkeypatch.setattr(system, "_is_debian", lambda: True)
    monkeypatch.setattr(system, "_as_root", lambda: [])
    monkeypatch.setattr(system, "_has_terminal", lambda: False)
    monkeypatch.setattr(system, "_apt_get", lambda _, packages: installed.append(packages) or True)
    return installed


def test_packages_are_added_with_consent(debian, capsys):
    """--yes is consent, and what is done is said."""
    system.add_packages(["libegl1", "libgl1"], "Workshop Log", may_install=True)
    assert debian == [["libegl1", "libgl1"]]
    assert "apt-get install --no-install-recommends libegl1 libgl1" in capsys.readouterr().out


def test_packages_are_not_added_without_a_terminal_to_ask(debian, capsys):
    """Without consent nothing is changed, and the command to run is said."""
    system.add_packages(["libegl1"], "Workshop Log", may_install=False)
    assert debian == []
    assert "apt-get install --no-install-recommends libegl1" in capsys.readouterr().out


@pytest.mark.parametrize(("answer", "added"), [("y", True), ("YES", True), ("", False), ("n", False), ("maybe", False)])
def test_the_answer_on_a_terminal_decides(debian, monkeypatch, answer, added):
    """Only a yes is a yes."""
    monkeypatch.setattr(system, "_has_terminal", lambda: True)
    monkeypatch.setattr("builtins.input", lambda _: answer)
    system.add_packages(["libegl1"], "Workshop Log", may_install=False)
    assert bool(debian) is added


def test_nothing_missing_is_not_spoken_of(debian, capsys):
    """A complete machine hears nothing."""
    system.add_packages([], "Workshop Log", may_install=True)
    assert debian == []
    assert capsys.readouterr().out == ""


@pytest.mark.skipif(not system._is_linux(), reason="only Linux takes libraries from the system")
def test_a_missing_library_is_named_by_its_package(monkeypatch):
    """The package of a library that does not load is missing; of one that loads, not."""
    monkeypatch.setattr(system, "QT_LIBRARIES", {"libc.so.6": "libc6", "libnowhere.so.9": "libnowhere9"})
    assert system.missing_qt_packages() == ["libnowhere9"]


@pytest.mark.parametrize(
    ("settings", "expected"),
    [
        ({}, False),
        ({"DISPLAY": ""}, False),
        ({"DISPLAY": ":0"}, True),
        ({"WAYLAND_DISPLAY": "wayland-0"}, True),
        ({"QT_QPA_PLATFORM": "offscreen"}, True),
    ],
)
def test_screen_is_known_from_the_settings(monkeypatch, settings, expected):
    """Qt would abort without a screen, so it is looked for first."""
    monkeypatch.setattr(system, "_is_linux", lambda: True)
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    for name, value in settings.items():
        monkeypatch.setenv(name, value)
    assert system.has_screen() is expected


def test_trouble_is_told_in_a_sentence(monkeypatch, capsys):
    """A set-up that cannot go on ends with its sentence and a failing status."""

    def refuse(lock):
        raise start.environment.SetupError("The disk is full.")

    monkeypatch.setattr(start.environment, "is_installed", lambda _: True)
    monkeypatch.setattr(start.environment, "install", refuse)
    assert start.main(["--terminal"]) == 1
    assert capsys.readouterr().err == "The disk is full.\n"


@pytest.fixture
def program(monkeypatch):
    """Return a stand-in for the program that notes how it is called, and can be told to fail."""

    class Program:
        def __init__(self):
            self.calls = []
            self.fails = False

        def __call__(self, *arguments):
            self.calls.append(arguments)
            if self.fails:
                raise practice.PracticeError("did not succeed")

    program = Program()
    monkeypatch.setattr(practice, "workshop_log", program)
    return program


def test_practice_book_is_made_once(program, tmp_path):
    """The first start takes the sample jobs in; a later one leaves the book as the learner left it."""
    folder = tmp_path / "data" / "practice"
    practice.make_practice_book(folder)
    practice.make_practice_book(folder)
    [(_, book, command, *_)] = program.calls
    assert command == "import"
    assert book.endswith("book.db")
    assert folder.is_dir()


def test_failed_practice_book_is_made_again(program, tmp_path):
    """An import that failed or was killed leaves nothing that the next start would take for a book."""
    folder = tmp_path / "practice"
    program.fails = True
    with pytest.raises(practice.PracticeError):
        practice.make_practice_book(folder)
    assert not folder.exists()
    program.fails = False
    practice.make_practice_book(folder)
    assert folder.is_dir()
    assert len(program.calls) == 2


def test_shown_sample_exists():
    """The terminal shows a job that is there."""
    assert (practice.SAMPLE_JOBS / practice.SHOWN_SAMPLE).is_file()
