"""A logger's file with known faults: each is left out and counted, whatever the order of the rows."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest

from lutherie_geom.mechanics.climate import ClimateError
from lutherie_geom.mechanics.logger import from_logger


def faulty(path: Path, order: int | None = None) -> Path:
    """Forty days of hourly readings with one of each fault."""
    lines = []
    for hour in range(960):
        t, h = 20 + np.sin(hour / 9.0), 45 + 8 * np.sin(hour / 30.0)
        day, clock = 1 + hour // 24, hour % 24
        stamp = f"2031-0{1 + (day > 31)}-{day if day <= 31 else day - 31:02d} {clock:02d}:00"
        lines.append([stamp, f"{t:.3f}", f"{h:.3f}"])
    lines[10][2] = "104.0"
    lines[11][2] = "-3"
    lines[12][2] = ""
    lines[13][1] = "n/a"
    lines[14][0] = "yesterday"
    lines[15][1] = "85.0"
    lines.insert(31, list(lines[30]))
    stuck = range(201, 301)
    for k in stuck:
        lines[k][1:] = ["20.500", "47.000"]
    del lines[501:541]
    if order is None:
        lines[700], lines[701] = lines[701], lines[700]
    else:
        random.Random(order).shuffle(lines)
    path.write_text("\n".join(",".join(row) for row in [["Date/time", "Temp (C)", "RH (%)"], *lines]) + "\n")
    return path


def test_logger_counts_what_is_wrong(tmp_path):
    air = from_logger(faulty(tmp_path / "log.csv"))
    counts = [n for _, n in air.mended]
    # unreadable, humidity, temperature, out of order, twice, stuck (the first of the run stays), lone, gaps, hours in them
    assert counts == [3, 2, 1, 1, 1, 99, 0, 2, 100 + 41], air.mended
    assert "105" not in str(air) and "sensor stuck" in str(air) and "815 of 921 readings" in air.source
    assert len(air.days) == 160 and air.days[0] == 0.0 and air.step == 0.25
    middle = (air.days + air.step / 2) * 24
    good = (np.abs(middle - 250) > 60) & (np.abs(middle - 520) > 30) & (middle > 20)
    np.testing.assert_allclose(air.humidity[good], 45 + 8 * np.sin(middle[good] / 30.0), atol=0.05)


def test_logger_order_of_rows_does_not_matter(tmp_path):
    a, b = from_logger(faulty(tmp_path / "a.csv", 1)), from_logger(faulty(tmp_path / "b.csv", 2))
    np.testing.assert_array_equal(a.humidity, b.humidity)
    assert dict(a.mended)["rows out of order, sorted"] > 300


def test_logger_other_shapes_and_errors(tmp_path):
    semi = tmp_path / "semi.csv"
    semi.write_text("time;temperature;humidity\n0;20,5;45 %\n1.0;21,5;47 %\n2.0;20;50\n")
    air = from_logger(semi, step=1.0)
    assert air.temperature == pytest.approx([21.0, 20.75]) and air.humidity == pytest.approx([46.0, 48.5])
    for text, said in (("time,temperature\n0,20\n", "humidity: no such column"), ("", "no heading"),
                       ("time,temperature,rh\n0,20,300\n1,20,45\n", "1 good readings of 2; 2 or more")):
        (tmp_path / "bad.csv").write_text(text)
        with pytest.raises(ClimateError, match=said):
            from_logger(tmp_path / "bad.csv")


def dated(first, second):
    return f"time,temp,rh\n{first},20,45\n{second},21,47\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_encodings(tmp_path, encoding):
    path = tmp_path / "log.csv"
    path.write_bytes(dated("2031-02-14 06:00", "2031-02-15 06:00").replace("temp", "temp (°C)").encode(encoding))
    assert from_logger(path).humidity[-1] == pytest.approx(45 + 2 * 21 / 24)  # at 3 in the morning


def test_an_encoding_that_is_not_known_is_named(tmp_path):
    path = tmp_path / "old.csv"
    path.write_bytes(dated("2031-02-14 06:00", "2031-02-15 06:00").replace("temp", "temp (°C)").encode("latin-1"))
    with pytest.raises(ClimateError, match=r"old\.csv: .* encoding .* allowed is UTF-8, or UTF-16"):
        from_logger(path)


@pytest.mark.parametrize(("first", "second"), [
    ("05.02.2031 06:00", "6.2.2031 18:00:00"), ("05/02/2031 06:00", "13/02/2031 06:00"),
    ("02/05/2031 6:00 AM", "02/13/2031 6:00 PM")])
def test_dates_that_begin_with_day_or_month(tmp_path, first, second):
    path = tmp_path / "log.csv"
    path.write_text(dated(first, second))
    air = from_logger(path, step=1.0)
    assert air.days[0] == 31 + 4 and len(air.days) == (2 if second[0] == "6" else 9)  # 5 February, counted from New Year


def test_what_cannot_be_told_is_asked_for(tmp_path):
    path = tmp_path / "log.csv"
    for text, said in ((dated("05/02/2031 06:00", "06/02/2031 06:00"), "time: '05/02/2031 06:00' may have the day or the month"),
                       (dated("13/02/2031 06:00", "02/13/2031 06:00"), "may have the day or the month"),
                       ("time,temp,rh\n0,20,0.45\n1,20,0.47\n", r"humidity: 0\.45 to 0\.47 in all rows is a fraction")):
        path.write_text(text)
        with pytest.raises(ClimateError, match=said):
            from_logger(path)


def test_headings_of_other_makes(tmp_path):
    two = tmp_path / "two.csv"
    two.write_text("# a remark\nDate,Time,Temp (F),Humidity\n2031-01-01,00:00,68.0,45\n2031-01-01,12:00,77.0,47\n")
    air = from_logger(two, step=0.25)
    assert air.temperature[0] == pytest.approx(20 + 5 * 3 / 12) and len(air.days) == 2 and air.humidity[-1] > 46
    assert not any(n for words, n in air.mended if "second readings" in words)


def test_a_lone_reading_is_left_out_and_a_real_change_stays(tmp_path):
    h = np.full(40, 45.0) + 0.1 * np.arange(40)
    h[10] = 92.0  # steam
    h[20:30] += 35.0  # a window left open: it lasts
    path = tmp_path / "spike.csv"
    path.write_text("time,temp,rh\n" + "".join(f"{k / 8},20,{v}\n" for k, v in enumerate(h)))
    air = from_logger(path, step=0.125)
    counts = dict(air.mended)
    assert counts["single readings more than 25 % off their neighbours, left out"] == 1
    assert air.humidity[10] < 47 and air.humidity[25] > 75


def test_the_classes_own_logger():
    """The demo file's faults, counted by hand when it was made."""
    air = from_logger("net_loft_logger")
    assert [n for _, n in air.mended] == [4, 3, 1, 1, 1, 29, 2, 3, 380]
    assert len(air.days) == 1460 and 20 < np.min(air.humidity) and np.max(air.humidity) < 80
    months = air.by_month(air.humidity)
    assert months.argmax() in (6, 7) and months.argmin() in (0, 11)
    with pytest.raises(ClimateError, match="no file 'attic'"):
        from_logger("attic")
