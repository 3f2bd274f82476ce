"""Asks the service everything the published document allows, and much that it does not.

    python hostile.py PROGRAM

Every check of schemathesis, with sign-in, over the whole document, as the organiser's account; lines
as a team's lead too, since the organiser may not write most of them. What else than success may
answer what the document allows stands in `hostile.toml`, with the reason. What is asked follows from the
seed there; another one, or more examples, by options of schemathesis after the program.
"""

import json
import os
import pathlib
import subprocess
import sys
import tempfile

import examples
import service

HERE = pathlib.Path(__file__).resolve().parent
# The organiser may not write most lines, so those are handed in as a team's lead too.
TURNS = {
    "organiser": [],
    "lead": [
        "--include-operation-id=hand_in_lines",
        "--include-operation-id=empty_outbox",
    ],
}


def settings(event: str, ids: dict[str, list[str]], code: str) -> str:
    """The settings with the ids that exist: most addresses lead somewhere."""
    text = f"hooks = {json.dumps(str(HERE / 'hooks.py'))}\n" + (HERE / "hostile.toml").read_text()
    ids = {**ids, "part_type": ids["part"], "code": [code]}
    for noun, known in ids.items():
        text += f"\n[dictionaries.{noun}]\nvalues = {json.dumps(known)}\n"
    text += "\n[parameters]\n"
    text += f'"path.event" = "{event}"\n'
    for noun in ids:
        for place in ("path", "body"):
            text += f'"{place}.{noun}" = {{ dictionary = "{noun}", probability = 0.8 }}\n'
    return text


def main() -> int:
    program, *more = sys.argv[1:]
    with service.running(program) as running, tempfile.TemporaryDirectory() as folder:
        event, tokens, ids = examples.known(running)
        chosen = pathlib.Path(folder, "schemathesis.toml")
        code = running.door(event, "crew", ids["team"][0])
        chosen.write_text(settings(event, ids, code))
        environment = {
            **os.environ,
            "LINKOUT_ADDRESS": running.address,
            "LINKOUT_CODE": code,
        }
        worst = 0
        for role, which in TURNS.items():
            print(f"Asking as {role}.", flush=True)
            asked = subprocess.run(
                [sys.executable, "-c", "from schemathesis.cli import schemathesis; schemathesis()"]
                + ["--config-file", str(chosen), "run", f"{running.address}/api/v1/openapi.json"]
                + [*which, *more],
                env={**environment, "LINKOUT_TOKEN": tokens[role]},
                cwd=folder,
            )
            worst = max(worst, asked.returncode)
        return worst


if __name__ == "__main__":
    sys.exit(main())
