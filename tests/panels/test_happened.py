"""The page of what happened: the answers beside the camera list, the table and the cameras chosen, what is saved."""

from dataclasses import replace

import pytest
from onvif_answers import SAVED, soap, summary, timedelta, write

from edgestore.panels import happened
from edgestore.panels.controls import File
from edgestore.panels.frame import Frame
from edgestore.plan.what_happened import ALL, TABLES, WRONG


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("site")
    (folder / "cameras.csv").write_text("camera,mean_mbit_s,cap_mbit_s\nGate,2,4\nQuay,2,8\n")
    (folder / "cards.csv").write_text("card,capacity_gb,speed_class,endurance_tbw\nsmall,100,V30,60\n")
    (folder / "log.csv").write_text("camera,card,fitted\nGate,small,2025-01-01\nQuay,small,2025-01-01\n")
    (folder / "site.toml").write_text('[service]\nlog = "log.csv"\nas_of = 2026-11-20\n')
    hours = {"Gate": 110, "Quay": 40}  # 100 GB at 2 Mbit/s are 111 h
    files = {f"{name}.xml": soap(summary(SAVED - timedelta(hours=of), SAVED)) for name, of in hours.items()}
    write(folder / "answers" / "2026-11-20", files)
    return folder


def opened(folder):
    paths = {"cameras": "cameras.csv", "cards": "cards.csv", "settings": "site.toml"}
    own = [
        replace(one, default=str(folder / paths[one.name])) if isinstance(one, File) else one
        for one in happened.PANEL.inputs
    ]
    return Frame(replace(happened.PANEL, inputs=tuple(own)))


def test_the_answers_beside_the_list_are_held_against_the_plan(folder):
    frame = opened(folder)
    assert "1 as planned, 1 shorter." in frame.sentence.value
    assert "The plan was wrong about Quay." in frame.sentence.value
    assert list(frame.result.table["Camera"]) == ["Gate", "Quay"]
    frame.controls["of_cameras"].value = WRONG
    assert list(frame.result.table["Camera"]) == ["Quay"]
    frame.controls["of_cameras"].value = ALL
    frame.controls["shown"].value = TABLES[3]
    assert list(frame.result.table.columns) == ["Camera", "Mean before, Mbit/s", "Mean now, Mbit/s"]
    saved = happened.PANEL.files(frame.result, ())
    assert set(saved) == {"what_happened.csv", "rates_learnt.csv", "cards_learnt.csv"}
    assert saved["what_happened.csv"].decode().count("\n") == 3


def test_without_answers_the_page_says_so(folder, tmp_path):
    for name in ("cameras.csv", "cards.csv", "log.csv", "site.toml"):
        (tmp_path / name).write_text((folder / name).read_text())
    frame = opened(tmp_path)
    assert "None of 2 cameras has saved answers" in frame.sentence.value
