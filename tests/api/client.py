"""Makes a client from the published document and runs a turnaround with it.

    python client.py PROGRAM

The generator has to understand the whole document without a warning, a type checker the client and
what is built on it, and the running service what the client sends.
"""

import os
import pathlib
import subprocess
import sys
import tempfile

import service

HERE = pathlib.Path(__file__).parent
DOCUMENT = HERE.parent.parent / "openapi" / "linkout.json"


def run(module: str, *arguments: str, **environment: str) -> None:
    """Runs a Python module that has to succeed."""
    command = [sys.executable, "-m", module, *arguments]
    subprocess.run(command, env={**os.environ, **environment}, check=True)


def main() -> None:
    (program,) = sys.argv[1:]
    with tempfile.TemporaryDirectory(prefix="linkout-client-") as folder:
        made = str(pathlib.Path(folder, "linkout_client"))
        run(
            "openapi_python_client",
            *("generate", "--fail-on-warning", "--meta", "none"),
            *("--path", str(DOCUMENT), "--config", str(HERE / "client.yml"), "--output-path", made),
        )
        cache = str(pathlib.Path(folder, "cache"))
        turnaround = str(HERE / "turnaround.py")
        run("mypy", "--cache-dir", cache, made, turnaround, MYPYPATH=folder)
        with service.running(program) as running:
            subprocess.run(
                [sys.executable, turnaround, running.address, service.LOGIN, service.PASSWORD],
                env={**os.environ, "PYTHONPATH": folder},
                check=True,
            )


if __name__ == "__main__":
    main()
