"""Holds a running server against other programs. Expectations stand here, with their reasons; any that fails ends it."""

import json
import pathlib
import re
import signal
import socket
import ssl
import subprocess
import sys
import tempfile
import urllib.error
import urllib.request

import jsonschema
import openapi_spec_validator


def main(program):
    with tempfile.TemporaryDirectory() as folder:
        env = {"PATH": "/usr/bin:/bin", "XDG_DATA_HOME": folder, "XDG_STATE_HOME": folder, "HALFSPLIT_ME": "Ada"}
        server = subprocess.Popen(
            [program, "serve", "--api-only", "--network", "--port", "0"], env=env, stdout=subprocess.PIPE, text=True
        )
        try:
            said = ""
            while "Ctrl-C stops it." not in said:
                line = server.stdout.readline()
                assert line, f"it ended: {said}"
                said += line
            port = int(re.search(r"://[^ ]*:(\d+)/", said).group(1))
            certificate = urllib.request.urlopen(f"http://127.0.0.1:{port}/authority.crt").read()
            trusting = ssl.create_default_context(cadata=ssl.DER_cert_to_PEM_cert(certificate))
            # What is newest: refuses certificates that break RFC 5280 where others look away.
            trusting.verify_flags |= ssl.VERIFY_X509_STRICT
            tls(port, trusting, said)
            document = ask(port, trusting, "/api/v1/openapi.json")
            openapi_spec_validator.validate(document)
            print(f"openapi-spec-validator: {len(document['paths'])} paths, nothing to say")
            view(port, trusting, document, program, env, pathlib.Path(folder))
        finally:
            server.send_signal(signal.SIGTERM)
            code = server.wait(timeout=30)
        assert code == 0, f"ended with {code}"


def tls(port, trusting, said):
    """Who trusts the authority gets in under the names that are printed, and under no other; who does not, never."""
    names = re.findall(r"https://\[?([^/]+?)\]?:\d+/", said) + ["localhost", "127.0.0.1"]
    for name in names:
        assert greets(port, trusting, name), name
    for name in ["example.com", "other.local", "10.255.255.254"]:
        assert not greets(port, trusting, name), name
    assert not greets(port, ssl.create_default_context(), "localhost"), "trusted by nobody's word"
    for version in [ssl.TLSVersion.TLSv1_2, ssl.TLSVersion.TLSv1_3]:
        trusting.minimum_version = trusting.maximum_version = version
        assert greets(port, trusting, "localhost"), version
    trusting.minimum_version = ssl.TLSVersion.TLSv1_2
    print(f"{ssl.OPENSSL_VERSION}: let in as {', '.join(names)}; by TLS 1.2 and 1.3; refused otherwise")


def greets(port, context, name):
    try:
        with socket.create_connection(("127.0.0.1", port), timeout=10) as plain:
            with context.wrap_socket(plain, server_hostname=name):
                return True
    except ssl.SSLCertVerificationError:
        return False


def ask(port, context, path, body=None):
    request = urllib.request.Request(f"https://localhost:{port}{path}", data=body)
    with urllib.request.urlopen(request, context=context, timeout=120) as answer:
        return json.load(answer)


def view(port, trusting, document, program, env, folder):
    """A whole job's views are what the description says; nothing that stands in them is left undescribed."""
    lines = [
        {"kind": "opened", "with": {"machine_age_years": 8, "complaint": "It hums and clicks."}},
        {"kind": "reading", "with": {"test": "microfarads CRUN", "as_typed": "1.2 nF"}},
        {"kind": "safety_report", "with": {"kind": "isolated", "who": "Ada"}},
        {"kind": "repaired", "with": {"part": "CRUN", "what": "replace"}},
        {"kind": "safety_report", "with": {"kind": "power_restored", "who": "Ada"}},
        {"kind": "proving_run", "with": {"passed": True}},
        {"kind": "ended", "with": {"ending": "repaired", "cause": "run capacitor open"}},
    ]
    text = "".join(json.dumps(line) + "\n" for line in lines)
    subprocess.run([program, "job", "--json"], input=text, env=env, check=True, capture_output=True, text=True)
    (journal,) = folder.glob("halfsplit/jobs/*.jsonl")
    whole = journal.read_bytes().splitlines(keepends=True)
    schema = {"$ref": "#/components/schemas/Viewed", "components": document["components"]}
    checker = jsonschema.Draft202012Validator(schema)
    known = set(document["components"]["schemas"]["View"]["properties"])
    seen = set()
    for end in range(2, len(whole) + 1):
        answer = ask(port, trusting, "/api/v1/view", b"".join(whole[:end]))
        checker.validate(answer)
        assert set(answer["view"]) == known, set(answer["view"]) ^ known
        seen.add(answer["view"]["next"]["do"])
    # The description is no empty promise: it refuses what is not a view.
    assert not checker.is_valid({"view": {}}) and not checker.is_valid({"view": {**answer["view"], "events": "many"}})
    try:
        ask(port, trusting, "/api/v1/view", b"nothing of the kind")
        raise AssertionError("taken for a journal")
    except urllib.error.HTTPError as e:
        problem = {"$ref": "#/components/schemas/Problem", "components": document["components"]}
        jsonschema.Draft202012Validator(problem).validate(json.load(e))
        assert e.code == 422, e.code
    print(f"jsonschema: {len(whole) - 1} views as described, with next {', '.join(sorted(seen))}")


main(sys.argv[1])
