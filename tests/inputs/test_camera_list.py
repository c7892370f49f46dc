"""A camera list is read from any export alike, and what cannot be planned with is refused in words."""

import re
from contextlib import suppress
from dataclasses import dataclass

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.checks import InputError
from edgestore.inputs.camera_list import CAMERA_COLUMNS, HOUSINGS, read_cameras
from edgestore.inputs.names import looks

NAMES = [column.name for column in CAMERA_COLUMNS]
NO_NUMBER = float("nan")
EMPTY = {
    "place": "",
    "housing": "",
    "mean_mbit_s": NO_NUMBER,
    "cap_mbit_s": NO_NUMBER,
    "scene": "unknown",
    "recording": "continuous",
    "events_per_h": NO_NUMBER,
    "event_s": NO_NUMBER,
    "pre_roll_s": 0.0,
    "post_roll_s": 0.0,
    "update_interval_s": NO_NUMBER,
    "slot_bus": "unknown",
    "max_card_gb": NO_NUMBER,
    "deletes_by_age": False,
    "locked_fraction": 0.0,
    "footage": "",
    "encoder_file": "",
    "encoder_streams": "",
    "event_log": "",
    "time_zone": "",
    "group": "",
    "lift": False,
    "visit_group": "",
    "retention_days": NO_NUMBER,
    "life_years": NO_NUMBER,
    "retention_days_max": NO_NUMBER,
    "assurance": NO_NUMBER,
}
"""What an empty cell of each column means, as data/README.md says; no cell of ``camera`` is empty."""


@dataclass(frozen=True)
class Dialect:
    """One way in which a spreadsheet program writes a list."""

    delimiter: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    line_end: str = "\n"
    blank_lines: bool = False
    quote_all: bool = False
    capitals: bool = False
    reverse_columns: bool = False
    own_column: bool = False
    empty_columns: int = 0

    def write(self, rows: list[dict[str, object]]) -> bytes:
        names = list(reversed(NAMES)) if self.reverse_columns else NAMES
        header = [f" {name.upper().replace('_', ' ')} " if self.capitals else name for name in names]
        own = ["owner"] if self.own_column else []
        lines = [header + own, *([self.cell(row.get(name)) for name in names] + own for row in rows)]
        texts = [self.delimiter.join(map(self.quoted, line + [""] * self.empty_columns)) for line in lines]
        if self.blank_lines:
            texts = [part for text in texts for part in ("", text, self.delimiter * 3)]
        return (self.line_end.join(texts) + self.line_end).encode(self.encoding)

    def cell(self, value: object) -> str:
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, float):
            return repr(value).replace(".", self.decimal)
        return "" if value is None else str(value)

    def quoted(self, cell: str) -> str:
        needs = self.quote_all or any(mark in cell for mark in (self.delimiter, '"', "\n", "\r"))
        return '"' + cell.replace('"', '""') + '"' if needs else cell


DIALECTS = {
    "plain": Dialect(),
    "byte order mark and CRLF": Dialect(encoding="utf-8-sig", line_end="\r\n"),
    "semicolons and decimal commas": Dialect(delimiter=";", decimal=","),
    "semicolons and decimal points": Dialect(delimiter=";"),
    "tabs in UTF-16": Dialect(delimiter="\t", encoding="utf-16", line_end="\r\n"),
    "tabs and decimal commas": Dialect(delimiter="\t", decimal=",", line_end="\r"),
    "Windows-1252": Dialect(delimiter=";", decimal=",", encoding="cp1252", line_end="\r\n"),
    "Latin-1": Dialect(encoding="latin-1"),
    "big-endian UTF-16": Dialect(encoding="utf-16-be"),
    "all cells quoted": Dialect(quote_all=True),
    "blank lines": Dialect(blank_lines=True),
    "capitals and another order": Dialect(capitals=True, reverse_columns=True),
    "a column of one's own": Dialect(own_column=True, delimiter=";"),
    "empty columns at the end": Dialect(empty_columns=4),
}


def written(dialect: Dialect, rows: list[dict[str, object]]) -> bytes:
    mark = "\ufeff".encode("utf-16-be") if dialect.encoding == "utf-16-be" else b""
    return mark + dialect.write(rows)


def frame(rows: list[dict[str, object]]) -> pd.DataFrame:
    filled = [EMPTY | {name: value for name, value in row.items() if value is not None} for row in rows]
    return pd.DataFrame({name: [row[name] for row in filled] for name in NAMES})


SITE: list[dict[str, object]] = [
    {"camera": "Fähranleger, Süd", "place": 'the "old" quay; west', "mean_mbit_s": 1.25, "cap_mbit_s": 4.0},
    {"camera": "Mast", "housing": "ptz positioner", "cap_mbit_s": 16.0, "slot_bus": "high speed", "max_card_gb": 32.0},
    {
        "camera": "Gate",
        "mean_mbit_s": 0.875,
        "recording": "motion",
        "events_per_h": 12.0,
        "event_s": 10.5,
        "pre_roll_s": 5.0,
        "post_roll_s": 10.0,
        "deletes_by_age": True,
        "locked_fraction": 0.25,
        "group": "lanes, all",
        "lift": True,
        "visit_group": "quay; lift",
        "retention_days": 0.5,
        "life_years": 4.0,
        "retention_days_max": 30.0,
        "assurance": 0.95,
    },
]


@pytest.mark.parametrize("dialect", DIALECTS.values(), ids=DIALECTS)
def test_every_export_gives_the_same_rows(dialect: Dialect) -> None:
    table = read_cameras(written(dialect, SITE))
    pd.testing.assert_frame_equal(table.rows, frame(SITE), check_exact=True)


rates = st.floats(0.001, 200)
letters = st.text("abcXYZ àéöüß,;\"'#=+0123456789.", max_size=12).map(str.strip)


@st.composite
def cameras(draw: st.DrawFn) -> dict[str, object]:
    """Draw a row without its name; of the two rates the lower is the mean."""
    mean, cap = sorted((draw(rates), draw(rates)))
    known = draw(st.sampled_from([(True, True), (True, False), (False, True)]))
    row: dict[str, object] = {
        "place": draw(letters) or None,
        "housing": draw(st.sampled_from([*HOUSINGS, None])),
        "mean_mbit_s": mean if known[0] else None,
        "cap_mbit_s": cap if known[1] else None,
        "scene": draw(st.sampled_from(["quiet", "busy", "noisy night", "unknown", None])),
        "recording": draw(st.sampled_from(["continuous", "motion", None])),
        "slot_bus": draw(st.sampled_from(["default", "sdr104", "uhs-ii", None])),
        "max_card_gb": draw(st.none() | st.floats(1, 4000)),
        "deletes_by_age": draw(st.sampled_from([True, False, None])),
        "locked_fraction": draw(st.none() | st.floats(0, 0.99)),
        "group": draw(letters) or None,
        "lift": draw(st.sampled_from([True, False, None])),
        "visit_group": draw(letters) or None,
        "life_years": draw(st.none() | st.floats(0.1, 20)),
        "assurance": draw(st.none() | st.floats(0.5, 0.99)),
    }
    if row["recording"] == "motion":
        row |= {name: draw(st.floats(0.5, 3600)) for name in ("events_per_h", "event_s")}
        row |= {name: draw(st.none() | st.floats(0, 600)) for name in ("pre_roll_s", "post_roll_s")}
    return row


@st.composite
def sites(draw: st.DrawFn) -> list[dict[str, object]]:
    names = draw(st.lists(letters.filter(bool), min_size=1, max_size=6, unique_by=looks))
    return [{"camera": name, **draw(cameras())} for name in names]


@given(sites(), st.sampled_from(list(DIALECTS.values())))
def test_any_list_reads_back_equal_from_any_export(site: list[dict[str, object]], dialect: Dialect) -> None:
    pd.testing.assert_frame_equal(read_cameras(written(dialect, site)).rows, frame(site), check_exact=True)


@given(st.data(), st.sampled_from(list(DIALECTS.values())))
def test_a_damaged_file_is_read_or_refused_and_nothing_else(data: st.DataObject, dialect: Dialect) -> None:
    content = written(dialect, SITE)
    start = data.draw(st.integers(0, len(content)))
    stop = data.draw(st.integers(start, min(len(content), start + 20)))
    with suppress(InputError):
        rows = read_cameras(content[:start] + data.draw(st.binary(max_size=8)) + content[stop:]).rows
        assert list(rows.columns) == NAMES
        assert (rows["mean_mbit_s"].notna() | rows["cap_mbit_s"].notna()).all()


def test_five_faults_of_a_file_are_named_in_one_error_with_line_and_column() -> None:
    content = (
        b"camera,housing,mean_mbit_s,cap_mbit_s,recording,events_per_h,event_s\n"
        b"Quay,dome,2,4,,,\n"
        b"Ramp,igloo,2,4,,,\n"  # 1: no such housing
        b"\n"
        b"Quay,box,2,4,,,\n"  # 2: a name given twice
        b"Lane,bullet,4000,,,,\n"  # 3: kbit/s
        b"Gate,box,,,,,\n"  # 4: neither rate
        b"Yard,box,1,2,motion,12,\n"  # 5: no event length
    )
    with pytest.raises(InputError, match="igloo") as caught:
        read_cameras(content, "cameras.csv")
    assert [(fault.where, fault.found) for fault in caught.value.faults] == [
        ("cameras.csv, line 3, column housing", "'igloo'"),
        ("cameras.csv, line 5, column camera", "'Quay', in line 2 too"),
        ("cameras.csv, line 6, column mean_mbit_s", "'4000'"),
        ("cameras.csv, line 7, column mean_mbit_s", "mean_mbit_s an empty cell, cap_mbit_s an empty cell"),
        ("cameras.csv, line 8, column event_s", "event_s an empty cell, recording 'motion'"),
    ]
    assert all(fault.allowed and fault.mend for fault in caught.value.faults)
    assert str(caught.value).count("\n") == 4


def refused(row: str, columns: str = "camera,mean_mbit_s,cap_mbit_s") -> str:
    with pytest.raises(InputError, match="camera list, line 2") as caught:
        read_cameras(f"{columns}\n{row}\n".encode())
    (fault,) = caught.value.faults
    return str(fault)


@pytest.mark.parametrize(("mean", "cap"), [(8, 1), (32, 4), (31.4, 4), (32.6, 4)])
def test_a_mean_8_times_the_cap_looks_like_mbyte_s(mean: float, cap: float) -> None:
    # 31.4 / 32 is 0.981 and 32.6 / 32 is 1.019: both within 2 %
    assert "one of them looks like Mbyte/s" in refused(f"Quay,{mean},{cap}")


@pytest.mark.parametrize(("mean", "cap"), [(4, 0.004), (4.07, 0.004)])
def test_a_mean_1000_times_the_cap_looks_like_kbit_s(mean: float, cap: float) -> None:
    assert "one of them looks like kbit/s" in refused(f"Quay,{mean},{cap}")


@pytest.mark.parametrize(("mean", "cap"), [(4.1, 4), (31.3, 4), (32.7, 4), (4.1, 0.004)])
def test_a_mean_above_the_cap_is_refused_without_a_guess(mean: float, cap: float) -> None:
    # 31.3 / 32 is 0.978, 32.7 / 32 is 1.022, 4.1 / 4 is 1.025: all outside 2 %
    message = refused(f"Quay,{mean},{cap}")
    assert "allowed: a mean not above the cap" in message
    assert "looks like" not in message


@pytest.mark.parametrize(("mean", "cap"), [(4, 4), (1, 8), (0.1, 100), (200, 200)])
def test_a_mean_up_to_the_cap_is_read(mean: float, cap: float) -> None:
    rows = read_cameras(f"camera,mean_mbit_s,cap_mbit_s\nQuay,{mean},{cap}\n".encode()).rows
    assert rows.loc[0, ["mean_mbit_s", "cap_mbit_s"]].tolist() == [mean, cap]


@pytest.mark.parametrize("rate", ["200.1", "1000", "4000", "0", "-4"])
@pytest.mark.parametrize("cells", ["{},", ",{}"])
def test_a_rate_out_of_bounds_is_refused_with_the_way_to_write_it(rate: str, cells: str) -> None:
    message = refused("Quay," + cells.format(rate))
    assert f"is '{rate}'; must be above 0 and at most 200 Mbit/s. Fix: Write 4 for 4000 kbit/s" in message


def test_a_list_with_neither_rate_column_is_told_once() -> None:
    with pytest.raises(InputError, match="line 1, column mean_mbit_s: found no such column") as caught:
        read_cameras(b"camera\nQuay\nRamp\n")
    assert len(caught.value.faults) == 1


@pytest.mark.parametrize("missing", ["events_per_h", "event_s"])
def test_motion_needs_events_an_hour_and_their_length(missing: str) -> None:
    given_one = "event_s" if missing == "events_per_h" else "events_per_h"
    message = refused("Quay,4,motion,12", f"camera,cap_mbit_s,recording,{given_one}")
    assert f"column {missing}: found recording 'motion'; allowed: {missing} or event_log when recording" in message


@pytest.mark.parametrize(
    ("column", "cell", "allowed"),
    [
        ("events_per_h", "3601", "above 0 and at most 3600 events/h"),
        ("event_s", "0", "above 0 and at most 3600 s"),
        ("pre_roll_s", "-1", "0 or more and at most 600 s"),
        ("post_roll_s", "601", "0 or more and at most 600 s"),
        ("max_card_gb", "32000", "above 0 and at most 4000 GB"),
        ("scene", "foggy", "quiet, busy, noisy night, unknown"),
        ("recording", "alarm", "continuous, motion"),
        ("update_interval_s", "0", "above 0 and at most 3600 s"),
        ("slot_bus", "uhs-1", "default, high speed, sdr50, ddr50, sdr104, uhs-ii, unknown"),
        ("scene", "Foggy Dew", "quiet, busy, noisy night, unknown"),  # told as it was typed
        ("deletes_by_age", "Maybe", "yes, no, true, false, 1, 0"),
        ("deletes_by_age", "30 days", "yes, no, true, false, 1, 0"),
        ("locked_fraction", "1", "0 or more and at most 0.99"),
        ("locked_fraction", "25", "0 or more and at most 0.99"),
        ("locked_fraction", "-0.1", "0 or more and at most 0.99"),
        ("locked_fraction", "25 %", "0 or more and at most 0.99"),
        ("locked_fraction", "nan", "0 or more and at most 0.99"),
    ],
)
def test_a_cell_out_of_its_column_is_refused_with_what_is_allowed(column: str, cell: str, allowed: str) -> None:
    message = refused(f"Quay,4,{cell}", f"camera,cap_mbit_s,{column}")
    assert f"column {column}: " in message
    assert re.search(rf"(is '{cell}'; must be (one of )?|found '{cell}'; allowed: ){re.escape(allowed)}\.", message)


@pytest.mark.parametrize("cell", ["25 %", "1/4", "25"])
def test_a_share_that_is_not_written_as_the_column_takes_it_is_mended_by_its_own_example(cell: str) -> None:
    message = refused(f"Quay,4,{cell}", "camera,cap_mbit_s,locked_fraction")
    assert message.endswith("Fix: Write 0.25 for a quarter; leave it empty when no clips are locked.")
    with pytest.raises(InputError, match="Fix: Write 0,25 for a quarter") as caught:  # the list has decimal commas
        read_cameras(f"camera;cap_mbit_s;locked_fraction\nQuay;4,5;{cell}\n".encode())
    assert "4.5" not in str(caught.value)


@pytest.mark.parametrize("column", ["footage", "encoder_file"])
def test_a_file_that_has_a_rate_stands_in_for_both_rates(column: str) -> None:
    rows = read_cameras(f"camera,{column}\nQuay,somewhere\n".encode()).rows
    assert rows.loc[0, column] == "somewhere"
    assert "a mean, a cap, footage or an encoder_file" in refused("Quay,", f"camera,{column}")


def test_a_log_of_events_stands_in_for_their_number_and_length() -> None:
    rows = read_cameras(b"camera,cap_mbit_s,recording,event_log\nQuay,4,motion,log.csv\n").rows
    assert rows["event_log"].tolist() == ["log.csv"]
    with pytest.raises(InputError, match="events_per_h or event_log when recording is motion") as caught:
        read_cameras(b"camera,cap_mbit_s,recording,event_log\nQuay,4,motion,\n")
    assert len(caught.value.faults) == 2


def test_a_log_of_a_continuous_camera_is_a_note() -> None:
    (note,) = read_cameras(b"camera,cap_mbit_s,event_log\nQuay,4,log.csv\n").notes
    assert "event columns count when recording is motion" in note


def test_streams_want_the_file_that_has_them() -> None:
    message = refused("Quay,4,main,", "camera,cap_mbit_s,encoder_streams,encoder_file")
    assert "column encoder_streams: found encoder_streams 'main'" in message
    assert "an encoder_file that has these streams" in message


@pytest.mark.parametrize("zone", ["Europe/Nowhere", "UTC+1", "../etc", "Europe"])
def test_a_time_zone_that_nobody_knows_is_refused(zone: str) -> None:
    message = refused(f"Quay,4,{zone}", "camera,cap_mbit_s,time_zone")
    assert f"column time_zone: found time_zone '{zone}'; allowed: the name of a time zone" in message


@pytest.mark.parametrize("zone", ["Europe/Berlin", "UTC", ""])
def test_a_time_zone_is_read_by_its_name(zone: str) -> None:
    rows = read_cameras(f"camera,cap_mbit_s,time_zone\nQuay,4,{zone}\n".encode()).rows
    assert rows["time_zone"].tolist() == [zone]


@pytest.mark.parametrize("column", ["events_per_h", "event_s", "pre_roll_s", "post_roll_s"])
def test_event_columns_of_a_continuous_camera_are_a_note(column: str) -> None:
    table = read_cameras(f"camera,cap_mbit_s,{column}\nQuay,4,\nRamp,4,10\n".encode(), "cameras.csv")
    (note,) = table.notes
    assert note.startswith("cameras.csv, line 3: event columns count when recording is motion.")


def test_a_camera_that_wants_more_days_than_it_may_hold_is_refused() -> None:
    told = refused("gate,2,4,14,7", "camera,mean_mbit_s,cap_mbit_s,retention_days,retention_days_max")
    assert "line 2, column retention_days_max" in told
    assert "allowed: at least the retention_days wanted" in told


@pytest.mark.parametrize("chance", ["90", "1", "0.4999", "0", "-0.9", "nan"])
def test_an_assurance_that_is_a_percentage_or_no_chance_to_promise_is_refused_by_its_column(chance: str) -> None:
    told = refused(f"gate,2,4,{chance}", "camera,mean_mbit_s,cap_mbit_s,assurance")
    assert "line 2, column assurance" in told
    assert "A percentage is divided by 100" in told or chance == "nan"
