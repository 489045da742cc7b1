"""The work page's server lets in only this machine, with the address, from its own page."""

import json

import anyio
import fake
import pytest
from starlette.testclient import TestClient
from ventroute.viewer.guard import LARGEST_BODY
from ventroute.viewer.server import digest, make_app, make_page_app, new_token

TOKEN = "secret-token"
AT = f"/{TOKEN}/"


@pytest.fixture
def site_file(tmp_path):
    path = tmp_path / "house" / "birch.toml"
    path.parent.mkdir()
    path.write_text(fake.SITE, encoding="utf-8")
    (tmp_path / "secret.txt").write_text("nobody's business")
    (path.parent / "other.toml").write_text("also private")
    return path


@pytest.fixture
def planned():
    return []


@pytest.fixture
def client(site_file, planned):
    def plan_text(text):
        planned.append(text)
        return {"ok": True, "routes": []}

    app = make_app(site_file, plan_text, look_text=fake.look_text, token=TOKEN)
    return TestClient(app, base_url="http://127.0.0.1:8000")


def post(client, where, body, **headers):
    return client.post(AT + where, content=json.dumps(body), headers={"Content-Type": "application/json", **headers})


def test_with_the_address_the_page_opens(client):
    reply = client.get(AT)
    assert reply.status_code == 200
    assert "birch.toml" in reply.text
    for name in ("app.js", "page.css", "work.css"):
        assert client.get(AT + name).status_code == 200


@pytest.mark.parametrize(
    "path", ["/", "/wrong/", "/secret-token", "/secret-toke/", "/secret-token-and-more/", "//", "/é/"]
)
def test_without_the_token_nothing_is_given(client, path):
    reply = client.get(path)
    assert reply.status_code == 403
    assert "birch" not in reply.text


def test_a_token_is_long_and_never_twice_the_same():
    assert len({new_token() for _ in range(50)}) == 50
    assert len(new_token()) >= 32  # 24 random bytes: 192 bits


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "0.0.0.0", "10.0.0.5:8000", "", "a@[", "[::1"]
)
def test_another_host_is_refused_so_that_no_name_can_be_pointed_here(client, host):
    assert client.get(AT, headers={"Host": host}).status_code == 400
    assert post(client, "open", {}, Host=host).status_code == 400


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1:8000", "http://127.0.0.1:8001"])
def test_a_page_of_another_origin_cannot_ask(client, origin):
    assert post(client, "open", {}, Origin=origin).status_code == 403


def test_the_pages_own_origin_may_ask(client):
    assert post(client, "open", {}, Origin="http://127.0.0.1:8000").status_code == 200


def test_a_request_that_the_browser_says_is_cross_site_is_refused(client):
    assert client.get(AT, headers={"Sec-Fetch-Site": "cross-site"}).status_code == 403
    assert client.get(AT, headers={"Sec-Fetch-Site": "none"}).status_code == 200


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", ""])
def test_only_json_is_taken(client, kind):
    assert client.post(AT + "open", content="{}", headers={"Content-Type": kind}).status_code == 415


@pytest.mark.parametrize(
    "path",
    [
        "../secret.txt",
        "..%2fsecret.txt",
        "%2e%2e/secret.txt",
        "other.toml",
        "birch.toml",
        "static/app.js",
        "....//x",
        "app.js/..",
    ],
)
def test_no_file_but_the_pages_own_is_given(client, path):
    reply = client.get(AT + path)
    assert reply.status_code in (403, 404)
    assert "business" not in reply.text
    assert "private" not in reply.text


@pytest.mark.parametrize(
    "body", ["", "{", "[]", "7", '"x"', "\xff", "[" * 100_000, '{"text": 5}', '{"text": "\\ud800"}']
)
def test_what_is_not_a_message_is_refused(client, body):
    for where in ("edit", "plan", "save"):
        reply = client.post(AT + where, content=body.encode("latin-1"), headers={"Content-Type": "application/json"})
        assert reply.status_code == 400


def test_too_large_a_message_is_refused_whether_announced_or_not(client):
    big = "x" * (LARGEST_BODY + 10)
    assert post(client, "plan", {"text": big}).status_code == 413

    def pieces():
        for _ in range(8):
            yield b"x" * (LARGEST_BODY // 6)

    reply = client.post(AT + "plan", content=pieces(), headers={"Content-Type": "application/json"})
    assert reply.status_code == 413
    assert post(client, "plan", {"text": "x" * 2_000_001}).status_code == 400


def test_a_content_length_that_is_no_number_is_refused(client):
    reply = client.post(
        AT + "open", content="{}", headers={"Content-Type": "application/json", "Content-Length": "1e3"}
    )
    assert reply.status_code == 413


def test_every_answer_carries_the_protective_headers(client):
    for reply in (client.get(AT), client.get("/wrong/"), client.get(AT + "nothing"), post(client, "open", {})):
        assert reply.headers["x-content-type-options"] == "nosniff"
        assert reply.headers["referrer-policy"] == "no-referrer"
        assert "default-src 'none'" in reply.headers["content-security-policy"]
        assert reply.headers["x-frame-options"] == "DENY"
        assert "access-control-allow-origin" not in reply.headers


def test_a_change_comes_back_as_text_and_nothing_is_written(client, site_file):
    change = {"op": "set", "path": ["hole", 0, "clear"], "value": "5 in"}
    reply = post(client, "edit", {"text": fake.SITE, "ops": [change]})
    assert reply.json()["text"] == fake.SITE.replace('clear = "6 in" ', 'clear = "5 in" ')
    assert reply.json()["site"]["holes"][0]["clear_m"] == pytest.approx(0.127)  # 5 in
    assert site_file.read_text() == fake.SITE


def test_a_change_that_makes_no_sense_changes_nothing(client):
    assert (
        post(client, "edit", {"text": fake.SITE, "ops": [{"op": "remove", "table": "room", "index": 9}]}).status_code
        == 422
    )
    assert post(client, "edit", {"text": fake.SITE, "ops": "x"}).status_code == 400


def test_a_text_with_faults_says_at_which_line(client):
    reply = post(client, "edit", {"text": fake.SITE.replace('"6 in" ', '"6 inn" '), "ops": []}).json()
    assert reply["ok"] is False
    line = fake.SITE.splitlines().index('clear = "6 in"            # measured twice') + 1
    assert [(fault["line"], fault["key"]) for fault in reply["faults"]] == [(line, "hole[1].clear")]


def test_saving_writes_the_text_as_it_is(client, site_file):
    text = fake.SITE.replace("Birch Row", "Alder Row")
    reply = post(client, "save", {"text": text, "base": digest(fake.SITE)})
    assert reply.json() == {"base": digest(text)}
    assert site_file.read_text() == text


def test_text_that_is_not_toml_is_never_saved(client, site_file):
    assert post(client, "save", {"text": "[[[", "base": digest(fake.SITE)}).status_code == 422
    assert site_file.read_text() == fake.SITE


def test_of_two_pages_the_second_is_told_that_the_file_has_changed(client, site_file):
    base = post(client, "open", {}).json()["base"]
    first, second = fake.SITE + "# first\n", fake.SITE + "# second\n"
    assert post(client, "save", {"text": first, "base": base}).status_code == 200
    reply = post(client, "save", {"text": second, "base": base})
    assert reply.status_code == 409
    assert site_file.read_text() == first
    assert post(client, "save", {"text": second, "base": reply.json()["base"]}).status_code == 200


def test_the_same_text_is_planned_once(client, planned):
    for _ in range(3):
        assert post(client, "plan", {"text": fake.SITE}).status_code == 200
    assert planned == [fake.SITE]


def test_two_pages_asking_at_once_each_get_their_own_answer(site_file):
    import time

    import httpx

    def slowly(text):
        time.sleep(0.2)
        return {"ok": True, "said": text[:20]}

    app = make_app(site_file, slowly, token=TOKEN)

    async def ask(client, text, kept):
        reply = await client.post(AT + "plan", json={"text": text})
        kept.append((text[:20], reply.json()["said"]))

    async def both():
        kept = []
        transport = httpx.ASGITransport(app=app)
        async with (
            httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1") as client,
            anyio.create_task_group() as group,
        ):
            for n in range(4):
                group.start_soon(ask, client, f"text {n}", kept)
        return kept

    kept = anyio.run(both)
    assert len(kept) == 4
    assert all(asked == said for asked, said in kept)


def test_a_file_that_has_gone_is_an_answer_not_a_crash(client, site_file):
    site_file.unlink()
    assert post(client, "open", {}).status_code == 409


def test_a_finished_report_is_served_under_the_same_guard():
    client = TestClient(make_page_app(b"<!doctype html>report", token=TOKEN), base_url="http://localhost:9")
    assert client.get(AT).text.endswith("report")
    assert client.get("/").status_code == 403
    assert client.get(AT, headers={"Host": "evil.example"}).status_code == 400
