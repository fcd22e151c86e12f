"""The scale's cable: lines out of bytes, and a port that comes and goes."""

import random
import re
import socket
import sys
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from truethrow.balance.base.errors import BadInput
from truethrow.balance.weighing.scaleline import Frame, ScaleProfile, Trouble, read_line
from truethrow.balance.weighing.settler import Settler
from truethrow.cli.weighing import serialport
from truethrow.cli.weighing.serialport import Port, Splitter

serial = pytest.importorskip("serial")
if sys.platform == "win32":
    pytest.skip("pseudo-terminals", allow_module_level=True)

from simulated_scale import LONGEST_WAIT_S, SimulatedScale, until  # noqa: E402


@pytest.fixture(autouse=True)
def soon(monkeypatch):
    """The port looks again at once: the tests wait for what happens, not for a time."""
    monkeypatch.setattr(serialport, "POLL_S", 0.001)
    monkeypatch.setattr(serialport, "RETRY_S", 0.01)


def collected(port, *, until):
    """What comes out of a port until there is enough of it."""
    items, end_s = [], time.monotonic() + LONGEST_WAIT_S
    while not until(items):
        assert time.monotonic() < end_s, items[-20:]
        if (got := port.get(0.05)) is not None:
            items.append(got[1])
    return items


def weighed(loads, *, settle_s=0.5, **pan):
    """Takes loads off a scale, lifting each when it is taken: what was taken, the troubles, and the scale."""
    with SimulatedScale(loads, **pan) as scale:
        profile = ScaleProfile(port=scale.port, settle_s=settle_s)
        settler, grams, troubles, off = Settler(profile), [], [], 0
        with Port(profile, scale.now) as port:
            for _ in scale.played(port):
                while (got := port.get()) is not None:
                    at_s, item = got
                    found = read_line(item, profile) if isinstance(item, str) else item
                    if isinstance(found, Trouble):
                        troubles.append(found)
                        if found.what not in ("flood", "overload"):
                            settler.lost()
                    elif isinstance(found, Frame):
                        event = settler.feed(found, at_s)
                        off += event.state == "off"
                        if event.take:
                            grams.append(event.live_g)
                            scale.lift()
                        elif event.state == "early":  # the line was lost under it
                            scale.lift(again=True)
    return grams, troubles, off, scale


# -- lines out of bytes


def test_lines_end_in_any_of_the_three_ways():
    splitter = Splitter(ScaleProfile())
    assert splitter.feed(b"1.0 g\r2.0 g\n3.0 g\r\n\r\n4.0", 0.0) == (["1.0 g", "2.0 g", "3.0 g"], [])
    assert splitter.feed(b" g\r", 0.1) == (["4.0 g"], [])
    assert splitter.feed(b"\n5.0 g\n", 0.2) == (["5.0 g"], [])


@given(st.lists(st.sampled_from(["540.2 g", "0.0", "ST,+1.5 kg"]), max_size=20), st.data())
def test_the_pieces_in_which_bytes_come_do_not_matter(lines, data):
    sent = "".join(line + data.draw(st.sampled_from(["\r", "\n", "\r\n"])) for line in lines).encode()
    splitter, got = Splitter(ScaleProfile()), []
    while sent:
        size = data.draw(st.integers(1, 12))
        got += splitter.feed(sent[:size], 0.0)[0]
        sent = sent[size:]
    assert got == lines


@given(st.lists(st.tuples(st.binary(max_size=300), st.floats(0, 3)), max_size=20))
def test_no_bytes_upset_the_splitter(pieces):
    splitter, now_s = Splitter(ScaleProfile()), 0.0
    for data, later_s in pieces:
        now_s += later_s
        lines, troubles = splitter.feed(data, now_s)
        assert all(line and not re.search(r"[\r\n]", line) for line in lines)
        assert all(trouble.said.isprintable() for trouble in troubles)


def test_a_half_line_waits_two_seconds():
    splitter = Splitter(ScaleProfile())
    assert splitter.feed(b"540.2 g", 0.0) == ([], [])
    assert splitter.feed(b"", 1.9) == ([], [])
    assert splitter.feed(b"", 2.1) == (["540.2 g"], [])
    assert splitter.feed(b"541.0 g", 5.0) == ([], [])


def test_a_half_line_that_is_no_weight_is_given_up_with_its_tail():
    splitter = Splitter(ScaleProfile())
    splitter.feed(b"ST,+ ", 0.0)
    lines, (trouble,) = splitter.feed(b"", 2.1)
    assert (lines, trouble.what) == ([], "half a line")
    assert splitter.feed(b"40.2 g\r\n540.2 g\r\n", 2.2) == (["540.2 g"], [])


def test_bytes_without_an_end_are_said_and_bounded():
    splitter, said = Splitter(ScaleProfile()), []
    for i in range(1000):
        lines, troubles = splitter.feed(b"\xff" * 64, i / 100)
        said += troubles
        assert lines == []
    assert {trouble.what for trouble in said} == {"garbage"}
    assert 10 < len(said) < 20
    assert splitter.feed(b"0.2 g\n540.2 g\n", 10.0) == (["540.2 g"], [])


# -- names


@pytest.mark.parametrize(
    "name",
    [
        "",
        "  ",
        "COM3",
        "ttyUSB0",
        "/dev",
        str(Path(__file__).resolve()),
        "http://localhost:80",
        "socket://",
        "socket://localhost",
        "socket://localhost:99999999",
        "rfc2217://:7000",
        "socket://[:1",
        "/dev/tty\x00",
        "/dev/\x1b[2J",
    ],
)
def test_a_name_that_is_no_ports_is_refused_in_one_line(name):
    with pytest.raises(BadInput) as caught:
        Port(ScaleProfile(port=name))
    assert len(str(caught.value).splitlines()) == 1
    assert str(caught.value).isprintable()


def test_a_wrong_profile_is_refused_in_one_line():
    with pytest.raises(BadInput, match=r"baud.*frame"):
        Port(ScaleProfile(port="loop://", baud=1, frame="9Z9"))


# -- ports


@pytest.fixture
def opened(monkeypatch):
    """The port that the library opened, to write into its loop."""
    ports, real = [], serial.serial_for_url

    def caught(*given, **named):
        ports.append(real(*given, **named))
        return ports[-1]

    monkeypatch.setattr(serial, "serial_for_url", caught)
    return ports


def test_a_loop_hears_itself(opened, monkeypatch):
    monkeypatch.setattr(serialport, "HALF_LINE_S", 0.3)
    with Port(ScaleProfile(port="loop://")) as port:
        until(lambda: port.connected)
        opened[0].write(b"ST,+540.2 g\r\n0.5\xff g\r54")
        assert collected(port, until=lambda items: len(items) == 2) == ["ST,+540.2 g", "0.5\ufffd g"]
        (half,) = collected(port, until=lambda items: len(items) == 1)
        assert half == "54"
    assert not port.connected


@pytest.mark.parametrize("name", ["loop://", "/dev/no-such-port", "socket://localhost:1"])
def test_closing_ends_the_reading_and_more_than_once_does_no_harm(name):
    port = Port(ScaleProfile(port=name))
    port.close()
    port.close()
    port._thread.join(LONGEST_WAIT_S)
    assert not port._thread.is_alive()


def test_a_port_that_is_not_there_is_said_once(monkeypatch):
    tries, real = [], Port._open
    monkeypatch.setattr(Port, "_open", lambda port: (tries.append(port), real(port)))
    with Port(ScaleProfile(port="/dev/no-such-port")) as port:
        (trouble,) = collected(port, until=lambda items: len(items) == 1)
        assert trouble.what == "cable"
        assert trouble.said == "no scale at /dev/no-such-port: it is not there; trying again"
        until(lambda: len(tries) > 4)
        assert port.get() is None


def test_a_socket_is_a_port():
    with socket.create_server(("127.0.0.1", 0)) as server:
        number = server.getsockname()[1]
        with Port(ScaleProfile(port=f"socket://127.0.0.1:{number}")) as port:
            end, _ = server.accept()
            with end:
                until(lambda: port.connected)
                end.sendall(b"12.5 g\r\n")
                assert collected(port, until=lambda items: len(items) == 1) == ["12.5 g"]
            (gone,) = collected(port, until=lambda items: len(items) == 1)
            assert gone.what == "cable"
            again, _ = server.accept()
            with again:
                (back,) = collected(port, until=lambda items: len(items) == 1)
                assert back.said.endswith("is back")


def test_a_port_is_read_by_one_program_only():
    with SimulatedScale([]) as scale, Port(ScaleProfile(port=scale.port)) as first:
        until(lambda: first.connected)
        with Port(ScaleProfile(port=scale.port)) as second:
            (trouble,) = collected(second, until=lambda items: len(items) == 1)
            assert "another program" in trouble.said
            assert first.connected


def test_nobody_looking_loses_the_oldest():
    with SimulatedScale([]) as scale, Port(ScaleProfile(port=scale.port)) as port:
        until(lambda: port.connected)
        for i in range(1500):
            port._put(0.0, str(i))
        assert port.get() == (0.0, "500")


def test_a_cable_pulled_out_and_put_back():
    with SimulatedScale([]) as scale, Port(ScaleProfile(port=scale.port)) as port:
        until(lambda: port.connected)
        scale.write(b"1.0 g\r\n2.0")
        assert collected(port, until=lambda items: len(items) == 1) == ["1.0 g"]
        scale.pull_out()
        lost = collected(port, until=lambda items: len(items) == 1)
        assert lost[0].what == "cable"
        assert not port.connected
        scale.plug_in()
        collected(port, until=lambda items: any(item.said.endswith("is back") for item in items))
        scale.write(b" g\r\n3.0 g\r\n")
        assert collected(port, until=lambda items: len(items) == 2) == [" g", "3.0 g"]


def test_a_flood_is_thinned_to_its_newest():
    """Two thousand lines in a second."""
    with SimulatedScale([]) as scale, Port(ScaleProfile(port=scale.port), scale.now) as port:
        until(lambda: port.connected)
        items = []
        for i in range(0, 2000, 10):
            scale.send(b"".join(b"%d\n" % n for n in range(i, i + 10)), i * 0.0005)
            while (got := port.get()) is not None:
                items.append(got[1])
        while "1999" not in items:
            scale.send(b"", scale.now() + 0.1)
            while (got := port.get()) is not None:
                items.append(got[1])
    assert scale.lost_bytes == 0
    floods = [item for item in items if isinstance(item, Trouble)]
    assert {trouble.what for trouble in floods} == {"flood"}
    assert len(floods) <= 4
    assert len(items) < 600


# -- sessions


def test_eighty_loads_are_taken_eighty_times():
    rng = random.Random(8)
    loads = [round(rng.choice([3.2, 46.0, 112.1, 452.3, 538.4]) + rng.uniform(-1.5, 1.5), 1) for _ in range(80)]
    grams, troubles, off, _ = weighed(loads, seed=8, hold_s=0.3, empty_s=0.4, wait_for_lift=True, style="plain")
    assert grams == pytest.approx(loads, abs=0.1001)
    assert (troubles, off) == ([], 0)


def test_a_person_who_watches_the_display_alone():
    loads = [538.4, 538.4]
    grams, troubles, off, _ = weighed(loads, seed=2, hold_s=1.6, style="trailing", end=b"\r")
    assert grams == pytest.approx(loads, abs=0.1001)
    assert (troubles, off) == ([], 0)


def test_a_session_in_which_everything_goes_wrong():
    loads = [538.4, 112.1, 46.0, 171.2, 452.3, 41.0, 538.4]
    faults = {
        i: (name,) for i, name in enumerate(("garbage", "half", "unit", "overload", "negative", "flood", "cable"))
    }
    grams, troubles, off, scale = weighed(loads, seed=5, wait_for_lift=True, faults=faults)
    assert grams == pytest.approx(loads, abs=0.1001)
    assert {trouble.what for trouble in troubles} >= {"garbage", "unit", "overload", "flood", "cable"}
    assert off
    assert troubles[-1].said.endswith("is back")
    assert scale.lost_bytes == 0
