"""Who is let in: codes that last five minutes, work once and cannot be guessed; devices in a private file."""

from __future__ import annotations

import stat
from concurrent.futures import ThreadPoolExecutor

import pytest

from truethrow.balance.base.errors import BadInput
from truethrow.cli.floor import devices
from truethrow.cli.floor.devices import Codes, Devices, Refused
from truethrow.worksheets.words import server_words as words


class Clock:
    def __init__(self):
        self.at_s = 0.0

    def __call__(self):
        return self.at_s


def used(codes, *typed):
    with codes.use(*typed) as role:
        return role


def test_a_code_works_once():
    codes = Codes()
    code = codes.new("bench")
    assert used(codes, code) == "bench"
    with pytest.raises(Refused, match="wrong, used or too old"):
        used(codes, code)


def test_a_code_that_came_to_nothing_is_as_good_as_before():
    codes = Codes()
    code = codes.new("bench")
    with pytest.raises(OSError, match="disk full"), codes.use(code):
        raise OSError("disk full")
    assert used(codes, code) == "bench"


def test_of_many_that_use_a_code_at_once_one_is_let_in(tmp_path):
    codes, kept = Codes(), Devices(tmp_path / "devices.json")
    code = codes.new("bench")

    def let_in(number):
        try:
            with codes.use(code, f"192.0.2.{number}") as role:
                return kept.let_in(role, "AB")
        except Refused:
            return None

    with ThreadPoolExecutor(8) as pool:
        assert len([one for one in pool.map(let_in, range(8)) if one]) == 1
    assert len(kept.all) == 1


def test_a_code_is_read_as_a_hand_types_it():
    codes = Codes()
    code = codes.new("viewer")
    assert used(codes, f" {code[:4].lower()}-{code[4:]} ") == "viewer"


def test_a_code_lasts_five_minutes():
    clock = Clock()
    codes = Codes(clock)
    first, late = codes.new("bench"), codes.new("builder")
    clock.at_s = devices.LASTS_S - 1
    assert used(codes, first) == "bench"
    clock.at_s = devices.LASTS_S
    with pytest.raises(Refused):
        used(codes, late)


def test_a_thousand_guesses_from_one_address_are_hopeless():
    """The thousand and first is the right one, and is refused."""
    codes = Codes()
    code = codes.new("bench")
    said = set()
    for number in range(1000):
        with pytest.raises(Refused) as refused:
            used(codes, f"{number:08d}", "192.0.2.9")
        said.add(str(refused.value))
    assert said == {words.WRONG_CODE, words.TOO_MANY_GUESSES}
    with pytest.raises(Refused, match="too many wrong codes from this device"):
        used(codes, code, "192.0.2.9")


def test_whoever_guesses_stops_nobody_else():
    codes = Codes()
    code, other = codes.new("bench"), codes.new("viewer")
    for number in range(1000):
        with pytest.raises(Refused):
            used(codes, f"{number:08d}", "192.0.2.9")
    assert used(codes, code, "192.0.2.10") == "bench"
    assert used(codes, other, "127.0.0.1") == "viewer"
    assert used(codes, codes.new("bench"), "192.0.2.9") == "bench"  # a new code forgets what was guessed


def test_guesses_from_all_over_void_every_code_before_one_is_found():
    """From each address fewer than it may, so that only their sum tells. Codes are drawn evenly of 31^8
    (secrets.choice of 31 letters, eight times), so the chance that one of n guesses hits one of c codes is at most
    c n / 31^8 (the union bound)."""
    codes = Codes()
    code = codes.new("bench")
    for number in range(devices.MOST_OF_ALL):
        with pytest.raises(Refused):
            used(codes, f"{number:08d}", f"198.51.100.{number // (devices.MOST_GUESSES - 1)}")
    with pytest.raises(Refused, match="all codes are void now"):
        used(codes, code, "192.0.2.10")
    assert used(codes, codes.new("bench"), "192.0.2.10") == "bench"
    each = (len(set(devices.LETTERS)), devices.CODE_LENGTH)
    assert each == (31, 8)
    assert devices.MOST_CODES * 1000 / 31**8 < 1e-7
    assert devices.MOST_CODES * devices.MOST_OF_ALL / 31**8 < 1e-6
    assert devices.MOST_OF_ALL >= 100 * devices.MOST_GUESSES


def test_codes_differ_and_have_no_letters_that_look_alike():
    codes = Codes()
    made = {codes.new("bench") for _ in range(500)}
    assert len(made) == 500
    assert not {*"".join(made)} & {*"01ILO"}


def test_a_device_is_known_by_its_key_until_it_is_turned_out(tmp_path):
    path = tmp_path / "own" / "devices.json"
    kept = Devices(path)
    device, key = kept.let_in("bench", " AB ")
    assert (device.role, device.initials) == ("bench", "AB")
    assert Devices(path).of_key(key) == device
    assert kept.of_key(key + "x") is None
    assert kept.of_key("") is None
    assert kept.turn_out(device.id)
    assert not kept.turn_out(device.id)
    assert Devices(path).of_key(key) is None


def test_the_file_is_private_and_holds_no_key(tmp_path, monkeypatch):
    monkeypatch.setenv("TRUETHROW_SHARED", "1")
    path = tmp_path / "devices.json"
    _, key = Devices(path).let_in("bench", "AB")
    _, other = Devices(path).let_in("viewer", "CD")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    text = path.read_text(encoding="utf-8")
    assert key not in text
    assert other not in text
    assert len(Devices(path).all) == 2


def test_a_device_that_one_floor_turns_out_comes_in_at_no_other(tmp_path):
    """Two floors of one computer have one file; the other's next pairing does not write the device back."""
    path = tmp_path / "devices.json"
    one, other = Devices(path), Devices(path)
    device, key = one.let_in("bench", "AB")
    assert other.of_key(key) == device
    assert one.turn_out(device.id)
    assert other.of_key(key) is None
    _, later = other.let_in("bench", "CD")
    assert [each.initials for each in Devices(path).all] == ["CD"]
    assert one.of_key(key) is None
    assert one.of_key(later).initials == "CD"


def test_two_floors_that_let_in_at_once_lose_nobody(tmp_path):
    path = tmp_path / "devices.json"

    def let_ten_in(kept):
        return [kept.let_in("bench", "AB")[1] for _ in range(10)]

    with ThreadPoolExecutor(4) as pool:
        keys = [key for made in pool.map(let_ten_in, [Devices(path) for _ in range(4)]) for key in made]
    assert len(Devices(path).all) == 40
    assert all(Devices(path).of_key(key) for key in keys)


def test_while_the_file_cannot_be_read_nobody_is_known_and_nothing_is_overwritten(tmp_path):
    path = tmp_path / "devices.json"
    kept = Devices(path)
    device, key = kept.let_in("bench", "AB")
    whole = path.read_text(encoding="utf-8")
    path.write_text("{", encoding="utf-8")
    assert kept.of_key(key) is None
    for change in (lambda: kept.let_in("bench", "CD"), lambda: kept.turn_out(device.id)):
        with pytest.raises(BadInput, match="is no list of devices"):
            change()
    assert path.read_text(encoding="utf-8") == "{"
    path.write_text(whole, encoding="utf-8")
    assert kept.of_key(key) == device


def test_when_a_device_was_seen_is_kept_with_the_next_change(tmp_path, monkeypatch):
    path = tmp_path / "devices.json"
    kept = Devices(path)
    _, key = kept.let_in("bench", "AB")
    monkeypatch.setattr(devices, "_now", lambda: "2099-01-01T00:00:00+00:00")
    monkeypatch.setattr(devices, "SEEN_EVERY_S", -1.0)
    kept.of_key(key)
    kept.let_in("bench", "CD")
    assert Devices(path).of_key(key).seen == "2099-01-01T00:00:00+00:00"


def test_a_file_that_was_only_made_to_be_held_has_nobody(tmp_path):
    path = tmp_path / "devices.json"
    path.touch()
    assert Devices(path).all == ()


@pytest.mark.parametrize("initials", ["", "  ", "A" * 13, "A\nB", "-", "?"])
def test_initials_have_to_be_somebodys(tmp_path, initials):
    with pytest.raises(Refused):
        Devices(tmp_path / "devices.json").let_in("bench", initials)
    assert not (tmp_path / "devices.json").exists()


@pytest.mark.parametrize(
    "text", ["{}", '{"devices": [{}]}', '{"devices": 3}', '{"devices": [{"id": "a", "role": "king"}]}']
)
def test_a_file_that_is_none_is_told(tmp_path, text):
    path = tmp_path / "devices.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match="is no list of devices"):
        Devices(path)
