"""A site of two cameras and three cards, where it does not matter which site a panel plans.

The demo's takes four times as long. The second picture of a panel, which takes as long as the plan of these, is
left out.
"""

from contextlib import contextmanager
from dataclasses import replace

import pytest

from edgestore.panels import proposal
from edgestore.panels.controls import File


@pytest.fixture(scope="session")
def of_two_cameras(tmp_path_factory):
    """Give what makes a panel open with two cameras, and with settings of theirs if it has any."""
    folder = tmp_path_factory.mktemp("site")
    own = {"cameras": folder / "cameras.csv", "cards": folder / "cards.csv", "settings": folder / "site.toml"}
    own["cameras"].write_text("camera,mean_mbit_s,cap_mbit_s\nGate,2,4\nQuay,4,8\n")
    own["cards"].write_text(
        "card,capacity_gb,speed_class,endurance_tbw,price\nslow,256,C4,300,15\nmiddle,512,V30,300,45\nlarge,1024,V30,800,90\n"
    )
    own["settings"].write_text(
        "[requirements]\nretention_days = 4\n[costs]\nvisit_price = 60\nvisit_with_lift_price = 200\n"
    )

    def smaller(spec):
        return replace(spec, default=str(own.get(spec.name, spec.default))) if isinstance(spec, File) else spec

    def smaller_site(panel):
        return replace(panel, inputs=tuple(smaller(one) if one.default else one for one in panel.inputs), beside=None)

    return smaller_site


@pytest.fixture(scope="session")
def held():
    """Give what lets a control be moved without an answer: each answer is a picture drawn."""

    @contextmanager
    def holding(frame, control):
        control.on_change(lambda: None)
        yield
        control.on_change(frame._moved)

    return holding


@pytest.fixture(scope="module")
def two_cameras(of_two_cameras):
    """Have the panel of the proposal open with two cameras."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(proposal, "PANEL", of_two_cameras(proposal.PANEL))
        yield
