"""Every fault of a site file comes at once, with its line, its key and what is wanted."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from tests.badsites.cases import CASES, DRAIN, GOOD
from ventroute.errors import InputError
from ventroute.io.site_file import read_site, read_site_text


def _faults(text: str) -> tuple[object, ...]:
    with pytest.raises(InputError) as caught:
        read_site_text(text, "house.toml", Path(__file__).parent)
    return caught.value.faults


def test_the_file_that_is_spoilt_is_good_to_begin_with():
    site = read_site_text(GOOD, "house.toml", Path(__file__).parent)
    assert [room.name for room in site.rooms] == ["utility", "attic"]


def test_there_are_sixty_and_more():
    assert len(CASES) >= 60
    assert len({case.name for case in CASES}) == len(CASES)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_fault_names_line_key_and_what_is_wanted(case):
    assert case.old in GOOD, "nothing to spoil"
    text = case.text
    line = case.line
    found = _faults(text)
    matching = [fault for fault in found if (fault.line, fault.key) == (line, case.key) and case.words in fault.what]
    assert matching, f"wanted {line}: {case.key}: {case.words}, got\n" + "\n".join(map(str, found))
    for fault in found:
        assert re.match(rf"house\.toml:{fault.line}: [^ :]+: .", str(fault))
        assert 1 <= fault.line <= text.count("\n") + 1
        assert str(fault).isprintable()
        assert len(str(fault)) < 600


def test_one_mistake_makes_one_fault():
    # A person mends what is named first; what follows from it is noise. A renamed table is two faults, one table lost
    # and one unknown; a renamed room is lost to the hole that leads to it.
    noisy = {case.name for case in CASES if len(_faults(case.text)) > 1}
    assert noisy == {
        "place missing", "building missing", "appliance missing", "rooms of one name", "a room named outdoors",
    }  # fmt: skip


def test_all_faults_come_at_once_in_order_of_line():
    text = GOOD
    for old, new in (("grade = 0", "grade = nan"), ('"6 in"', '"6 inn"'), ("cost = 45", "cost = -1"), ("up", "upp")):
        text = text.replace(old, new, 1)
    found = _faults(text)
    assert [fault.key for fault in found] == ["place.grade", "hole[1].axis", "hole[1].clear", "cut[1].cost"]
    assert [fault.line for fault in found] == sorted(fault.line for fault in found)


# Whole files


def _file_faults(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_site(path)
    return str(caught.value)


def test_no_such_file(tmp_path):
    assert re.match(r".*house\.toml:1: file: cannot be read: No such file", _file_faults(tmp_path / "house.toml"))


def test_a_folder_is_no_file(tmp_path):
    assert ":1: file: cannot be read:" in _file_faults(tmp_path)


def test_latin_1_is_named_with_its_line(tmp_path):
    (tmp_path / "a.toml").write_bytes(GOOD.replace("Birch", "B\u00edrch").encode("latin-1"))
    assert ":2: file: byte 0xed is not UTF-8" in _file_faults(tmp_path / "a.toml")


def test_utf_16_is_not_utf_8(tmp_path):
    (tmp_path / "a.toml").write_bytes(GOOD.encode("utf-16"))
    assert ":1: file: byte 0xff is not UTF-8" in _file_faults(tmp_path / "a.toml")


def test_a_mark_of_byte_order_is_stepped_over(tmp_path):
    (tmp_path / "a.toml").write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert read_site(tmp_path / "a.toml").name == "Birch Row basement"


def test_carriage_returns_do_not_shift_lines(tmp_path):
    (tmp_path / "a.toml").write_bytes(GOOD.replace("cost = 45", "cost = -45").replace("\n", "\r\n").encode())
    line = GOOD[: GOOD.index("cost = 45")].count("\n") + 1
    assert f":{line}: cut[1].cost" in _file_faults(tmp_path / "a.toml")


def test_fifty_megabytes_are_refused_without_reading_them(tmp_path):
    with (tmp_path / "a.toml").open("wb") as file:
        file.truncate(50_000_000)
    assert ":1: file: larger than 2 MB" in _file_faults(tmp_path / "a.toml")


def test_an_empty_file_lacks_everything(tmp_path):
    (tmp_path / "a.toml").write_bytes(b"")
    said = _file_faults(tmp_path / "a.toml")
    for key in ("format", "name", "place", "building", "room", "appliance"):
        assert f":1: {key}: missing" in said


def test_bytes_without_sense(tmp_path):
    (tmp_path / "a.toml").write_bytes(bytes(range(128)))
    assert "not TOML" in _file_faults(tmp_path / "a.toml")


def test_too_many_tables(tmp_path):
    (tmp_path / "a.toml").write_text(GOOD + '[[keep_out]]\nname = "x"\n' * 5001)
    assert "more than 5000 tables" in _file_faults(tmp_path / "a.toml")


def test_a_link_out_of_the_folder_is_not_followed(tmp_path):
    (tmp_path / "house").mkdir()
    (tmp_path / "secret.glb").write_bytes(b"x")
    os.symlink(tmp_path / "secret.glb", tmp_path / "house" / "scan.glb")
    text = GOOD.replace(DRAIN, 'mesh = "scan.glb"')
    (tmp_path / "house" / "a.toml").write_text(text)
    line = text[: text.index("mesh =")].count("\n") + 1
    assert f":{line}: obstacle[2].mesh" in (said := _file_faults(tmp_path / "house" / "a.toml"))
    assert "a link out of the site file's folder" in said


def test_a_folder_linked_out_is_not_followed(tmp_path):
    (tmp_path / "house").mkdir()
    (tmp_path / "scan.glb").write_bytes(b"x")
    os.symlink(tmp_path, tmp_path / "house" / "up")
    (tmp_path / "house" / "a.toml").write_text(GOOD.replace(DRAIN, 'mesh = "up/scan.glb"'))
    assert "a link out of the site file's folder" in _file_faults(tmp_path / "house" / "a.toml")
