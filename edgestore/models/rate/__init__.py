"""What a camera writes: bit rate, frames, recorded time, and how they scatter."""

from edgestore.models.rate.bitrate import mean_range_mbit_s, mean_under_cap_mbit_s, stored_mbit_s, total_mbit_s
from edgestore.models.rate.duty import clips_per_day, kept_s, mean_clip_s, mean_recorded_fraction, recorded_fraction
from edgestore.models.rate.frames import bitrate_from_frames_mbit_s, estimated_range_mbit_s
from edgestore.models.rate.signing import signing_bytes, signing_mbit_s
from edgestore.models.rate.variability import (
    HurstEstimate,
    RetentionSpread,
    cv_of_mean,
    hurst_exponent,
    retention_spread,
)

__all__ = [
    "HurstEstimate",
    "RetentionSpread",
    "bitrate_from_frames_mbit_s",
    "clips_per_day",
    "cv_of_mean",
    "estimated_range_mbit_s",
    "hurst_exponent",
    "kept_s",
    "mean_clip_s",
    "mean_range_mbit_s",
    "mean_recorded_fraction",
    "mean_under_cap_mbit_s",
    "recorded_fraction",
    "retention_spread",
    "signing_bytes",
    "signing_mbit_s",
    "stored_mbit_s",
    "total_mbit_s",
]
