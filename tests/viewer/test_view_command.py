"""`ventroute view` from the outside."""

import json
import os
import re
import signal
import subprocess
import sys
import urllib.error
import urllib.request
from pathlib import Path

import fake
import pytest

RUN = [sys.executable, "-c", "from ventroute.cli.main import main; main()", "view"]


@pytest.fixture
def site_file(tmp_path):
    path = tmp_path / "birch.toml"
    path.write_text(fake.SITE, encoding="utf-8")
    return path


def test_a_file_that_is_not_there_is_one_message_and_status_2(tmp_path):
    done = subprocess.run([*RUN, str(tmp_path / "none.toml"), "--no-browser"], capture_output=True, text=True)
    assert done.returncode == 2
    assert "none.toml:1:" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_plan_without_its_site_is_one_message_and_status_2(tmp_path):
    path = tmp_path / "plan.json"
    path.write_text(
        json.dumps({"format": 1, "site": "x", "rules": "us-2021", "status": "none", "routes": [], "rejected": []})
    )
    done = subprocess.run([*RUN, str(path), "--no-browser"], capture_output=True, text=True)
    assert done.returncode == 2
    assert "site.toml" in done.stderr or "site file" in done.stderr
    assert "Traceback" not in done.stderr


def started(path):
    run = subprocess.Popen(
        [*RUN, str(path), "--no-browser"], stdout=subprocess.PIPE, text=True, cwd=Path(__file__).parents[2]
    )
    return run, run.stdout.readline().strip()


def ask(address, where, body):
    data = json.dumps(body).encode()
    request = urllib.request.Request(address + where, data, {"Content-Type": "application/json"})
    with urllib.request.urlopen(request, timeout=60) as reply:
        return json.load(reply)


def test_the_page_is_served_on_this_machine_alone_and_plans_for_real(site_file):
    run, address = started(site_file)
    try:
        assert re.fullmatch(r"http://127\.0\.0\.1:\d+/[\w-]{32,}/", address)
        with pytest.raises(urllib.error.HTTPError, match="403"):
            urllib.request.urlopen(re.sub(r"/[\w-]{32,}/", "/", address))
        opened = ask(address, "open", {})
        assert opened["ok"] is True
        assert opened["site"]["name"] == "Birch Row"
        answer = ask(address, "plan", {"text": opened["text"]})
        assert answer["ok"] is True
        assert answer["status"] in ("ok", "none")
        assert answer["glb"]
    finally:
        run.send_signal(signal.SIGINT)
        assert run.wait(timeout=20) == 0


@pytest.mark.skipif(
    not Path("/proc/net/tcp").exists() or os.name != "posix", reason="reads the kernel's list of sockets"
)
def test_nothing_listens_beyond_the_loopback(site_file):
    run, address = started(site_file)
    try:
        port = format(int(address.split(":")[2].split("/")[0]), "04X")
        rows = Path("/proc/net/tcp").read_text().splitlines()[1:] + Path("/proc/net/tcp6").read_text().splitlines()[1:]
        # column 1 is the local address, column 3 the state: 0A is listening; 0100007F is 127.0.0.1
        listening = [row.split()[1] for row in rows if row.split()[3] == "0A" and row.split()[1].endswith(":" + port)]
        assert listening == [f"0100007F:{port}"]
    finally:
        run.send_signal(signal.SIGINT)
        run.wait(timeout=20)
