"""What schemathesis has to know: whoever signs out is out, and a picture is sent as it is."""

import os

import httpx
import schemathesis
from schemathesis.transport.serialization import serialize_binary

ENDED_BY_ITSELF = ("sign_out", "become_person")


@schemathesis.hook
def before_call(context, case, kwargs):
    """Lets each session that is about to end be one of its own."""
    known = f"Bearer {os.environ['LINKOUT_TOKEN']}"
    headers = case.headers or {}
    if operation_of(case) in ENDED_BY_ITSELF and headers.get("Authorization") == known:
        joined = httpx.post(
            f"{os.environ['LINKOUT_ADDRESS']}/api/v1/sessions/join",
            json={"code": os.environ["LINKOUT_CODE"], "name": "Ben"},
        )
        case.headers["Authorization"] = f"Bearer {joined.json()['token']}"


def operation_of(case) -> str:
    return case.operation.definition.raw.get("operationId", "")


@schemathesis.serializer("image/jpeg")
def send_picture(context, value):
    return {"data": serialize_binary(value)}


@schemathesis.deserializer("image/jpeg")
def read_picture(context, response):
    return response.content.decode("latin-1")
