"""The public names: who changes one breaks somebody's notebook, and changes this file."""

import inspect
import subprocess
import sys

import pytest

import edgestore

SIGNATURES = {
    "arrhenius_factor": "(use_c, stress_c, activation_ev=1.1)",
    "best_change_years": "(card, planned_cost, failure_cost)",
    "best_group_years": "(card, cards, visit_cost, card_cost, failure_cost, between='replaced')",
    "best_inspection_years": "(card, inspection_cost, change_cost, lost_cost_per_year)",
    "availability": "(mtbf_h, repair_mean_h)",
    "away_fraction": "(mtbf_h, repair_mean_h)",
    "backfill_h": "(outage_h, bitrate_mbit_s, link_mbit_s, cameras=1.0)",
    "backfill_of_site": "(outage_h, retention_h, bitrate_mbit_s, link_mbit_s, order='together')",
    "bitrate_from_frames_mbit_s": "(width_px, height_px, frame_rate_fps, key_frame_interval_s, "
    "key_frame_bits_per_pixel, other_frame_bits_per_pixel)",
    "bitrate_mbit_s_for_wear": "(flash_mbit_s, update_interval_s)",
    "bitrate_mbit_s_for_retention": "(retention_h, capacity_gb, recorded_fraction=1.0, usable_fraction=1.0)",
    "capacity_gb_for_retention": "(retention_h, bitrate_mbit_s, recorded_fraction=1.0, usable_fraction=1.0)",
    "capacity_gb_for_share": "(law, numbers, saved_share, bitrate_mbit_s, recorded_fraction=1.0, "
    "usable_fraction=1.0, unsaved_share=0.0)",
    "catch_up_s": "(trace_mbit_s, write_mbyte_s, stall_s=0.0, burst_mb=0.0, step_s=1.0)",
    "chance_at_least": "(values, wanted)",
    "chance_spares_last": "(spares, failures, failures_cv=0.0)",
    "chance_that_k_of_n_last": "(k, n, chance)",
    "cheapest_card": "(years, card, card_price, visit_price, lift_price=0.0, lost_cost_per_day=0.0, dead_days=0.0)",
    "clips_per_day": "(events_per_h, event_s, pre_roll_s=0.0, post_roll_s=0.0)",
    "cost_for_horizon": "(years, card, card_price, visit_price, lift_price=0.0, lost_cost_per_day=0.0, "
    "dead_days=0.0, cards=1.0, policy='failure', change_years=None)",
    "cost_per_year_for_change": "(change_years, card, planned_cost, failure_cost)",
    "cost_per_year_for_group": "(interval_years, card, cards, visit_cost, card_cost, failure_cost, between='replaced')",
    "cost_per_year_for_inspection": "(interval_years, card, inspection_cost, change_cost, lost_cost_per_year)",
    "cv_of_mean": "(cv, hurst, steps)",
    "endurance_tbw_from_cycles": "(capacity_gb, pe_cycles, write_amplification=1.0)",
    "endurance_tbw_from_hours": "(rated_h, rated_mbit_s)",
    "equivalent_temperature_c": "(temperatures_c, hours, activation_ev=1.1)",
    "estimated_range_mbit_s": "(width_px, height_px, frame_rate_fps, key_frame_interval_s, "
    "scene='busy', codec='unknown', night_noise='none', quality='usual')",
    "expected_changes": "(years, card, change_years)",
    "expected_replacements": "(years, card, age_years=0.0)",
    "fit_lognormal": "(failed_years, running_years=(), level=0.95)",
    "fit_weibull": "(failed_years, running_years=(), level=0.95)",
    "guaranteed_write_mbyte_s": "(marks, slot_bus=None)",
    "hidden_failure_fraction": "(failures_per_year, inspected_every_days)",
    "hurst_exponent": "(rates_mbit_s)",
    "implied_marks": "(mark)",
    "keeps_up": "(trace_mbit_s, write_mbyte_s, buffer_mb=None, stall_s=0.75, burst_mb=0.0, step_s=1.0)",
    "kept_s": "(event_s, pre_roll_s=0.0, post_roll_s=0.0)",
    "largest_backlog_mb": "(trace_mbit_s, write_mbyte_s, stall_s=0.0, burst_mb=0.0, step_s=1.0)",
    "life_figures": "(asked_years, wear_life_years, failed_at_endurance=0.5, wear_shape=3.0, random_per_year=0.0, "
    "early_share=0.0, early_mean_years=0.25, age_years=0.0, law='weibull')",
    "life_years": "(endurance_tbw, bitrate_mbit_s, recorded_fraction=1.0)",
    "lognormal_product_shares": "(names, cvs)",
    "long_run_replacements": "(years, card)",
    "lost_in_backfill_h": "(outage_h, retention_h, bitrate_mbit_s, link_mbit_s, cameras=1.0)",
    "mean_clip_s": "(events_per_h, event_s, pre_roll_s=0.0, post_roll_s=0.0)",
    "mean_range_mbit_s": "(cap_mbit_s, scene='unknown')",
    "mean_recorded_fraction": "(events_per_h, hours, event_s, pre_roll_s=0.0, post_roll_s=0.0)",
    "mean_under_cap_mbit_s": "(natural_mbit_s, cap_mbit_s, time_share=None)",
    "min_write_mbyte_s": "(mark)",
    "mtbf_lower_years": "(failures, unit_years, confidence=0.9, prior_a=1.0, prior_b_years=0.0)",
    "next_change_years": "(card, chance, age_years=0.0)",
    "outage_figures": "(law, numbers, mtbf_h, retention_h, shared_cause_share=0.0, "
    "card_failures_per_year=0.0, inspected_every_days=365.0)",
    "passes_per_year": "(capacity_gb, bitrate_mbit_s, recorded_fraction=1.0)",
    "quantile_of_law": "(law, numbers, share)",
    "recorded_fraction": "(events_per_h, event_s, pre_roll_s=0.0, post_roll_s=0.0)",
    "retention_h": "(capacity_gb, bitrate_mbit_s, recorded_fraction=1.0, usable_fraction=1.0)",
    "retention_h_for_share": "(law, numbers, saved_share, unsaved_share=0.0)",
    "retention_spread": "(retention_h, cv, hurst, step_s)",
    "retention_through_week": "(capacity_gb, bitrate_mbit_s, usable_fraction=1.0)",
    "simulated_lost_h_per_year": "(law, numbers, mtbf_h, retention_h, shared_cause_share=0.0, "
    "card_failures_per_year=0.0, inspected_every_days=365.0, years=10.0, runs=10000, seed=1)",
    "simulated_write_amplification_camera": "(video_pages, update_places=3, pages_per_place=1, unit_pages=256, "
    "open_units=4, mapping='unit', user_units=60)",
    "simulated_write_amplification_random": "(spare_ratio, pages_per_block=64, cleaning='fifo', user_blocks=500, "
    "hot_write_share=0.5, hot_page_share=0.5, seed=1)",
    "spares_for_confidence": "(failures, confidence, failures_cv=0.0)",
    "spares_for_separate": "(failures, confidence)",
    "speed_margin": "(write_mbyte_s, bitrate_mbit_s)",
    "spread": "(values)",
    "stall_buffer_mb": "(bitrate_mbit_s, stall_s=0.75, burst_mb=0.0)",
    "stall_s_for_buffer": "(buffer_mb, bitrate_mbit_s, burst_mb=0.0)",
    "stored_mbit_s": "(video_mbit_s, frame_rate_fps, container='mp4', audio_mbit_s=0.0)",
    "sustained_write_mbyte_s": "(write_mbyte_s, update_every_mb, update_s=0.1)",
    "total_mbit_s": "(*streams_mbit_s)",
    "unpowered_keep_years": "(storage_c, rated_years=1.0, rated_c=30.0, activation_ev=1.1)",
    "updated_random_rate": "(prior_a, prior_b_years, failures, unit_years, level=0.9)",
    "useful_retention_h": "(retention_h, bitrate_mbit_s, link_mbit_s, cameras=1.0)",
    "weibull_scale_lower_years": "(ages_years, wear_shape, confidence=0.95, failures=0)",
    "write_amplification_camera": "(bitrate_mbit_s, update_interval_s, *, update_places=3, pages_per_place=1, "
    "segment_s=600.0, files_open=1, chunk_kib=512, unit_mib=4.0, page_kib=16.0, open_units=4, "
    "spare_ratio=0.07, mapping='unit')",
    "write_amplification_fifo": "(spare_ratio)",
    "write_amplification_greedy": "(spare_ratio, pages_per_block)",
    "write_amplification_mixed": "(spare_ratio, hot_write_share, hot_page_share)",
    "write_amplification_separated": "(spare_ratio, hot_write_share, hot_page_share, hot_spare_share)",
    "write_amplification_static": "(static_fraction)",
    "write_mbyte_s_for_buffer": "(trace_mbit_s, buffer_mb, stall_s=0.0, burst_mb=0.0, step_s=1.0)",
    "write_mbyte_s_for_margin": "(bitrate_mbit_s, speed_margin=10.0)",
    "writes_gb_day": "(bitrate_mbit_s, recorded_fraction=1.0)",
    "writes_tb_year": "(bitrate_mbit_s, recorded_fraction=1.0)",
    "writes_tb_year_for_life": "(endurance_tbw, life_years)",
    # Classes: what they are made of.
    "BestInterval": "(interval_years, cost_per_year, never_cost_per_year)",
    "CardLife": "(wear_life_years, failed_at_endurance=0.5, wear_shape=3.0, random_per_year=0.0, early_share=0.0, "
    "early_mean_years=0.25, law='weibull')",
    "CheapestCard": "(total_cost, change_years, on_shelf, over_horizon, saving)",
    "ExpectedChanges": "(failures, planned)",
    "Backfill": "(lost_h, begun_h, done_h, total_lost_h)",
    "ExponentialRepair": "(repair_mean_h)",
    "Fault": "(where, found, allowed, mend='')",
    "HorizonCost": "(total_cost, cards_cost, visits_cost, lifts_cost, lost_cost, failed, changed_working, visits)",
    "HurstEstimate": "(hurst, standard_error, frequencies)",
    "InputError": "(faults)",
    "KeepsUp": "(keeps_up, passes_rule, why, buffer_needed_mb, backlog_mb, catch_up_s, write_needed_mbyte_s, "
    "peak_mbit_s, headroom_mbit_s, speed_margin, write_mbyte_s, buffer_mb, stall_s, burst_mb)",
    "LifeFigures": "(chance_of_lasting, mean_residual_years, hazard_per_year, mean_life_years, b1_years, b10_years, "
    "b50_years)",
    "LifeFit": "(law, scale_years, shape, scale_low_years, scale_high_years, shape_low, shape_high, level, "
    "mean_years, sd_years, log_likelihood, aic, failed, running)",
    "LifeTable": "(ages_years, failed_fraction)",
    "Lognormal": "(p10, p90)",
    "LognormalProductShares": "(names, first, total, of_log)",
    "LognormalRepair": "(repair_median_h, repair_sigma)",
    "OutageFigures": "(availability, outages_per_year, mean_outage_h, chance_outlasts, unsaved_share, "
    "lost_without_card_h_per_year, lost_h_per_year, saved_share)",
    "Outages": "(mtbf_h, repair)",
    "RandomRate": "(a, b_years, mean_per_year, low_per_year, high_per_year, level)",
    "RetentionSpread": "(mean_h, p5_h, p50_h, p95_h, cv_of_mean)",
    "Samples": "(values)",
    "Spread": "(p5, p10, p50, p90, p95)",
    "Triangular": "(low, mode, high)",
    "Uniform": "(low, high)",
    "WeekOfRetention": "(oldest_h, worst_h, worst_hour)",
    "WorkingHoursRepair": "(visit_delay_h, work_h, opens_h=8.0, closes_h=17.0, days=5)",
}


def signature(function) -> str:
    full = inspect.signature(function)
    bare = [parameter.replace(annotation=inspect.Parameter.empty) for parameter in full.parameters.values()]
    return str(full.replace(parameters=bare, return_annotation=inspect.Signature.empty))


def test_the_public_names_are_these_and_no_others():
    assert sorted(edgestore.__all__) == sorted(SIGNATURES)


@pytest.mark.parametrize("name", SIGNATURES)
def test_a_public_name_is_importable_and_takes_these_arguments(name):
    assert signature(getattr(edgestore, name)) == SIGNATURES[name]


def test_importing_edgestore_imports_no_widgets_tables_or_plots():
    code = "import sys, edgestore; print(*sorted(sys.modules))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = run.stdout.split()
    assert "edgestore.models.retention" in loaded
    assert {"ipywidgets", "IPython", "pandas", "matplotlib", "voila"}.isdisjoint(loaded)
