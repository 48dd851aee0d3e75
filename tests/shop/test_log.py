"""The set-up log: what it keeps when processes are killed in mid-write, race each other, or the file is damaged."""

import multiprocessing
import os
import random
import resource
import signal
import string
import time
from datetime import UTC, datetime, timedelta, timezone
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lutherie_geom.shop.log import log as the_log
from lutherie_geom.shop.log.log import HEADER, Entry, LogError, LogReading, add, log_place, read_log, turn_text

FORK = multiprocessing.get_context("fork")
WHEN = datetime(2026, 11, 25, 19, 30, tzinfo=UTC)


def entry(who="evening class", words="", **more):
    return Entry(when=WHEN, who=who, words=words, readings={"action.12.bass": LogReading(2.35, 0.05)}, **more)


def test_an_entry_reads_like_a_note_and_comes_back_the_same(tmp_path):
    place = tmp_path / "neck.log.txt"
    first = Entry(when=WHEN, who="evening class, bench 2", tilt=1 / 8, bass=-1.5, humidity=0.45, temperature=20.5,
                  readings={"action.12.bass": LogReading(2.35, 0.05), "straightedge.bridge": LogReading(11.8, 0.2)},
                  words="Strung up.\n== no new entry\n-- end, check 00000000\n\nStill the same words.")
    add(place, first)
    add(place, entry())
    text = place.read_text("utf-8")
    assert text.startswith(HEADER)
    for said in ("== 2026-11-25 19:30:00+00:00, evening class, bench 2", "turns: tilt +1/8, bass -1 1/2, treble 0",
                 "air: 45 % RH, 20.5 degC", "read: action.12.bass 2.35 mm, sd 0.05 mm"):
        assert said in text
    found = read_log(place)
    assert found.entries == (first, entry()) and not found.damages


@settings(max_examples=150, deadline=None)
@given(who=st.text(st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp")), min_size=1, max_size=30),
       words=st.text(st.characters(exclude_categories=("Cs", "Zl", "Zp", "Cc"), include_characters="\n"), max_size=60),
       turns=st.tuples(*[st.floats(-12, 12)] * 3), air=st.tuples(*[st.none() | st.floats(0, 1)] * 2),
       value=st.floats(0, 10), sd=st.floats(1e-5, 5), zone=st.integers(-12, 14))
def test_any_entry_comes_back_the_same(tmp_path_factory, who, words, turns, air, value, sd, zone):
    if not who.strip():
        return
    e = Entry(when=WHEN.astimezone(timezone(timedelta(hours=zone))), who=who, words=words, tilt=turns[0], bass=turns[1],
              treble=turns[2], humidity=air[0], temperature=None if air[1] is None else 40 * air[1] - 10,
              readings={"gap.end": LogReading(value, sd)})
    place = tmp_path_factory.mktemp("log") / "a.log.txt"
    add(place, e)
    found = read_log(place)
    assert found.entries == (e,) and not found.damages


def test_cut_at_every_byte(tmp_path):
    """Whatever was torn off: whole entries stay, the torn one is named with its line, the next one is whole."""
    place, cut = tmp_path / "whole.log.txt", tmp_path / "cut.log.txt"
    ends = [0]
    for k in range(2):
        add(place, entry(words=f"entry {k}, mit Umlaut ä\nsecond line"))
        ends.append(place.stat().st_size)
    data = place.read_bytes()
    for n in range(len(data) + 1):
        cut.write_bytes(data[:n])
        before = read_log(cut)
        whole = sum(n >= e - 1 for e in ends[1:])  # the last newline is not missed
        assert len(before) == whole
        assert before.entries == read_log(place).entries[:whole]
        last = max(e for e in (0, len(HEADER), *ends[1:]) if e <= n + 1)
        torn = 0 < n if n < len(HEADER) else data[last:n].strip() != b""
        assert len(before.damages) == torn, n
        if torn:
            assert before.damages[0].last == data[:n].rstrip(b"\n").count(b"\n") + 1
        add(cut, entry(who="after"))
        after = read_log(cut)
        assert [e.who for e in after] == ["evening class"] * whole + ["after"]
        assert len(after.damages) == (torn and n > len(HEADER))
        assert cut.read_bytes().startswith(data[:n])  # nothing that stood there is touched


def test_every_changed_byte_is_noticed(tmp_path):
    place = tmp_path / "a.log.txt"
    for k in range(3):
        add(place, entry(words=f"number {k}"))
    data, good = place.read_bytes(), read_log(place).entries
    rng = random.Random(1)
    for at in range(len(HEADER), len(data)):
        hurt = bytearray(data)
        hurt[at] ^= 1 << rng.randrange(8)
        place.write_bytes(hurt)
        found = read_log(place)
        assert set(map(str, found.entries)) <= set(map(str, good))
        # A blank line may be lost, and a check may change its letters' case, without harm; all else is named.
        assert found.damages or found.entries == good, (at, bytes(hurt)[at - 20: at + 20])
        assert len(found) >= 1


def _slow_writer(place, seconds, done, start):
    """Adds for ever, each byte by itself and slowly, so that a kill falls in mid-write."""
    write = os.write

    def by_bytes(handle, data):
        time.sleep(seconds)
        return write(handle, bytes(data[:random.Random().randrange(1, 40)]))

    if seconds:
        the_log.os = SimpleNamespace(**{n: getattr(os, n) for n in dir(os) if not n.startswith("__")} | {"write": by_bytes})
    for k in range(start, 10**6):
        add(place, entry(who=f"writer {k}", words="x" * 200))
        os.write(done, f"{k}\n".encode())


@pytest.mark.parametrize("seconds", [0.0, 2e-4])
def test_killed_in_mid_write(tmp_path, seconds):
    """60 writers killed: what a writer said was done is there; nothing whole is lost later; damage is named."""
    place, rng, torn, said = tmp_path / "a.log.txt", random.Random(7), 0, []
    tries = 60
    for n in range(tries):
        r, w = os.pipe()
        child = FORK.Process(target=_slow_writer, args=(place, seconds, w, 1000 * n))
        child.start()
        os.close(w)
        first = os.read(r, 1)  # it is well under way: one entry at least is done
        time.sleep(rng.uniform(0, 0.008))
        os.kill(child.pid, signal.SIGKILL)
        child.join()
        with os.fdopen(r) as told:
            lines = (first.decode() + told.read()).split("\n")
            said += [f"writer {line}" for line in lines[:-1]]
        found = read_log(place) if place.exists() else None
        if found:
            torn += len(found.damages) > 0 and found.damages[-1].last >= place.read_bytes().rstrip(b"\n").count(b"\n")
    add(place, entry(who="last", words="still works"))
    found = read_log(place)
    who = [e.who for e in found]
    assert who[-1] == "last" and len(set(who)) == len(who)
    assert len(said) >= tries and set(said) <= set(who)
    assert all(e.words == "x" * 200 for e in found.entries[:-1])
    assert len(who) - 1 - len(said) <= tries  # at most one a kill was written but not yet told
    if seconds:
        assert len(found.damages) >= tries / 6 and torn
    assert place.read_text("utf-8").count("\n== ") == len(found) + sum("== " in d.text for d in found.damages)


def _racer(place, name, many):
    for k in range(many):
        add(place, entry(who=f"{name} {k}", words=name * 100))


def test_racing_writers_lose_and_mix_nothing(tmp_path):
    place, many = tmp_path / "a.log.txt", 60
    names = string.ascii_lowercase[:6]
    racers = [FORK.Process(target=_racer, args=(place, n, many)) for n in names]
    for r in racers:
        r.start()
    for r in racers:
        r.join(60)
        assert r.exitcode == 0
    found = read_log(place)
    assert not found.damages and len(found) == many * len(names)
    for n in names:
        assert [e.who for e in found if e.who[0] == n] == [f"{n} {k}" for k in range(many)]
    assert all(e.words == e.who[0] * 100 for e in found)


def _no_room(place, out):
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    size = place.stat().st_size
    resource.setrlimit(resource.RLIMIT_FSIZE, (size + 50, size + 50))
    try:
        add(place, entry())
    except OSError:
        os.write(out, b"refused")


def test_a_full_disk_leaves_the_log_as_it_was(tmp_path):
    place = tmp_path / "a.log.txt"
    add(place, entry())
    before = place.read_bytes()
    r, w = os.pipe()
    child = FORK.Process(target=_no_room, args=(place, w))
    child.start()
    child.join()
    os.close(w)
    assert os.read(r, 20) == b"refused" and place.read_bytes() == before
    os.close(r)


@pytest.mark.parametrize("change, said", [
    (dict(tilt=13.0), "tilt: 13.0 turns; allowed is -12 to 12 turns"), (dict(bass=float("nan")), "bass: nan turns"),
    (dict(treble=True), "treble: True"), (dict(humidity=45.0), "allowed is 0 to 1 (0 to 100 % RH)"),
    (dict(temperature=99.0), "degC"),
    (dict(who=" "), "who: is empty"), (dict(who="a\nb"), "no place in a line"), (dict(words="a\x00b"), "words: holds the sign"),
    (dict(words="x" * 5000), "5000 letters"), (dict(when=datetime(2026, 1, 1)), "time zone"),
    (dict(readings={"action.12.bas": LogReading(2, 0.1)}), "did you mean 'action.12.bass'"),
    (dict(readings={"action.12.bass": LogReading(25, 0.1)}), "25 mm; allowed is 0 to 10 mm"),
    (dict(readings={"straightedge.bridge": LogReading(99, 0)}), "99 mm; allowed is -10 to 40 mm"),
])
def test_bad_values_are_refused(change, said):
    with pytest.raises(LogError) as e:
        Entry(**(dict(when=WHEN, who="class") | change))
    assert said in str(e.value)


def test_all_that_is_wrong_is_said_at_once():
    with pytest.raises(LogError) as e:
        Entry(when=datetime(2026, 1, 1), who="", tilt=99.0)
    assert len(e.value.problems) == 3


@pytest.mark.parametrize("text, said", [
    (b"my diary\n", "a log begins with"), (b"lutherie_geom set-up log, version 2\n", "version 2 is not"),
    (b"\xff\xfe", "its first line")])
def test_another_file_is_not_touched(tmp_path, text, said):
    place = tmp_path / "a.txt"
    place.write_bytes(text)
    for job in (lambda: add(place, entry()), lambda: read_log(place)):
        with pytest.raises(LogError) as e:
            job()
        assert said in str(e.value)
    assert place.read_bytes() == text


def test_damage_in_the_middle(tmp_path):
    place = tmp_path / "a.log.txt"
    for k in range(3):
        add(place, entry(who=f"w{k}"))
    lines = place.read_text("utf-8").split("\n")
    at = next(i for i, t in enumerate(lines) if "w1" in t)
    place.write_text("\n".join([*lines[:at], lines[at] + "!", *lines[at + 1:], "a note by hand", "# a remark"]) + "\n", "utf-8")
    found = read_log(place)
    assert [e.who for e in found] == ["w0", "w2"]
    assert found.damages[0].line == at + 1 and "changed or damaged" in str(found.damages[0])
    assert len(found.damages) == 2 and "damaged, lines" in str(found)


def test_turns_as_text_and_places():
    assert [turn_text(t) for t in (0.0, 1 / 8, -1.5, 0.3, 1 / 3, -1 / 48)] == ["0", "+1/8", "-1 1/2", "+0.3", "+1/3", "-1/48"]
    assert log_place("own/My Neck.toml").name == "My Neck.log.txt" and str(log_place("Slack Water")) == "slack_water.log.txt"
