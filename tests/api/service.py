"""The service as people run it, on a throwaway database, with one example of everything in it."""

import contextlib
import os
import pathlib
import socket
import subprocess
import tempfile
import time

import httpx

LOGIN = "desk"
PASSWORD = "seven copper kettles"
ROLES = ("lead", "crew", "official", "marshal", "program")


class Service:
    """A running service, and who is signed in to it."""

    def __init__(self, address: str) -> None:
        self.address = address
        signed = self.post("/api/v1/sessions", {"login": LOGIN, "password": PASSWORD})
        self.account: str = signed["token"]

    def post(self, path: str, body: object, token: str | None = None) -> dict:
        """Posts a document that has to be taken."""
        answer = self.try_to_post(path, body, token)
        if not answer.is_success:
            raise SystemExit(f"POST {path}: {answer.status_code} {answer.text}")
        return answer.json()

    def try_to_post(self, path: str, body: object, token: str | None = None) -> httpx.Response:
        """Posts a document."""
        headers = {"authorization": f"Bearer {token}"} if token else {}
        return httpx.post(self.address + path, json=body, headers=headers, timeout=60)

    def get(self, path: str, token: str | None = None) -> httpx.Response:
        """Reads."""
        headers = {"authorization": f"Bearer {token}"} if token else {}
        return httpx.get(self.address + path, headers=headers, timeout=60)

    def found(self, name: str) -> str:
        """Founds an event."""
        body = {
            "name": name,
            "time_zone": "Europe/London",
            "first_day": "2027-01-15",
            "last_day": "2027-01-17",
        }
        return self.post("/api/v1/events", body, self.account)["id"]

    def door(self, event: str, role: str, team: str | None) -> str:
        """Makes a join code that anybody may use."""
        body = {"role": role, "team": team}
        return self.post(f"/api/v1/events/{event}/join-codes", body, self.account)["code"]

    def join(self, event: str, role: str, team: str | None, name: str | None) -> str:
        """Lets somebody in, and returns their token."""
        body = {"code": self.door(event, role, team), "name": name}
        return self.post("/api/v1/sessions/join", body)["token"]


@contextlib.contextmanager
def running(program: str):
    """Starts the program in a folder of its own, and ends it."""
    with tempfile.TemporaryDirectory(prefix="linkout-api-") as folder:
        # The database server runs as another account when the tests run as root.
        os.chmod(folder, 0o711)
        # Sanitised of whatever would make it serve something that is not thrown away.
        environment = {
            name: value
            for name, value in os.environ.items()
            if name not in ("DATABASE_URL", "LINKOUT_TOKEN_KEY", "PORT")
        }
        environment["LINKOUT_DATA"] = folder
        environment["RUST_LOG"] = "warn"
        subprocess.run(
            [program, "organiser", "add", "--login", LOGIN],
            input=PASSWORD.encode(),
            env=environment,
            stdout=subprocess.DEVNULL,
            check=True,
        )
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        log = pathlib.Path(folder, "log")
        with log.open("wb") as written:
            process = subprocess.Popen(
                [program, "serve", "--listen", "127.0.0.1", "--port", str(port)],
                env=environment,
                stdin=subprocess.DEVNULL,
                stdout=written,
                stderr=written,
            )
        try:
            address = f"http://127.0.0.1:{port}"
            wait_for(process, address, log)
            yield Service(address)
            if process.poll() is not None:
                raise SystemExit(f"the service ended by itself\n{log.read_text()[-4000:]}")
        finally:
            process.terminate()
            process.wait(timeout=60)


def wait_for(process: subprocess.Popen, address: str, log: pathlib.Path) -> None:
    """Waits until the service answers."""
    begun = time.monotonic()
    while True:
        try:
            httpx.get(f"{address}/healthz").raise_for_status()
            return
        except httpx.HTTPError as cause:
            if process.poll() is not None or time.monotonic() - begun > 60:
                raise SystemExit(f"the service does not start: {cause}\n{log.read_text()}")
        time.sleep(0.05)
