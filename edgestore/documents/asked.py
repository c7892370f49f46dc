"""What a plan asks of each camera, camera by camera."""

import pandas as pd

from edgestore.planning.site import SitePlan

ASKED = ("retention_days", "life_years", "speed_margin", "retention_days_max")


def wanted_of(plan: SitePlan) -> pd.DataFrame:
    """Give the requirements as a row a camera; ``retention_days_max`` is NaN where there is no most."""
    asked = {name: getattr(plan.requirements, name) for name in ASKED}
    return pd.DataFrame(asked, index=plan.plan.index, dtype=float)
