"""Who may look at the wall: other hosts, pages, methods, codes and keys."""

from __future__ import annotations

import base64
import secrets

import pytest
from asking import HOST, ask
from calling import call

from bench.command_line.wall_command import address_of, is_loopback, names_of
from bench.use_cases.errors import RefusedError
from bench.wall.guard import COOKIE, Doors
from bench.wall.pairing import KEY_LASTS_S, LOCK_S, TRIES, TRIES_OF_ALL, Pairing
from bench.wall.server import wall_app

PATHS = [
    "/",
    "/wall.js",
    "/wall.css",
    "/pair.js",
    "/pair",
    "/moments",
    "/nothing",
    "/../settings.toml",
    "//",
    "/%2e%2e/",
]


class Told:
    """A clock that is set, and the code that the bench shows."""

    def __init__(self) -> None:
        self.now = 1000.0
        self.codes: list[str] = []
        self.pairing = Pairing(clock=lambda: self.now, on_code=self.codes.append)
        self.app = wall_app(lambda: None, Doors(frozenset({HOST}), self.pairing))

    @property
    def code(self) -> str:
        return self.codes[-1]

    def pair(self, code: str, **more: str) -> int:
        return ask(self.app, "/pair", method="POST", body=code.encode(), **more).status


@pytest.fixture
def told() -> Told:
    return Told()


class TestFromThisComputerOnly:
    @pytest.fixture
    def app(self) -> object:
        return wall_app(lambda: None, Doors(frozenset({HOST})))

    @pytest.mark.parametrize(
        "host",
        ["evil.example", "evil.example:8321", "192.168.7.4", "192.168.7.4:80", "", "192.168.7.4:8321.evil.example"],
    )
    def test_a_name_that_only_points_here_is_refused(self, app, host: str) -> None:
        assert {ask(app, path, headers={"host": host}).status for path in PATHS} == {421}

    @pytest.mark.parametrize(
        "origin", ["http://evil.example", "null", "https://192.168.7.4:8321", f"http://{HOST}.evil.example"]
    )
    def test_another_page_is_refused(self, app, origin: str) -> None:
        assert {ask(app, path, headers={"origin": origin}).status for path in PATHS} == {403}

    @pytest.mark.parametrize("site", ["cross-site", "same-site"])
    def test_a_request_that_another_page_caused_is_refused(self, app, site: str) -> None:
        assert ask(app, "/", headers={"sec-fetch-site": site}).status == 403

    def test_its_own_page_is_answered(self, app) -> None:
        own = {"origin": f"http://{HOST}", "sec-fetch-site": "same-origin"}
        assert ask(app, "/", headers=own).status == 200

    @pytest.mark.parametrize(
        "method", ["POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT", "HEAD", "MKCOL"]
    )
    def test_nothing_can_be_asked_of_the_bench(self, app, method: str) -> None:
        for path in PATHS:
            assert ask(app, path, method=method).status in ({404, 405} if path == "/pair" else {405})

    def test_a_web_socket_is_closed(self, app) -> None:
        assert ask(app, "/moments", kind="websocket").status == 1008

    @pytest.mark.parametrize("path", PATHS[:5])
    def test_every_answer_carries_the_policy(self, app, path: str) -> None:
        answer = ask(app, path)
        policy = answer.headers["content-security-policy"]
        assert policy.startswith("default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self';")
        assert "unsafe" not in policy
        assert "*" not in policy
        assert answer.headers["cache-control"] == "no-store"
        assert answer.headers["x-frame-options"] == "DENY"
        assert "access-control-allow-origin" not in answer.headers


class TestFromOtherMachines:
    @pytest.mark.parametrize("key", [None, "", "x" * 43, "\x7f;;==", "a" * 9000])
    def test_without_a_key_nothing_is_shown(self, told: Told, key: str | None) -> None:
        headers = {} if key is None else {"cookie": f"{COOKIE}={key}"}
        seen = {ask(told.app, path, headers=headers).status for path in ("/", "/moments", "/wall.js", "/nothing")}
        assert seen == {401}

    def test_the_code_lets_one_screen_in_once(self, told: Told) -> None:
        code = told.code
        answer = ask(told.app, "/pair", method="POST", body=code.encode())
        assert answer.status == 200
        assert {"HttpOnly", "Path=/", "SameSite=strict", f"Max-Age={int(KEY_LASTS_S)}"} <= set(
            answer.headers["set-cookie"].split("; ")
        )
        cookie = {"cookie": f"other=1; {COOKIE}={answer.key}"}
        assert ask(told.app, "/", headers=cookie).status == 200
        assert told.pair(code) == 403
        assert told.code != code

    def test_codes_and_keys_are_long_and_random(self, told: Told) -> None:
        # at least 128 bits each
        assert len(base64.urlsafe_b64decode(told.code)) * 8 >= 128
        key = told.pairing.pair("a", told.code)
        assert key is not None
        assert len(base64.urlsafe_b64decode(key + "=")) * 8 >= 128
        for _ in range(200):
            told.pairing.renew()
        assert len(set(told.codes)) == len(told.codes)

    def test_a_key_lasts_twelve_hours(self, told: Told) -> None:
        key = told.pairing.pair("a", told.code)
        assert key is not None
        told.now += 12 * 3600 - 1
        assert told.pairing.knows(key)
        told.now += 1
        assert not told.pairing.knows(key)

    def test_a_code_that_nobody_used_lasts_twelve_hours(self, told: Told) -> None:
        told.now += 12 * 3600
        assert told.pair(told.code) == 403

    def test_a_thousand_tries_get_nowhere(self, told: Told) -> None:
        tries = [secrets.token_urlsafe(24) for _ in range(400)]
        tries += [told.code[:-1], told.code + "A", told.code.swapcase(), "", "\0", told.code[::-1]] * 100
        assert len(tries) == 1000
        seen = [told.pair(one, client=f"192.168.7.{n % 250}") for n, one in enumerate(tries)]
        assert 200 not in seen
        assert seen.count(403) == TRIES_OF_ALL
        assert set(seen[TRIES_OF_ALL:]) == {429}
        # after that the right code does not help either, until the wall is started again
        assert told.pair(told.code) == 429

    def test_an_address_is_locked_out_for_a_while_and_others_are_not(self, told: Told) -> None:
        for _ in range(TRIES):
            assert told.pair("wrong", client="192.168.7.66") == 403
        assert told.pair(told.code, client="192.168.7.66") == 429
        assert told.pair(told.code, client="192.168.7.67") == 200
        told.now += LOCK_S
        assert told.pair("wrong", client="192.168.7.66") == 403
        assert told.pair(told.code, client="192.168.7.66") == 200

    def test_a_long_body_is_no_code(self, told: Told) -> None:
        assert told.pair("x" * 100_000) == 413

    def test_a_guessed_key_among_many(self, told: Told) -> None:
        keys = [told.pairing.pair("a", told.code) for _ in range(40)]
        assert not told.pairing.knows(str(keys[0]))  # only so many screens at a time
        assert told.pairing.knows(str(keys[-1]))
        assert not any(told.pairing.knows(secrets.token_urlsafe(32)) for _ in range(1000))


class TestTheCommand:
    @pytest.mark.parametrize("host", ["0.0.0.0", "192.168.7.4", "[::]", "10.0.0.3:9000", "203.0.113.5"])
    def test_beyond_this_computer_it_needs_pairing(self, host: str, tmp_path, monkeypatch, capsys) -> None:
        monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path))
        assert call("wall", "--listen", host) == 2
        assert "without pairing" in capsys.readouterr().err

    def test_a_port_that_is_taken(self, tmp_path, monkeypatch, capsys) -> None:
        import socket

        monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path))
        with socket.create_server(("127.0.0.1", 0)) as other:
            assert call("wall", "--listen", f"127.0.0.1:{other.getsockname()[1]}") == 3
        assert "cannot be had" in capsys.readouterr().err

    @pytest.mark.parametrize(
        ("given", "found"),
        [
            ("127.0.0.1", ("127.0.0.1", 8321)),
            ("localhost:9000", ("127.0.0.1", 9000)),
            ("192.168.7.4:0", ("192.168.7.4", 0)),
            ("[::1]:9000", ("::1", 9000)),
            ("[::1]", ("::1", 8321)),
            ("::1", ("::1", 8321)),
        ],
    )
    def test_addresses(self, given: str, found: tuple[str, int]) -> None:
        assert address_of(given) == found

    @pytest.mark.parametrize(
        "given", ["", ":80", "shop", "127.0.0.1:x", "127.0.0.1:99999", "http://127.0.0.1", "1.2.3"]
    )
    def test_what_is_no_address(self, given: str) -> None:
        with pytest.raises(RefusedError) as caught:
            address_of(given)
        assert caught.value.of_settings

    def test_names_that_screens_may_use(self) -> None:
        assert is_loopback("127.0.0.1")
        assert not is_loopback("0.0.0.0")
        assert names_of("127.0.0.1", 8321, []) == ["127.0.0.1:8321", "localhost:8321", "[::1]:8321"]
        assert names_of("192.168.7.4", 80, ["Bench.shop"]) == [
            "bench.shop:80",
            "192.168.7.4:80",
            "bench.shop",
            "192.168.7.4",
        ]
        assert "127.0.0.1:9" in names_of("0.0.0.0", 9, [])
