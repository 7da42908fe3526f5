"""schemathesis over a service that runs: examples, edges, random requests, and ways along the links."""

from __future__ import annotations

import tomllib
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from typing import Any

import schemathesis
from schemathesis.engine import events, from_schema

from service.schemas.readings import EXAMPLE
from tests.api.running import ROOT
from tests.served.serving import Served, new_key
from tests.served.walks import walk_all

# Whose edge cases take minutes, since they hold whole setups and routines.
LARGE = [
    "POST /v1/costings", "POST /v1/quotes", "POST /v1/setups", "PUT /v1/setups/{id}",
    "POST /v1/routines", "PUT /v1/routines/{id}", "POST /v1/batches",
]  # fmt: skip


@dataclass
class Outcome:
    """What came of a run: how often each operation answered what, and what was not as documented."""

    statuses: dict[str, Counter[int]] = field(default_factory=lambda: defaultdict(Counter))
    failures: list[str] = field(default_factory=list)
    scenarios: Counter[str] = field(default_factory=Counter)
    links: int = 0

    def note(self, name: str, status: int) -> None:
        """One more answer of an operation."""
        self.statuses[name][status] += 1

    def never_well(self) -> list[str]:
        """Operations that never answered 2xx."""
        return sorted(name for name, found in self.statuses.items() if not any(200 <= s < 300 for s in found))

    def table(self) -> str:
        """A row an operation: how often it answered well, and all its answers."""
        rows = []
        for name, found in sorted(self.statuses.items()):
            well = sum(times for status, times in found.items() if 200 <= status < 300)
            answers = " ".join(f"{status}:{times}" for status, times in sorted(found.items()))
            rows.append(f"{well:6} {name:52} {answers}")
        return "\n".join([f"{'2xx':>6} {'operation':52} answers", *rows])


def _with_key(contract: Any, served: Served) -> None:
    """Send the account's key; once a request has ended that very key, another one.

    The documented example of a reading names a setup: here it is one that is kept.
    """
    held = [served.key]
    setup = served.client().made("/v1/setups", {"ref": "den", "name": "Den"})["id"]

    @contract.auth(refresh_interval=None)
    class Key:
        def get(self, case: Any, context: Any) -> str:
            return held[0]

        def set(self, case: Any, data: str, context: Any) -> None:
            case.headers["Authorization"] = f"Bearer {data}"
            if isinstance(case.body, dict) and case.body.get("setup") == EXAMPLE["setup"]:
                case.body["setup"] = setup

    @contract.hook
    def after_call(context: Any, case: Any, response: Any) -> None:
        own = held[0].partition(".")[0].partition("_")[2]
        if case.method == "DELETE" and response.status_code == 204 and response.request.url.endswith(own):
            held[0] = new_key(served.address)


def run_contract(served: Served, examples: int, walks: int, edges: str = "all") -> Outcome:
    """Every check on every link, on documented examples, on random requests and on random walks.

    Edge cases are asked of "all" operations, which takes several minutes, of "small" ones or of "none".
    """
    told = tomllib.loads((ROOT / "schemathesis.toml").read_text("utf-8"))
    if edges == "none":
        told["phases"] = {"coverage": {"enabled": False}}
    if edges == "small":
        told["operations"].append({"include-name": LARGE, "phases": {"coverage": {"enabled": False}}})
    config = schemathesis.Config.from_dict(told)
    project = config.projects.default
    project.update(request_timeout=30)
    project.phases.fuzzing.generation.max_examples = examples
    project.phases.stateful.generation.max_examples = walks
    contract = schemathesis.openapi.from_url(f"http://127.0.0.1:{served.port}/openapi.json", config=config)
    _with_key(contract, served)
    outcome = Outcome()
    outcome.links = walk_all(contract, served.key, outcome.note)
    for event in from_schema(contract).execute():
        if isinstance(event, events.ScenarioFinished):
            _note(outcome, event)
        elif isinstance(event, events.NonFatalError | events.FatalError):
            outcome.failures.append(f"{type(event).__name__}: {event}")
    return outcome


def _note(outcome: Outcome, event: events.ScenarioFinished) -> None:
    recorder = event.recorder
    outcome.scenarios[event.phase.value] += 1
    for case_id, interaction in recorder.interactions.items():
        case = recorder.cases[case_id].value
        if interaction.response is not None and case.operation.method.upper() == interaction.request.method:
            outcome.note(case.operation.label, interaction.response.status_code)
    for checks in recorder.checks.values():
        for check in checks:
            if check.failure_info is not None:
                failure = check.failure_info.failure
                what = f"[{event.phase.value}] {recorder.label}: {check.name}: {failure.title}"
                outcome.failures.append(f"{what}: {failure.message}\n{check.failure_info.code_sample}")
