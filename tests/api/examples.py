"""An event in which every example of the published document has been handed in."""

from service import ROLES, Service

LINES = "/api/v1/events/{event}/lines"
FIRST = ("register_team", "register_person", "register_robot")


def known(service: Service) -> tuple[str, dict[str, str], dict[str, list[str]]]:
    """The event, a token for each role, and the ids of what exists, by what they are ids of."""
    document = service.get("/api/v1/openapi.json").json()
    body = document["paths"][LINES]["post"]["requestBody"]["content"]["application/json"]
    reports = {kind: example["value"] for kind, example in body["examples"].items()}
    event = service.found("Autumn Meet")
    path = LINES.format(event=event)
    tokens = {"organiser": service.account}

    def hand_in(kind: str, role: str) -> bool:
        return service.try_to_post(path, reports[kind], tokens[role]).is_success

    def must(kind: str) -> None:
        if not hand_in(kind, "organiser"):
            raise SystemExit(f"the example of '{kind}' is not taken")

    for kind in FIRST:
        must(kind)
    team = subject(reports["register_team"])
    for role in ROLES:
        of_team = team if role in ("lead", "crew") else None
        tokens[role] = service.join(event, role, of_team, None if role == "program" else role)
    another_robot(service, path, reports)
    # Some examples rest on others: whatever is not taken waits until those are. A bout that began
    # can no longer be put off.
    waiting = sorted(set(reports) - set(FIRST), key=in_order)
    while waiting:
        left = [kind for kind in waiting if not any(hand_in(kind, role) for role in tokens)]
        if len(left) == len(waiting):
            raise SystemExit(f"examples that are not taken: {left}")
        waiting = left
    ids: dict[str, list[str]] = {}
    for kind, report in reports.items():
        noun, _, thing = report["lines"][0]["subject"].partition(":")
        if kind.startswith("register_") and thing:
            ids[noun] = [thing]
        ids.setdefault("line", []).append(report["lines"][0]["id"])
    ids["robot"].append(other_robot(reports))
    return event, tokens, ids


def in_order(kind: str) -> tuple[bool, bool, str]:
    """What exists first, and how bouts went last."""
    return kind.startswith("bout_"), not kind.startswith("register_"), kind


def subject(report: dict) -> str:
    """The id of what the first line of a report is about."""
    return report["lines"][0]["subject"].partition(":")[2]


def other_robot(reports: dict[str, dict]) -> str:
    """The robot of the example of a bout that no other example registers."""
    return reports["register_bout"]["lines"][0]["body"]["slots"][1]["robot"]


def another_robot(service: Service, path: str, reports: dict[str, dict]) -> None:
    """Registers it."""
    line = dict(reports["register_robot"]["lines"][0])
    line["id"] = "00000000-0000-7000-8000-000000000001"
    line["subject"] = f"robot:{other_robot(reports)}"
    line["body"] = {**line["body"], "name": "Slate Otter"}
    service.post(path, {**reports["register_robot"], "lines": [line]}, service.account)
