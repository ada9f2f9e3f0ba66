"""Holds what the daemon answers against its own description, over the demo's shop.

Every question, and every decision that the demo's engine allows, is asked; its answer must be what
the description says, and hold no field that it does not name. Requests that the daemon refuses as
badly formed must be wrong by the description too. Run by tests/openapi/run.
"""

import json
import pathlib
import subprocess
import sys
import tempfile
import urllib.error
import urllib.parse
import urllib.request

from jsonschema import Draft202012Validator

JOB = "invented-v8"
# Each with whether the demo's engine has what it needs.
DECISIONS = [
    ({"ask": "mill", "ratio": 10.6, "area": "9.5 in2"}, True),
    ({"ask": "chambers", "equal": "compression"}, True),
    ({"ask": "dome", "ratio": 10.8}, True),
    ({"ask": "gasket", "offers": [{"name": "a", "bore": "4.1 in", "thickness": "0.04 in"}]}, True),
    ({"ask": "fit", "pistons": [], "rods": []}, False),
    ({"ask": "next", "goal": "compression"}, True),
    ({"ask": "what-if", "set": ["gasket thickness = 0.051 in"]}, True),
    ({"ask": "compare"}, False),
    ({"ask": "ports"}, True),
    ({"ask": "sensitivities", "cylinder": 3}, True),
    ({"ask": "effective", "closing": "70 deg", "at_lift": "0.006 in"}, True),
    ({"ask": "target", "ratio": 10.5}, True),
    ({"ask": "simulate", "trials": 1000}, True),
]
BAD_QUESTIONS = [
    {"ask": "nonsense"},
    {"ask": "dome", "ratoi": 10.8},
    {"ratio": 10.8},
    {"ask": "next", "cylinder": -1},
]


class Daemon:
    """A daemon over the demo's shop, with what it says of itself."""

    def __init__(self, program, shop):
        self.process = subprocess.Popen(
            [program, "--data", shop, "serve"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
        )
        # Its first line comes once it listens.
        self.process.stdout.readline()
        found = json.loads((pathlib.Path(shop) / "daemon.json").read_text())
        self.base, self.token = f"http://{found['address']}", found["token"]

    def ask(self, path, body=None):
        """The answer and whether it was given; else the refusal."""
        headers = {"authorization": f"Bearer {self.token}", "content-type": "application/json"}
        data = None if body is None else json.dumps(body).encode()
        try:
            with urllib.request.urlopen(urllib.request.Request(self.base + path, data, headers)) as answer:
                return json.load(answer), True
        except urllib.error.HTTPError as refused:
            return json.load(refused), False


def references(schema):
    """The names of the types that a schema holds beside fields of its own."""
    refs = [schema.get("$ref"), *(part.get("$ref") for part in schema.get("allOf", []))]
    return {ref.rsplit("/", 1)[1] for ref in refs if ref} if "properties" in schema else set()


def parts(schema):
    """A schema and all schemas in it."""
    inner = schema if isinstance(schema, list) else schema.values() if isinstance(schema, dict) else []
    return [*([schema] if isinstance(schema, dict) else []), *(one for part in inner for one in parts(part))]


def close(schemas):
    """Forbids every field that is not named. What holds another type's fields forbids for both."""
    merged = set().union(*(references(part) for part in parts(schemas)))
    open_ones = [one for name in merged for one in [schemas[name], *schemas[name].get("oneOf", [])]]
    for part in parts(schemas):
        if isinstance(part.get("properties"), dict) and not any(part is one for one in open_ones):
            part["unevaluatedProperties"] = False


def faults(document, name, value):
    """What is wrong with `value`, which should be the type `name`."""
    schema = {"$ref": f"#/components/schemas/{name}", "components": document["components"]}
    return [
        f"{name} at /{'/'.join(map(str, error.absolute_path))}: {error.message[:200]}"
        for error in Draft202012Validator(schema).iter_errors(value)
    ]


def check(daemon):
    """What was found wrong, each in a line."""
    document, _ = daemon.ask("/openapi.json")
    Draft202012Validator.check_schema({"$defs": document["components"]["schemas"]})
    close(document["components"]["schemas"])
    wrong, answered = [], 0
    shown, _ = daemon.ask(f"/v1/jobs/show?job={JOB}")
    fields = {
        "job": JOB,
        "name": "no-such-gauge",
        "spot": "chamber/6",
        "chart": "chambers",
        "id": shown["readings"][0]["id"],
    }
    for path, what in document["paths"].items():
        if "get" not in what or path == "/v1/events":
            continue
        needed = [one["name"] for one in what["get"].get("parameters", []) if one["required"]]
        query = urllib.parse.urlencode({name: fields[name] for name in needed})
        answer, given = daemon.ask(f"{path}?{query}")
        of = what["get"]["responses"]["200" if given else "default"]
        name = of["content"]["application/json"]["schema"]["$ref"].rsplit("/", 1)[1]
        wrong += faults(document, name, answer)
        answered += given
        if given == ("name" in needed):
            wrong.append(f"{path}: {answer}")
    for question, possible in DECISIONS:
        body = {"job": JOB, "question": question}
        answer, given = daemon.ask("/v1/jobs/decide", body)
        wrong += faults(document, "DecideJob", body)
        wrong += faults(document, "DecideAnswer" if given else "Refusal", answer)
        answered += given
        if given != possible:
            wrong.append(f"{question}: {answer}")
    for question in BAD_QUESTIONS:
        body = {"job": JOB, "question": question}
        _, given = daemon.ask("/v1/jobs/decide", body)
        if given or not faults(document, "DecideJob", body):
            wrong.append(f"{question} is no question, and {'is answered' if given else 'is described as one'}")
    print(f"{answered} answers held against the description, {len(BAD_QUESTIONS)} bad questions refused by both")
    return wrong


def main(program):
    with tempfile.TemporaryDirectory() as folder:
        shop = f"{folder}/shop"
        subprocess.run([program, "demo", "--json", "--keep", shop], check=True, stdout=subprocess.DEVNULL)
        daemon = Daemon(program, shop)
        try:
            return check(daemon)
        finally:
            daemon.process.terminate()
            daemon.process.wait()


if __name__ == "__main__":
    found = main(sys.argv[1])
    print(*found, sep="\n")
    sys.exit(1 if found else 0)
