"""A save folder on a page of the training is read as in a panel: ~ is the home folder, and an empty box is refused."""

import pytest

from edgestore.training.exercises.class_page import ClassPage
from edgestore.training.fitting.page import GuidePage


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    return tmp_path / "home"


def test_sheets_of_a_class_are_saved_in_the_home_folder(home):
    page = ClassPage()
    page.names.value, page.folder.value = "Robin", "~/class"
    page.save.click()
    assert list((home / "class").iterdir())
    page.folder.value = ""
    page.save.click()
    assert "an empty box" in page.said.value
    assert [path.name for path in home.parent.iterdir()] == ["home"]


def test_hand_outs_without_a_folder_are_refused(home):
    page = GuidePage()
    page.folder.value = ""
    page.save.click()
    assert "an empty box" in page.saved.value
    assert list(home.parent.iterdir()) == []
