"""A site of two cameras, where it does not matter which site a panel plans: the demo's takes four times as long."""

from dataclasses import replace

import pytest

from edgestore.panels import proposal, site


@pytest.fixture(scope="module")
def two_cameras(tmp_path_factory):
    """Have the panels of the plan and of the proposal open with two cameras."""
    folder = tmp_path_factory.mktemp("site")
    (folder / "cameras.csv").write_text("camera,mean_mbit_s,cap_mbit_s\nGate,2,4\nQuay,4,8\n")
    (folder / "site.toml").write_text(
        "[requirements]\nretention_days = 4\n[costs]\nvisit_price = 60\nvisit_with_lift_price = 200\n"
    )
    own = {"cameras": str(folder / "cameras.csv"), "settings": str(folder / "site.toml")}
    with pytest.MonkeyPatch.context() as patched:
        for module in (site, proposal):
            inputs = (
                replace(spec, default=own.get(spec.name, spec.default) if spec.default else "")
                for spec in module.PANEL.inputs
            )
            patched.setattr(module, "PANEL", replace(module.PANEL, inputs=tuple(inputs)))
        yield
