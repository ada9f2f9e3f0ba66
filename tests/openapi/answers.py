"""Holds what the daemon answers against its own description, over the demo's shop.

Every question, and every decision that the demo's engine allows, is asked; its answer must be what
the description says, and hold no field that it does not name. Requests that the daemon refuses as
badly formed must be wrong by the description too. What commands print with --json over the same shop must be what the published schemas
say. Run by tests/openapi/run.
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
# What commands print, by the name of its schema.
PRINTED = [
    ("report", ["report", JOB]),
    ("report", ["report", JOB, "--only", "chambers,flow"]),
    ("report", ["report", JOB, "--simulate", "1000"]),
    ("decide", ["decide", "dome", JOB, "--ratio", "10.8"]),
    ("decide", ["decide", "mill", JOB, "--ratio", "10.6", "--area", "9.5 in2"]),
    ("decide", ["decide", "next", JOB]),
    ("job-list", ["job", "list"]),
    ("job-readings", ["job", "list", "--spot", "chamber/", "--readings"]),
    ("job-like", ["job", "list", "--like", JOB]),
    ("job-engine", ["job", "engine", JOB]),
    ("job-show", ["job", "show", JOB]),
    ("job-verify", ["job", "verify", JOB]),
    ("job-recompute", ["job", "recompute", JOB]),
    ("job-pack", ["job", "pack", JOB, "--out", "FOLDER/v8.job"]),
    ("job-unpack", ["job", "unpack", "FOLDER/v8.job", "--as", "copy"]),
    ("job-order", ["job", "order", "copy", "--dish", "4.20 cc +- 0.15 cc", "--height", "1.203 in"]),
    ("enter", ["enter", "copy", "crown/1", "--sure", "--u", "0.01 cc", "--", "-4.25 cc"]),
    ("job-orders", ["job", "orders", "copy"]),
    ("report", ["report", "copy"]),
    ("condition", ["condition", "copy", "liquid/temperature", "21.5 degC"]),
    ("void", ["void", "copy", "1", "--reason", "a bubble"]),
    ("move", ["move", "copy", "2", "chamber/7", "--reason", "the wrong chamber"]),
    ("job-cut", ["job", "cut", "copy", "--stage", "milled 1", "--what", "both", "--changes", "chamber"]),
    ("sheet", ["sheet", "build", JOB, "--out", "FOLDER/build.html"]),
    ("sheet-check", ["sheet", "check", "FOLDER/build.html"]),
    ("routes", ["routes"]),
    ("gauge-list", ["gauge", "list"]),
    ("gauge-history", ["gauge", "history", "burette"]),
    ("examine", ["examine"]),
    ("backup", ["backup", "--out", "FOLDER/shop.backup"]),
    ("restore", ["restore", "FOLDER/shop.backup", "--data", "FOLDER/restored"]),
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
        "work": "no-such-work",
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


def printed(program, shop, folder):
    """What is wrong with what commands print."""
    wrong = []
    for name, words in PRINTED:
        words = [word.replace("FOLDER", folder) for word in words]
        at = [] if "--data" in words else ["--data", shop]
        # Options stand before a value that begins with a minus.
        ran = subprocess.run([program, "--json", *at, *words], capture_output=True, text=True)
        schema = json.loads(subprocess.run([program, "schema", name], capture_output=True, text=True, check=True).stdout)
        Draft202012Validator.check_schema(schema)
        close_whole(schema)
        # A command may find something amiss and say so with its code; it prints all the same.
        if not ran.stdout:
            wrong.append(f"{' '.join(words)} printed nothing: {ran.stderr[:300]}")
            continue
        for error in Draft202012Validator(schema).iter_errors(json.loads(ran.stdout)):
            where = "/".join(map(str, error.absolute_path))
            wrong.append(f"{' '.join(words)}: {name} at /{where}: {error.message[:200]}")
    print(f"{len(PRINTED)} printed documents held against their schemas")
    return wrong


def close_whole(schema):
    """Forbids every field that a schema with its own types does not name."""
    close(schema["$defs"])
    for part in parts({key: value for key, value in schema.items() if key != "$defs"}):
        if isinstance(part.get("properties"), dict):
            part["unevaluatedProperties"] = False
    if "properties" in schema:
        schema["unevaluatedProperties"] = False


def main(program):
    with tempfile.TemporaryDirectory() as folder:
        shop = f"{folder}/shop"
        subprocess.run([program, "demo", "--json", "--keep", shop], check=True, stdout=subprocess.DEVNULL)
        daemon = Daemon(program, shop)
        try:
            return check(daemon) + printed(program, shop, folder)
        finally:
            daemon.process.terminate()
            daemon.process.wait()


if __name__ == "__main__":
    found = main(sys.argv[1])
    print(*found, sep="\n")
    sys.exit(1 if found else 0)
