"""The files that the image is built from and run with. What is built is tried by docker/build-and-try."""

from __future__ import annotations

import importlib.metadata
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
import yaml
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from service.api.serving import settings

TREE = Path(__file__).parent.parent
DOCKERFILE = (TREE / "docker/Dockerfile").read_text()
COMPOSE: dict[str, Any] = yaml.safe_load((TREE / "docker/compose.yaml").read_text())
SERVICES: dict[str, dict[str, Any]] = COMPOSE["services"]
FINAL = DOCKERFILE[DOCKERFILE.rindex("FROM ") :]


def _pins(file: str) -> dict[str, str]:
    found = re.findall(r"^([\w.-]+)==([\w.+-]+)", (TREE / file).read_text(), re.MULTILINE)
    return {canonicalize_name(name): version for name, version in found}


def _runtime() -> set[str]:
    """Names of all that the program needs when it runs, with what those need."""
    project = tomllib.loads((TREE / "pyproject.toml").read_text())["project"]
    waiting, seen = [Requirement(one) for one in project["dependencies"]], set[tuple[str, str]]()
    while waiting:
        wanted = waiting.pop()
        for extra in ("", *wanted.extras):
            if (key := (canonicalize_name(wanted.name), extra)) in seen:
                continue
            seen.add(key)
            needs = map(Requirement, importlib.metadata.requires(wanted.name) or [])
            waiting += [one for one in needs if not one.marker or one.marker.evaluate({"extra": extra})]
    return {name for name, _ in seen}


def test_image_runs_on_the_pins_the_tests_ran_with() -> None:
    constraints = _pins("constraints.txt")
    assert _pins("docker/requirements.txt") == {name: constraints[name] for name in _runtime()}


def test_every_pin_has_a_hash() -> None:
    text = (TREE / "docker/requirements.txt").read_text()
    pins = _pins("docker/requirements.txt")
    assert len(re.findall(r"== ?\S+ \\\n    --hash=sha256:[0-9a-f]{64}$", text, re.MULTILINE)) == len(pins)


def test_final_stage() -> None:
    assert DOCKERFILE.count("\nFROM ${BASE}") == 2
    # Nothing is installed there; it only takes rights away.
    assert re.findall(r"^RUN .*", FINAL, re.MULTILINE) == ["RUN chmod 0755 /var/tmp /run/lock"]
    assert "\nUSER 10001:10001\n" in FINAL
    assert "\nSTOPSIGNAL SIGTERM\n" in FINAL
    assert re.search(r"^HEALTHCHECK .*\\\n +CMD \[\"python\",.*/livez", FINAL, re.MULTILINE)
    assert re.search(r'^ENTRYPOINT \["', FINAL, re.MULTILINE)
    assert re.search(r'^CMD \["serve"', FINAL, re.MULTILINE)
    for label in ("title", "description", "licenses", "version", "revision"):
        assert f"org.opencontainers.image.{label}=" in FINAL


def test_base_has_no_default_and_packages_are_held_to_hashes() -> None:
    assert re.search(r"^ARG BASE$", DOCKERFILE, re.MULTILINE)
    assert "*:*@sha256:*" in DOCKERFILE
    assert "--require-hashes" in DOCKERFILE
    assert "--no-cache-dir" in DOCKERFILE


def test_only_what_the_image_needs_is_sent_to_the_build() -> None:
    rules = [one for one in (TREE / ".dockerignore").read_text().split("\n") if one and one[0] != "#"]
    assert rules[0] == "*"
    allowed = {one[1:] for one in rules if one.startswith("!")}
    copied = re.findall(r"^COPY (?!--from)(.+) \S+$", DOCKERFILE, re.MULTILINE)
    assert allowed == {name for line in copied for name in line.split()}
    assert allowed == {"docker/requirements.txt", "docker/finish.py", "service", "shared", "migrations"}
    # Databases and what Python compiled stay out wherever they lie.
    assert {"**/__pycache__", "**/*.db", "**/*.db-*"} <= set(rules[rules.index("!migrations") :])


@pytest.mark.parametrize("name", ["postgres", "migrate", "api", "worker"])
def test_services_are_guarded(name: str) -> None:
    service = SERVICES[name]
    assert service["read_only"] is True
    assert service["cap_drop"] == ["ALL"]
    assert service["security_opt"] == ["no-new-privileges:true"]
    assert service["pids_limit"] > 0
    assert service["mem_limit"] == "1g"
    assert int(service["stop_grace_period"].removesuffix("s")) > settings("::1", 1)["graceful_timeout"]
    assert all(one.startswith("127.0.0.1:") for one in service.get("ports", []))
    assert "env_file" not in service
    assert not [one for one in service["environment"] if one.endswith("PASSWORD")]


def test_services_wait_for_the_database_and_its_tables() -> None:
    healthy, done = {"condition": "service_healthy"}, {"condition": "service_completed_successfully"}
    assert SERVICES["migrate"]["depends_on"] == {"postgres": healthy}
    for name in ("api", "worker"):
        assert SERVICES[name]["depends_on"] == {"postgres": healthy, "migrate": done}


def test_secrets_are_files_of_whoever_starts_it() -> None:
    assert all(one["file"].startswith("${LITREWISE_") for one in COMPOSE["secrets"].values())
