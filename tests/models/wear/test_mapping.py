"""Flash writes of a camera on a card that maps by page: by hand, and against the simulated card."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.models.wear import CardDesign, camera_writes, simulate, write_amplification_page
from edgestore.models.wear.simulated_card import CLEANINGS


def test_by_page_video_is_written_once_until_updates_outgrow_the_spare_flash():
    # 4 Mbit/s and 5 s: 152 pages are begun, 3 / 152 = 0.02 are below 0.07. 0.25 Mbit/s: 10 pages, 1 + 3 / (0.07 x 13).
    assert write_amplification_page(4, 5) == 1
    assert write_amplification_page(0.25, 5) == pytest.approx(1 + 3 / 0.91)
    assert write_amplification_page(0.25, 5, 0.31) == 1  # 10 x 0.31 = 3.1 pages of spare for 3


@pytest.mark.parametrize("cleaning", CLEANINGS)
def test_beyond_the_cliff_the_form_is_within_0_7_to_1_2_of_the_simulated_card(cleaning):
    design = CardDesign(user_blocks=200, pages_per_block=32, spare_blocks=14, cleaning=cleaning)
    for video in (38, 10, 2):
        writes = camera_writes(design, 24 * design.user_pages, video_pages=video, update_places=3, pages_per_place=1)
        seen = simulate(design, writes, warm_up=12 * design.user_pages).write_amplification
        # so many pages of 131 072 bit each second lie between updates of 1 s; a segment every 600 s is one more
        told = write_amplification_page((video - 0.5) * 0.131072 * (1 + 1 / 600), 1)
        assert 0.7 <= told / seen <= 1.2, video


@given(st.floats(0.01, 50), st.floats(0.1, 600), st.floats(1, 10))
def test_a_more_frequent_update_never_writes_less(rate, interval, times):
    seldom, often = write_amplification_page(rate, np.array([interval * times, interval]))
    assert 1 <= seldom <= often * (1 + 1e-12)
