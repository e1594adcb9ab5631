"""Tables: any wording, any delimiter, any form of time; a unit is never guessed in silence.

Outside checks: Python's own ``datetime`` for stamps, numpy and pandas for the bulk, and open recordings (see the
README beside them for their sources).
"""

import gzip
import io
from datetime import UTC, date, datetime, timedelta, timezone
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ownmark.errors import DamagedFile, IngestError, UnclearColumns
from ownmark.ingest import rr_list
from ownmark.ingest.flags import Flag
from ownmark.ingest.packets import reader as packets
from ownmark.ingest.recording import Hints, Source
from ownmark.ingest.table import reader as table
from ownmark.ingest.table.columns import recognise

from tests.makers.sheets import texts

AXES = {"acceleration_x": "1", "acceleration_y": "2", "acceleration_z": "3"}


def read(text, columns=None, rate_hz=None, zone=None):
    data = text if isinstance(text, bytes) else text.encode()
    return table.read(data, Source("trial.csv", hints=Hints(columns or {}, rate_hz, zone)))


def at(text):
    return datetime.fromisoformat(text)


def rows(header, *lines):
    return "\n".join((header, *lines)) + "\n"


def notes_of(recording):
    return " ".join(texts(recording.notes))


# ---- what a header means; the wordings are common practice ----


@pytest.mark.parametrize(
    ("header", "part", "unit"),
    [
        ("Accelerometer X (g)", "acceleration_x", "g"),
        ("acc_x_mg", "acceleration_x", "mg"),
        ("accY [m/s²]", "acceleration_y", "m/s²"),
        ("Beschleunigung Z (m·s⁻²)", "acceleration_z", "m/s²"),
        ("Aceleración X (m/s^2)", "acceleration_x", "m/s²"),
        ("Accélération y (g)", "acceleration_y", "g"),
        ("acc_m_s2_x", "acceleration_x", "m/s²"),
        ("x-axis (g)", "acceleration_x", "g"),
        ("Gyroscope x (rad/s)", "angular_rate_x", "rad/s"),
        ("gyroZ_dps", "angular_rate_z", "deg/s"),
        ("Drehrate y [°/s]", "angular_rate_y", "deg/s"),
        ("Angular velocity y (mdeg/s)", "angular_rate_y", "mdeg/s"),
        ("Heart Rate (bpm)", "heart_rate", "/min"),
        ("HR [1/min]", "heart_rate", "/min"),
        ("Herzfrequenz", "heart_rate", None),
        ("Puls [Schläge/min]", "heart_rate", "/min"),
        ("FC (lpm)", "heart_rate", "/min"),
        ("Frecuencia cardíaca", "heart_rate", None),
        ("Fréquence cardiaque (bat/min)", "heart_rate", "/min"),
        ("RR-interval [ms]", "rr_interval", "ms"),
        ("Intervalo RR (s)", "rr_interval", "s"),
        ("ECG (mV)", "waveform", "mV"),
        ("pulse wave", "waveform", None),
        ("Time (s)", "time", "s"),
        ("timestamp_ms", "time", "ms"),
        ("Elapsed", "time", None),
        ("Zeit [s]", "time", "s"),
        ("Tiempo transcurrido (s)", "time", "s"),
        ("Temps écoulé", "time", None),
        ("seconds_elapsed", "time", "s"),
    ],
)
def test_a_header_is_understood_with_its_unit(header, part, unit):
    column = recognise(header)
    assert column is not None
    assert (column.part, column.unit.symbol if column.unit else None) == (part, unit)


@pytest.mark.parametrize(
    "header",
    ["HR zone", "Max HR", "avg heart rate", "HRV", "Heart Rate Variability", "HR (%)", "RR (1/min)", "Magnetometer X"]
    + [
        "mag_x",
        "Name",
        "Counter",
        "Start time",
        "Time zone",
        "Date of birth",
        "Speed (m/s)",
        "Temperature (C)",
        "",
        "G",
    ],
)
def test_a_header_of_something_else_is_not_taken_for_a_measurement(header):
    assert recognise(header) is None


# ---- units ----


@pytest.mark.parametrize(("unit", "one_g"), [("g", 1.0), ("mg", 1000.0), ("m/s²", 9.80665)])
def test_standard_gravity_is_one_g_in_every_stated_unit(unit, one_g):
    # Standard gravity 9.80665 m/s²: 3rd CGPM (1901) [from memory].
    header = ",".join(["time (s)", *(f"acc {axis} ({unit})" for axis in "xyz")])
    stream = read(rows(header, f"0,0,{one_g},0", f"0.02,{one_g},0,0", f"0.04,0,0,{-one_g}"))["acceleration"]
    np.testing.assert_allclose(stream.values, [[0, 1, 0], [1, 0, 0], [0, 0, -1]], rtol=1e-15)


@pytest.mark.parametrize(("unit", "half_turn"), [("deg/s", 180.0), ("rad/s", np.pi), ("mdeg/s", 180_000.0)])
def test_half_a_turn_a_second_is_180_degrees_in_every_unit(unit, half_turn):
    header = ",".join(["time (s)", *(f"gyro_{axis} ({unit})" for axis in "xyz")])
    stream = read(rows(header, f"0,0,{half_turn},0", "0.02,0,0,0", "0.04,0,0,0"))["angular_rate"]
    assert stream.values[0].tolist() == pytest.approx([0, 180, 0], abs=1e-9)


@pytest.mark.parametrize(("size", "told"), [(1.0, "read as g"), (9.81, "read as m/s²"), (981.0 / 0.981, "read as mg")])
def test_gravity_shows_the_unit_of_acceleration_and_a_note_says_so(size, told):
    recording = read(rows("time (s),acc_x,acc_y,acc_z", *(f"{n / 50},0,{size},0" for n in range(9))))
    assert told in notes_of(recording)
    np.testing.assert_allclose(np.linalg.norm(recording["acceleration"].values, axis=1), 1, atol=0.001)


def test_acceleration_without_gravity_or_unit_is_said_to_be_assumed_g():
    recording = read(rows("time (s),acc_x,acc_y,acc_z", *(f"{n / 50},0.1,0.2,0.1" for n in range(9))))
    assert "g is assumed" in notes_of(recording)


def test_raw_counts_are_not_taken_for_g():
    with pytest.raises(UnclearColumns, match="unit of the acceleration"):
        read(rows("time (s),acc_x,acc_y,acc_z", *(f"{n / 50},10,16384,50" for n in range(9))))


def test_an_angular_rate_that_could_be_either_unit_is_left_out_and_told():
    header = "time (s),HR,gyr_x,gyr_y,gyr_z"
    slow = read(rows(header, *(f"{n},80,0.5,1.5,0.1" for n in range(9))))
    assert "angular_rate" not in slow
    assert "angular rate is not given" in notes_of(slow)
    fast = read(rows(header, *(f"{n},80,50.5,250,0.1" for n in range(9))))
    assert fast["angular_rate"].values[0].tolist() == [50.5, 250, 0.1]
    assert "deg/s" in notes_of(fast)


def test_three_axes_in_two_units_are_refused():
    with pytest.raises(UnclearColumns, match="same unit"):
        read(rows("time (s),acc_x (g),acc_y (mg),acc_z (g)", "0,0,1,0", "0.1,0,1,0"))


def test_two_axes_are_no_acceleration():
    with pytest.raises(UnclearColumns, match="z could not be found"):
        read(rows("time (s),acc_x (g),acc_y (g)", "0,0,1", "0.1,0,1"))


@pytest.mark.parametrize("factor", [1, 1000])
def test_rr_intervals_without_a_unit_are_told_apart_by_size(factor):
    recording = read(rows("time (s),RR", *(f"{n},{0.8 * factor}" for n in range(1, 9))))
    assert recording["rr_interval"].values.tolist() == pytest.approx([0.8] * 8)
    assert "do not give their unit" in notes_of(recording)


def test_an_adc_column_called_hr_is_refused_with_the_option_to_use():
    with pytest.raises(UnclearColumns, match="--column waveform=hr"):
        read(rows("time (ms),hr", *(f"{n * 10},{512 + n}" for n in range(9))))


# ---- times: Python's datetime is the outside reader ----

MOMENT = at("2019-08-26 10:25:50.020")
FORMS = {
    "ISO": lambda t: t.isoformat(sep=" ", timespec="milliseconds"),
    "ISO with T": lambda t: t.isoformat(),
    "colon before the milliseconds": lambda t: t.strftime("%Y-%m-%d %H:%M:%S:") + f"{t.microsecond // 1000:03d}",
    "day first with points": lambda t: t.strftime("%d.%m.%Y %H:%M:%S.%f"),
    "month first": lambda t: t.strftime("%m/%d/%Y %H:%M:%S.%f"),
    "day first": lambda t: t.strftime("%d/%m/%Y %H:%M:%S.%f"),
    "month first, half days": lambda t: t.strftime("%m/%d/%Y %I:%M:%S.%f %p"),
    "short year": lambda t: t.strftime("%d.%m.%y %H:%M:%S.%f"),
    "year first with slashes": lambda t: t.strftime("%Y/%m/%d %H:%M:%S.%f"),
    "compact": lambda t: t.strftime("%Y%m%dT%H%M%S.%f"),
}


@pytest.mark.parametrize("form", FORMS)
def test_a_date_time_is_read_as_python_wrote_it(form):
    moments = [MOMENT + timedelta(milliseconds=20 * n) for n in (0, 1, 2, 50, 49, 3000)]
    recording = read(rows("time,HR", *(f"{FORMS[form](moment)},{80 + n}" for n, moment in enumerate(moments))))
    assert recording.start == MOMENT
    assert recording["heart_rate"].time.tolist() == pytest.approx([0, 0.02, 0.04, 0.98, 1.0, 60.0], abs=1e-9)
    assert recording["heart_rate"].values.tolist() == [80, 81, 82, 84, 83, 85]


def test_half_days_are_read_as_python_writes_them():
    moments = [at("2019-08-26 00:00:30") + timedelta(hours=n) for n in range(24)]  # 12 AM to 11 PM
    dated = read(rows("time,HR", *(f"{moment:%m/%d/%Y %I:%M:%S %p},80" for moment in moments)))
    assert dated["heart_rate"].time.tolist() == [3600 * n for n in range(24)]
    clock = read(rows("time,HR", *(f"{moment:%I:%M:%S %p},80" for moment in moments[11:14])))
    assert (clock.clock_s, clock["heart_rate"].time.tolist()) == (11 * 3600 + 30, [0, 3600, 7200])
    odd = read(rows("time,HR", "11:30:00 AM,80", "13:00:00 PM,81", "13:30:00 AM,82", "0:30:00 PM,83", "2:00:00 PM,84"))
    assert odd["heart_rate"].time.tolist() == [0, 5400, 9000]
    assert odd["heart_rate"].values.tolist() == [80, 81, 84]  # the other two cannot be told


@pytest.mark.parametrize("written", ["Z", "+00:00", "+02:00", "-0400", " UTC"])
def test_a_stated_zone_is_kept(written):
    stamps = [f"2019-08-06T10:25:5{n}{written}" for n in range(3)]
    recording = read(rows("timestamp,HR", *(f"{stamp},80" for stamp in stamps)))
    assert recording.start == datetime.fromisoformat(stamps[0].replace(" UTC", "Z"))
    assert recording.start.utcoffset() == datetime.fromisoformat(stamps[0].replace(" UTC", "Z")).utcoffset()


def test_a_zone_is_taken_from_the_hint_only_where_none_is_stated():
    zone = timezone(timedelta(hours=2))
    assert read(rows("time,HR", "2019-08-06 10:25:50,80", "2019-08-06 10:25:51,81"), zone=zone).start == datetime(
        2019, 8, 6, 10, 25, 50, tzinfo=zone
    )
    assert read(rows("time,HR", "2019-08-06 10:25:50,80", "2019-08-06 10:25:51,81")).start.tzinfo is None
    stated = read(rows("time,HR", "2019-08-06 10:25:50Z,80", "2019-08-06 10:25:51Z,81"), zone=zone)
    assert stated.start == datetime(2019, 8, 6, 10, 25, 50, tzinfo=UTC)
    header_says = read(rows("time (UTC),HR", "2019-08-06 10:25:50,80", "2019-08-06 10:25:51,81"), zone=zone)
    assert header_says.start == datetime(2019, 8, 6, 10, 25, 50, tzinfo=UTC)


@pytest.mark.parametrize("per_second", [1, 1000, 10**6, 10**9])
@pytest.mark.parametrize("stated", [True, False])
def test_unix_time_is_known_by_its_size(per_second, stated):
    name = {1: "s", 1000: "ms", 10**6: "us", 10**9: "ns"}[per_second]
    first = 1_565_087_150  # 2019-08-06 10:25:50 UTC
    header = f"timestamp ({name}),HR" if stated else "timestamp,HR"
    recording = read(rows(header, *(f"{(first + n) * per_second},80" for n in range(4))))
    assert recording.start == datetime.fromtimestamp(first, UTC)
    assert recording["heart_rate"].time.tolist() == [0, 1, 2, 3]
    assert ("Unix time" in notes_of(recording)) is not stated


def test_unix_time_with_fractions_keeps_its_steps():
    recording = read(rows("epoch,ECG", *(f"{1565087150 + n / 250:.3f},{n}" for n in range(50))))
    np.testing.assert_allclose(recording["waveform"].time, np.arange(50) / 250, atol=1e-6)


@pytest.mark.parametrize(
    ("header", "step", "kind", "expected"),
    [
        ("time", 0.02, "acc", 0.02),
        ("time", 20, "acc", 0.02),
        ("time", 20_000, "acc", 0.02),
        ("time (ms)", 20, "acc", 0.02),
        ("time", 1, "HR", 1.0),
        ("time", 1000, "HR", 1.0),
        ("time (min)", 1, "HR", 60.0),
    ],
)
def test_the_step_shows_the_unit_of_a_time_column(header, step, kind, expected):
    names, cells = ("acc_x (g),acc_y (g),acc_z (g)", "0,0,1") if kind == "acc" else ("HR", "80")
    recording = read(rows(f"{header},{names}", *(f"{n * step},{cells}" for n in range(400))))
    assert recording.streams[0].time[:3].tolist() == pytest.approx([0, expected, 2 * expected])
    assert ("does not give its unit" in notes_of(recording)) is (header == "time")


def test_a_step_that_fits_seconds_and_milliseconds_is_refused():
    # 1 a row: an ECG-fast sensor in ms, or one sample a second; 10,000 rows are 10 s of the one, 2.8 h of the other.
    with pytest.raises(UnclearColumns, match="does not give its unit"):
        read(rows("time,acc_x (g),acc_y (g),acc_z (g)", *(f"{n},0,0,1" for n in range(10_000))))


def test_seconds_that_begin_late_are_not_moved():
    whole = rows("time (s),HR", *(f"{n},{80 + n % 9}" for n in range(1200)))
    head, *lines = whole.splitlines()
    second = read(rows(head, *lines[600:]))["heart_rate"]
    assert second.time[0] == 600.0
    np.testing.assert_array_equal(second.values, read(whole)["heart_rate"].values[600:])


def test_elapsed_hours_are_not_a_time_of_day_and_a_clock_is():
    elapsed = read(rows("Elapsed,HR", "09:14:05,80", "09:14:06.5,81"))
    assert (elapsed.clock_s, elapsed["heart_rate"].time.tolist()) == (None, [33245.0, 33246.5])
    clock = read(rows("Uhrzeit,HR", "09:14:05,80", "09:14:06.5,81"))
    assert (clock.clock_s, clock["heart_rate"].time.tolist()) == (33245.0, [0, 1.5])
    silent = read(rows("Time,HR", "09:14:05,80", "09:14:06.5,81"))
    assert silent.clock_s == 33245.0
    assert "was read as times of day" in notes_of(silent)
    minutes = read(rows("Time,HR", "0:00,80", "75:30,81"))
    assert minutes["heart_rate"].time.tolist() == [0, 4530]


def test_a_clock_that_crosses_midnight_goes_on_into_the_next_day():
    stamps = ["23:59:58", "23:59:59.5", "00:00:01", "00:00:00.5", "00:00:02"]
    recording = read(rows("Clock,HR", *(f"{stamp},80" for stamp in stamps)))
    assert recording.clock_s == 86398.0
    assert recording["heart_rate"].time.tolist() == [0, 1.5, 2.5, 3, 4]


def test_a_date_and_a_clock_in_two_columns_are_one_stamp():
    recording = read(rows("Time,Date,HR", "23:59:59,2019-08-06,80", "00:00:01,2019-08-07,81"))
    assert recording.start == at("2019-08-06 23:59:59")
    assert recording["heart_rate"].time.tolist() == [0, 2]


def test_an_open_order_of_day_and_month_gives_no_date():
    open_dates = read(rows("time,HR", "08/06/2019 10:25:50,80", "08/06/2019 10:25:51,81"))
    assert (open_dates.start, open_dates.clock_s) == (None, 37550.0)
    assert "whether the day or the month comes first" in notes_of(open_dates)
    settled = read(rows("time,HR", "08/06/2019 23:59:59,80", "08/07/2019 00:00:00,81"))
    assert settled.start == at("2019-08-06 23:59:59")  # only month first lets a second pass between them
    assert read(rows("time,HR", "08/08/2019 10:00:00,80", "08/08/2019 10:00:01,8")).start == at("2019-08-08 10:00:00")
    with pytest.raises(UnclearColumns, match="whether the day or the month comes first"):
        read(rows("time,HR", "08/06/19 10:25:50,80", "08/07/19 10:25:51,81"))


@pytest.mark.parametrize(
    ("written", "days"),
    [
        ("9/8/2026", (date(2026, 8, 9), date(2026, 9, 8))),
        ("9/8/26", (date(2009, 8, 26), date(2026, 8, 9), date(2026, 9, 8))),
        ("9/15/26", (date(2026, 9, 15),)),  # with the year first there would be a month 15
        ("15/9/26", (date(2015, 9, 26), date(2026, 9, 15))),
        ("31/4/30", (date(2031, 4, 30),)),  # there is no 31 April
        ("9/15/2026", ()),
        ("2026-09-08", ()),
    ],
)
def test_the_days_that_an_open_date_may_be_are_told(written, days):
    found = read(rows("time,HR", f"{written} 10:25:50,80", f"{written} 10:25:51,81"))
    assert found.possible_days == days
    assert (found.start is None) is bool(days)
    if days:
        assert found.clock_s == 37550.0


def test_a_date_that_no_order_makes_one_is_none():
    with pytest.raises(DamagedFile):
        read(rows("time,HR", "31/31/26 10:25:50,80", "31/31/26 10:25:51,81"))


def test_of_two_time_columns_the_fine_one_gives_steps_and_the_coarse_one_the_date():
    lines = [f"2019-08-06 10:25:{50 + n // 50},{600 + n * 0.02:.2f},0,0,1" for n in range(200)]
    recording = read(rows("Time,Elapsed (s),acc_x (g),acc_y (g),acc_z (g)", *lines))
    np.testing.assert_allclose(recording["acceleration"].time, 600 + np.arange(200) * 0.02, atol=1e-9)
    assert recording.start == at("2019-08-06 10:15:50")  # the moment at which the elapsed time was 0


def test_a_stamp_years_away_is_left_out_and_counted():
    lines = ["2019-08-06 10:25:50,80", "1970-01-01 00:00:00,81", "2019-08-06 10:25:51,82", "2019-08-06 10:25:52,83"]
    recording = read(rows("time,HR", *lines))
    assert recording["heart_rate"].values.tolist() == [80, 82, 83]
    assert "left out: 1 row, on line 3" in notes_of(recording)


# ---- rows and cells ----


def test_missing_text_and_short_cells_have_no_value_and_are_counted_with_their_line():
    recording = read(rows("time (s),HR", "0,80", "1,", "2,--", "3", "4,84", "", "x,85", "6,86,7", "7,87", "The end"))
    assert recording["heart_rate"].time.tolist() == [0, 1, 2, 3, 4, 7]
    np.testing.assert_array_equal(recording["heart_rate"].values, [80, np.nan, np.nan, np.nan, 84, 87])
    assert "Cells for heart rate without a number have no value: 1 cell, on line 4." in texts(recording.notes)
    assert "Rows with more cells than there are columns were not read: 1 row, on line 9." in texts(recording.notes)
    assert "Rows without a usable time were left out: 2 rows, the first on line 8." in texts(recording.notes)


@pytest.mark.parametrize("broken", ['2,"0.7,"0.8","0.9"', '2,"0.7","0.8,"0.9"'])
def test_a_stray_quote_gives_no_column_the_number_of_another(broken):
    lines = ['0,"0.1","0.2","0.3"', '1,"0.4","0.5","0.6"', broken, '3,"1.0","1.1","1.2"']
    found = read(rows("time (s),acc_x (g),acc_y (g),acc_z (g)", *lines))["acceleration"]
    assert found.values.tolist() == [[0.1, 0.2, 0.3], [0.4, 0.5, 0.6], [0.7, 0.8, 0.9], [1.0, 1.1, 1.2]]


def test_an_inch_mark_in_a_note_is_no_stray_quote():
    lines = ['0,"ramp, steep",78', '1,5" step,79', '2,"6"" step, low",80', "3,,81"]
    assert read(rows("time (s),note,heart_rate", *lines))["heart_rate"].values.tolist() == [78, 79, 80, 81]


def test_a_stray_quote_costs_its_own_line_only():
    lines = [f'"{n},0";"8{n}"' for n in range(9)]
    lines[4] = '4,0;"84'
    stream = read(rows("Zeit [s];Puls", *lines))["heart_rate"]
    assert stream.time.tolist() == list(range(9))
    assert stream.values.tolist() == [80 + n for n in range(9)]


def test_stamps_that_repeat_and_step_back_are_never_refused_and_no_sample_is_lost():
    # A real export held 24,775 duplicate stamps in 681.9 s; here 24,000 of 30,000 and 30 backward ones.
    stamps = np.repeat(np.arange(6000) / 10, 5)
    stamps[1000:31000:1000] -= 0.35
    recording = read(rows("time (s),ECG (mV)", *(f"{stamp:.2f},{n % 7}" for n, stamp in enumerate(stamps))))
    counts = recording["waveform"].flag_counts()
    assert len(recording["waveform"]) == 30_000
    assert 29 <= counts["backward_stamp"] <= 6 * 30
    assert counts.get("duplicate_stamp", 0) <= 30
    assert "spread evenly" in notes_of(recording)


def test_a_spreadsheet_that_drops_the_seconds_loses_no_heart_rate():
    # 60 rows under each minute: without spreading, the highest of each minute would stand for all of it.
    rates = [90 + n % 40 for n in range(600)]
    recording = read(rows("Datum;HF", *(f"09.03.2026 08:{15 + n // 60};{rate}" for n, rate in enumerate(rates))))
    stream = recording["heart_rate"]
    assert stream.values.tolist() == rates
    np.testing.assert_allclose(stream.time, np.arange(600), atol=1e-6)
    assert "duplicate_stamp" not in stream.flag_counts()
    assert "spread evenly" in notes_of(recording)


def test_a_stamp_repeated_by_accident_is_flagged():
    recording = read(rows("time (s),HR", *(f"{n - (n == 50)},{80 + n % 5}" for n in range(100))))
    assert recording["heart_rate"].flag_counts()["duplicate_stamp"] == 1


def test_a_rate_for_a_slow_sensor_between_fast_rows_is_no_dropout():
    lines = [f"{n / 50:.2f},0,0,1,{80 + n // 50 if n % 50 == 0 else ''}" for n in range(500)]
    recording = read(rows("time (s),acc_x (g),acc_y (g),acc_z (g),HR", *lines))
    assert recording["heart_rate"].time.tolist() == list(range(10))
    assert len(recording["acceleration"]) == 500
    assert "10 of 500 rows" in notes_of(recording)


def test_a_dropout_in_a_table_of_one_sensor_stays_a_sample_without_value():
    stream = read(rows("time (s),HR", *(f"{n},{80 if n < 3 else ''}" for n in range(20))))["heart_rate"]
    assert len(stream) == 20
    assert np.isnan(stream.values).sum() == 17


def test_a_stamped_interval_ended_at_its_stamp():
    stream = read(rows("time (s),RR (ms)", "1.0,800", "1.9,900", "2.6,700"))["rr_interval"]
    np.testing.assert_allclose(stream.time, [0.2, 1.0, 1.9])
    np.testing.assert_allclose(stream.cover_s, [0.8, 0.9, 0.7])


def test_intervals_without_times_follow_each_other():
    stream = read(rows("Beat,RR (ms)", "1,800", "2,900", "3,700"))["rr_interval"]
    np.testing.assert_allclose(stream.time, [0, 0.8, 1.7])


def test_names_and_other_cells_do_not_survive():
    recording = read(
        rows("Name,time (s),HR,Remark", *(f"Quillfeather,{n},8{n},fell ill" for n in range(9)), "Quillfeather")
    )
    assert "Quillfeather" not in repr(recording)
    assert "fell" not in repr(recording)
    with pytest.raises(UnclearColumns) as refusal:
        read(rows("Name,Remark,Class,Count", *(f"Quillfeather,fell ill,second,{n}" for n in range(9))))
    assert "Quillfeather" not in str(refusal.value)
    assert "'Remark'" in str(refusal.value)


def test_only_the_time_column_may_be_quoted_and_only_its_first_letters():
    with pytest.raises(DamagedFile) as refusal:
        read(rows("time,HR", *(f"half past ten in the morning,8{n}" for n in range(9))), columns={"time": "time"})
    assert "'half past ten in the'" in str(refusal.value)


# ---- which column is which ----


def test_two_heart_rates_are_refused_with_both_names_and_the_option():
    with pytest.raises(UnclearColumns, match=r"'HR left', 'HR right'.*--column heart_rate=2"):
        read(rows("time (s),HR left,HR right", "0,80,81", "1,80,81"))


def test_a_plain_header_wins_over_one_that_says_more():
    assert read(rows("time (s),HR left,HR", "0,80,91", "1,80,92"))["heart_rate"].values.tolist() == [91, 92]


@pytest.mark.parametrize("name", ["HR left", "hr LEFT", "2"])
def test_a_hint_names_a_column_by_header_or_number(name):
    recording = read(rows("time (s),HR left,HR", "0,80,91", "1,80,92"), columns={"heart_rate": name})
    assert recording["heart_rate"].values.tolist() == [80, 80]


def test_a_hinted_time_column_wins_over_one_that_knows_the_date():
    lines = [f"2019-08-06 10:25:5{n},{n * 2},80" for n in range(5)]
    recording = read(rows("Date,Counter,HR", *lines), columns={"time": "Counter"})
    assert recording["heart_rate"].time.tolist() == [0, 2, 4, 6, 8]
    assert read(rows("Date,Counter,HR", *lines))["heart_rate"].time.tolist() == [0, 1, 2, 3, 4]


@pytest.mark.parametrize("columns", [{"heart_rate": "pulse"}, {"heart_rate": "4"}, {"puls": "HR"}, {"time": "0"}])
def test_a_hint_that_fits_nothing_is_refused(columns):
    with pytest.raises(UnclearColumns):
        read(rows("time (s),HR left,HR", "0,80,91", "1,80,92"), columns=columns)


def test_numbers_without_a_header_are_refused_until_a_hint_says_what_they_are():
    text = "0,80\n1,81\n2,82\n"
    with pytest.raises(UnclearColumns, match="--column heart_rate=2"):
        read(text)
    stream = read(text, columns={"time": "1", "heart_rate": "2"})["heart_rate"]
    assert (stream.time.tolist(), stream.values.tolist()) == ([0, 1, 2], [80, 81, 82])


def test_a_table_without_times_needs_a_rate():
    text = rows("x,y,z", "0,0,1", ",,", "0,0,1", "0,0.1,1", "end of file")
    with pytest.raises(UnclearColumns, match="--rate 50"):
        read(text)
    stream = read(text, rate_hz=50)["acceleration"]
    assert stream.time.tolist() == pytest.approx([0, 0.02, 0.04, 0.06])  # the empty row takes its time, the footer none
    assert np.isnan(stream.values[1]).all()


def test_a_line_of_units_below_the_header_is_read():
    stream = read(rows("Time,Acc x,Acc y,Acc z", "ms,mg,mg,mg", "0,0,0,1000", "20,0,500,0"))["acceleration"]
    assert (stream.time.tolist(), stream.values.tolist()) == ([0, 0.02], [[0, 0, 1], [0, 0.5, 0]])


def test_key_and_number_lines_above_the_table_are_no_rows():
    lines = [f"Setting {n},{n}" for n in range(60)]
    recording = read(rows("\n".join(lines), "Time (s),HR (bpm)", *(f"{n},8{n}" for n in range(9))))
    assert recording["heart_rate"].values.tolist() == [80 + n for n in range(9)]


def test_latin_1_is_read_with_a_note():
    recording = read("Zeit [s];Puls [Schläge/min]\n0,5;80\n1,5;81\n".encode("latin-1"))
    assert recording["heart_rate"].time.tolist() == [0.5, 1.5]
    assert "Latin-1" in notes_of(recording)


# ---- any dialect reads back as what was written ----

TIME_NAMES = ("Time", "Zeit", "Tiempo", "Temps", "timestamp")
RATE_NAMES = ("HR", "Heart Rate (bpm)", "Herzfrequenz [1/min]", "FC (lpm)", "Pouls")
ACCELERATION_NAMES = ("acc_{}_g", "Accelerometer {} (g)", "Beschleunigung {} [g]", "Aceleración {} (g)", "{}-axis (g)")
ENCODINGS = ("utf-8", "utf-8-sig", "utf-16", "latin-1")
PREAMBLES = ((), ("Device,withheld", "", "Rate,50", "Weight;40", "Sex,"), ("# made by a test", "Range,-8 to 8"))


def written_time(form, seconds, decimal):
    moment = MOMENT + timedelta(seconds=seconds)
    whole = int(seconds)
    text = {
        "seconds": f"{seconds:.2f}",
        "milliseconds": f"{round(seconds * 1000)}",
        "elapsed": f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{seconds % 60:05.2f}",
        "ISO": moment.isoformat(sep="T"),
        "points": moment.strftime("%d.%m.%Y %H:%M:%S.%f"),
        "unix": f"{round(moment.replace(tzinfo=UTC).timestamp() * 1000)}",
    }[form]
    return text if form in ("ISO", "points") else text.replace(".", decimal)


@st.composite
def dialects(draw):
    delimiter = draw(st.sampled_from((",", ";", "\t", "|")))
    decimal = draw(st.sampled_from((".", ",")))
    quoted = (delimiter == decimal == ",") or draw(st.booleans())
    form = draw(st.sampled_from(("seconds", "milliseconds", "elapsed", "ISO", "points", "unix")))
    count = draw(st.integers(4, 12))
    start = draw(st.integers(0, 3000))
    rates = draw(st.lists(st.integers(40, 220), min_size=count, max_size=count))
    for row in draw(st.sets(st.integers(0, count - 1), max_size=count // 2)):
        rates[row] = None  # at most half: more would mean that another sensor fills the rows between
    acceleration = np.array(
        draw(st.lists(st.lists(st.integers(-8000, 8000), min_size=3, max_size=3), min_size=count, max_size=count))
    )
    time = start + np.arange(count) * 0.02
    unit = {"seconds": " (s)", "milliseconds": " (ms)", "elapsed": " elapsed"}.get(form, "")
    name = draw(st.sampled_from(ACCELERATION_NAMES))
    header = [draw(st.sampled_from(TIME_NAMES)) + unit, draw(st.sampled_from(RATE_NAMES)), "Name"]
    header += [name.format(axis) for axis in "XYZ"]
    lines = [header]
    for stamp, rate, axes in zip(time.tolist(), rates, acceleration.tolist(), strict=True):
        values = [f"{value / 1000:.3f}".replace(".", decimal) for value in axes]
        lines.append([written_time(form, stamp, decimal), "" if rate is None else str(rate), "Ann", *values])
    order = draw(st.permutations(range(6)))
    mark = '"' if quoted else ""
    text = [delimiter.join(f"{mark}{line[place]}{mark}" for place in order) for line in lines]
    preamble = draw(st.sampled_from(PREAMBLES))
    end = draw(st.sampled_from(("\n", "\r\n", "\r")))
    data = (end.join((*preamble, *text)) + draw(st.sampled_from(("", end)))).encode(draw(st.sampled_from(ENCODINGS)))
    absolute = form in ("ISO", "points", "unix")
    return data, time - time[0] if absolute else time, rates, acceleration / 1000, absolute and start


@settings(max_examples=150, deadline=None)
@given(dialects())
def test_a_known_series_in_any_dialect_reads_back_equal(dialect):
    data, time, rates, acceleration, start = dialect
    assert table.sniff(data[:4096])
    recording = read(data)
    np.testing.assert_allclose(recording["heart_rate"].time, time, rtol=0, atol=1e-9)
    np.testing.assert_array_equal(recording["heart_rate"].values, [np.nan if r is None else r for r in rates])
    np.testing.assert_allclose(recording["acceleration"].values, acceleration, rtol=0, atol=1e-15)
    if start is not False:
        assert recording.start.replace(tzinfo=None) == MOMENT + timedelta(seconds=start)


@settings(max_examples=60, deadline=None)
@given(st.dates(date(1990, 1, 1), date(2030, 12, 31)), st.sampled_from((".", "/", "-")), st.booleans())
def test_a_date_that_can_only_be_read_one_way_is_read_that_way(day, sign, day_first):
    written = day.strftime(f"%d{sign}%m{sign}%Y" if day_first or sign == "." else f"%m{sign}%d{sign}%Y")
    recording = read(rows("time,HR", f"{written} 10:25:50,80", f"{written} 10:25:51,81"))
    if sign == "." or day.day > 12 or day.day == day.month:
        assert recording.start == at(f"{day} 10:25:50")
    else:
        assert (recording.start, recording.clock_s) == (None, 37550.0)


# ---- real recordings, read a second time by numpy or pandas ----


def test_the_waist_recording_has_its_gap_and_its_values(real_dir):
    import pandas as pd

    data = gzip.decompress((real_dir / "waist_walks_50hz.csv.gz").read_bytes())
    assert table.sniff(data[:4096])
    columns = {"acceleration_x": "2", "acceleration_y": "3", "acceleration_z": "4"}
    recording = read(data, columns=columns)
    frame = pd.read_csv(io.BytesIO(data), skiprows=100, header=None)
    stamps = pd.to_datetime(frame[0], format="%Y-%m-%d %H:%M:%S:%f")
    stream = recording["acceleration"]
    assert recording.start == stamps[0].to_pydatetime() == at("2019-08-06 10:25:50")
    np.testing.assert_allclose(stream.time, (stamps - stamps[0]).dt.total_seconds(), atol=1e-9)
    np.testing.assert_array_equal(stream.values, frame[[1, 2, 3]].to_numpy())
    assert np.diff(stream.time).max() == pytest.approx(0.52)  # stated beside the file
    assert stream.time[-1] == pytest.approx(168.48)
    with pytest.raises(UnclearColumns, match="7 columns and no header"):
        read(data)


@pytest.mark.parametrize(
    ("name", "skip", "columns", "samples"),
    [("still.csv", 1, {}, 1000), ("moving.csv", 1, {}, 586), ("walking_20hz.csv", 0, AXES, 2400)],
)
def test_acceleration_without_times_needs_the_rate_and_reads_as_numpy_reads_it(real_dir, name, skip, columns, samples):
    data = (real_dir / name).read_bytes()
    assert table.sniff(data[:4096])
    with pytest.raises(UnclearColumns, match="--rate"):
        read(data, columns=columns)
    stream = read(data, columns=columns, rate_hz=20)["acceleration"]
    np.testing.assert_allclose(stream.values, np.loadtxt(io.BytesIO(data), delimiter=",", skiprows=skip), rtol=1e-14)
    np.testing.assert_allclose(stream.time, np.arange(samples) / 20)


def test_the_raw_ecg_is_read_by_rate_and_column(real_dir):
    data = gzip.decompress((real_dir / "ecg_60s_raw.txt.gz").read_bytes())
    assert table.sniff(data[:4096])
    stream = read(data, columns={"waveform": "3"}, rate_hz=1000)["waveform"]
    np.testing.assert_array_equal(stream.values, np.loadtxt(io.BytesIO(data))[:, 2])
    assert (len(stream), stream.time[-1]) == (60_000, 59.999)
    assert stream.values.max() == 65_535  # it saturates there: stated beside the file


def test_the_shank_recording_shows_metres_per_second_squared_by_gravity(real_dir):
    data = gzip.decompress((real_dir / "shank_120hz.txt.gz").read_bytes())
    assert table.sniff(data[:4096])
    recording = read(data, rate_hz=120)
    metres = np.loadtxt(io.BytesIO(data), skiprows=5, usecols=(1, 2, 3))
    np.testing.assert_allclose(recording["acceleration"].values, metres / 9.80665, rtol=1e-12)
    still = np.linalg.norm(recording["acceleration"].values[:120], axis=1)
    assert np.median(still) == pytest.approx(1, abs=0.02)  # it stands still for 2 s: stated beside the file
    assert "read as m/s²" in notes_of(recording)
    assert "angular rate is not given" in notes_of(recording)


# ---- what is a table, and what damage does ----

SAMPLES = [
    rows("time (s),HR (bpm)", *(f"{n},8{n}" for n in range(9))).encode(),
    rows("Date;Time;HR;Name", *(f'2019-08-26;10:25:5{n};"8{n},5";"Ann"' for n in range(9))).encode(),
    rows("Zeit [s]\tPuls\tRR", *(f"{n},5\t8{n}\t81{n}" for n in range(9))).encode("utf-16"),
    rows(
        "epoch (ms),x-axis (g),y-axis (g),z-axis (g)", *(f"{1565087150000 + n * 20},0,0.5,1" for n in range(9))
    ).encode(),
    rows("time,acc_x,acc_y,acc_z", *(f"08/26/2019 10:25:5{n} PM,0,0.5,1" for n in range(9))).encode(),
    "".join(f"{n}.5 {n} 8{n}\n" for n in range(9)).encode(),
]
STRANGERS = [
    b"",
    b"\n\n",
    b"Dear family,\nyour child did well today, and the heart rate, as ever, was fine.\n",
    b"# A title\n\nSome words; more words.\n\n- one, two\n- three\n\n| time | heart rate |\n| --- | --- |\n",
    b"<!DOCTYPE html><html><body><p>time,HR\n1,2\n2,3\n3,4\n</p></body></html>",
    b'<?xml version="1.0"?>\n<gpx>\n<trkpt lat="1" lon="2"/>\n</gpx>\n',
    b'{"time": 1, "HR": 80}\n{"time": 2, "HR": 81}\n',
    b"\x0e\x10\xd9\x07\x00\x00\x00\x00.FIT" + bytes(range(200)),
    bytes(range(256)) * 8,
    b"import csv\n\nfor row, column in table:\n    print(row, column)\n",
]


@pytest.mark.parametrize("data", SAMPLES)
def test_a_table_is_claimed_by_its_reader_alone(data):
    assert [reader.sniff(data[:4096]) for reader in (table, rr_list, packets)] == [True, False, False]


@pytest.mark.parametrize("data", STRANGERS)
def test_what_is_no_table_is_not_claimed(data):
    assert [reader.sniff(data[:4096]) for reader in (table, rr_list, packets)] == [False, False, False]


def test_a_preamble_longer_than_the_first_bytes_is_still_a_table():
    lines = [f"Setting number {n},withheld value {n}" for n in range(180)]
    data = rows("\n".join(lines), "Time (s),HR (bpm)", "0,80", "1,81", "2,82").encode()
    assert table.sniff(data[:4096])
    assert read(data)["heart_rate"].values.tolist() == [80, 81, 82]


HINTS = [
    Hints(),
    Hints(rate_hz=50.0),
    Hints({"heart_rate": "2"}),
    Hints({"time": "1", "waveform": "2"}),
    Hints(AXES, 10.0),
]


def either(data, hints):
    try:
        recording = table.read(data, Source("damaged.csv", hints=hints))
    except IngestError as refusal:
        told = str(refusal)
    else:
        told = "damaged.csv: read"
        for stream in recording.streams:
            assert len(stream) > 0
            assert ((stream.flags & Flag.UNCHECKED) != 0).all()
    assert told.startswith("damaged.csv: ")


@settings(max_examples=120, deadline=None)
@given(st.binary(max_size=300), st.sampled_from(HINTS))
def test_any_bytes_give_a_recording_or_a_sentence(data, hints):
    assert table.sniff(data) in (True, False)
    either(data, hints)


@settings(max_examples=120, deadline=None)
@given(st.text(alphabet="0123456789.,;:-/\t\n\"' xeE+TZ", max_size=200), st.sampled_from(HINTS))
def test_any_signs_of_a_table_give_a_recording_or_a_sentence(text, hints):
    either(text.encode(), hints)


@pytest.mark.parametrize(("data", "hints"), list(product(SAMPLES, HINTS)))
def test_damaged_tables_give_a_recording_or_a_sentence(data, hints):
    chance = np.random.default_rng(len(data))
    for _ in range(4):
        damaged = bytearray(data)
        for place in chance.integers(len(data), size=3):
            damaged[place] ^= 1 << chance.integers(8)
        either(bytes(damaged), hints)
        either(bytes(damaged[: chance.integers(len(data))]), hints)
        cut = int(chance.integers(len(data)))
        for foreign in (b'"', b"\0\0", b"9" * 5000, b"1e308", b"\n\n,"):
            either(data[:cut] + foreign + data[cut:], hints)


@pytest.mark.parametrize("units", ["dd/mm/yyyy hh:mm:ss,bpm,%", "hh:mm:ss,bpm,%", "YYYY-MM-DD HH:MM:SS,1/min,%"])
def test_a_line_of_units_and_formats_below_the_header_is_no_header(units):
    rows = "".join(f"13/05/2026 09:00:{s:02d},{100 + s % 7},{95 + s % 3}\n" for s in range(60))
    found = table.read(f"Time,HR,SpO2\n{units}\n{rows}".encode(), Source("a.csv"))
    assert str(found.start) == "2026-05-13 09:00:00"
    assert list(found["heart_rate"].values[:3]) == [100, 101, 102]
