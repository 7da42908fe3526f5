"""What the environment of the process says about how it is served. Read once, all faults at once."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, fields

from service.store.windows import Limits

LOGS = ("off", "errors", "requests")
MOST_HOPS, MOST_DRAIN_SECONDS = 8, 300

# RFC 9116 2.5.3: a URI; a web address must be one over TLS.
_CONTACT = re.compile(r"(?:mailto:[^\s@]+@[^\s@]+|https://\S+|tel:\+?[0-9().-]+)")
_LONGEST_CONTACT = 200


class BadEnvironment(Exception):
    """Variables that cannot be served with; `faults` has a sentence for each."""

    def __init__(self, faults: list[str]) -> None:
        super().__init__(" ".join(faults))
        self.faults = faults


@dataclass(frozen=True, slots=True)
class Environment:
    """How the service runs, besides where it listens."""

    log: str = "errors"
    metrics: bool = False
    proxy_hops: int = 0
    security_contact: str = ""
    drain_seconds: int = 0
    # Where things are kept; without one the service only works things out.
    database: str = ""
    limits: Limits = field(default_factory=Limits)
    # Whether costings need no key.
    anybody: bool = True


def read_environment(variables: Mapping[str, str], *, log: str = "errors") -> Environment:
    """The environment; what is not set or empty has its default, `log` the one given."""
    reading = _Reading(variables)
    read = Environment(
        log=reading.word("LITREWISE_LOG", LOGS, log),
        metrics=reading.word("LITREWISE_METRICS", ("0", "1"), "0") == "1",
        proxy_hops=reading.whole("LITREWISE_PROXY_HOPS", MOST_HOPS),
        security_contact=reading.contact("LITREWISE_SECURITY_CONTACT"),
        drain_seconds=reading.whole("LITREWISE_DRAIN_SECONDS", MOST_DRAIN_SECONDS),
        database=variables.get("LITREWISE_DATABASE", ""),
        limits=reading.limits("LITREWISE_LIMITS"),
    )
    # Flask takes debugging from here, which would show tracebacks to whoever asks.
    reading.word("FLASK_DEBUG", ("0", "false", "no"), "0")
    if reading.faults:
        raise BadEnvironment(reading.faults)
    return read


class _Reading:
    """The variables, and what was wrong with those read so far."""

    def __init__(self, variables: Mapping[str, str]) -> None:
        self.variables, self.faults = variables, list[str]()

    def word(self, name: str, words: tuple[str, ...], default: str) -> str:
        got = self.variables.get(name) or default
        if got not in words:
            self._refuse(name, f"must be one of {', '.join(words)}", got)
        return got

    def whole(self, name: str, most: int) -> int:
        got = self.variables.get(name) or "0"
        if not re.fullmatch("[0-9]{1,4}", got) or int(got) > most:
            self._refuse(name, f"must be a whole number from 0 to {most}", got)
            return 0
        return int(got)

    def limits(self, name: str) -> Limits:
        """Requests a minute by policy, such as `costings=600 issues=60`; 0 is no limit."""
        given: dict[str, int] = {}
        known = {one.name for one in fields(Limits)}
        for part in self.variables.get(name, "").replace(",", " ").split():
            policy, _, most = part.partition("=")
            if policy not in known or not re.fullmatch("[0-9]{1,6}", most):
                self._refuse(
                    name, f"must be made of parts such as costings=600 ({', '.join(sorted(known))})", part
                )
                continue
            given[policy] = int(most)
        return Limits(**given)

    def contact(self, name: str) -> str:
        got = self.variables.get(name, "")
        if got and not (len(got) <= _LONGEST_CONTACT and got.isascii() and _CONTACT.fullmatch(got)):
            self._refuse(
                name,
                f"must be a mailto:, https: or tel: address of at most {_LONGEST_CONTACT} characters",
                got,
            )
        return got

    def _refuse(self, name: str, wanted: str, got: str) -> None:
        shown = got if len(got) <= 80 else f"{got[:80]}..."
        self.faults.append(f"'{name}' {wanted} (got {shown}); change it or leave it out.")
