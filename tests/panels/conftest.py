"""A site of two cameras, where it does not matter which site a panel plans: the demo's takes four times as long."""

from dataclasses import replace

import pytest

from edgestore.panels import proposal
from edgestore.panels.controls import File


@pytest.fixture(scope="session")
def of_two_cameras(tmp_path_factory):
    """Give what makes a panel open with two cameras, and with settings of theirs if it has any."""
    folder = tmp_path_factory.mktemp("site")
    own = {"cameras": folder / "cameras.csv", "settings": folder / "site.toml"}
    own["cameras"].write_text("camera,mean_mbit_s,cap_mbit_s\nGate,2,4\nQuay,4,8\n")
    own["settings"].write_text(
        "[requirements]\nretention_days = 4\n[costs]\nvisit_price = 60\nvisit_with_lift_price = 200\n"
    )

    def smaller(spec):
        return replace(spec, default=str(own.get(spec.name, spec.default))) if isinstance(spec, File) else spec

    return lambda panel: replace(panel, inputs=tuple(smaller(one) if one.default else one for one in panel.inputs))


@pytest.fixture(scope="module")
def two_cameras(of_two_cameras):
    """Have the panel of the proposal open with two cameras."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(proposal, "PANEL", of_two_cameras(proposal.PANEL))
        yield
